"""What differs between two documents, place by place: entries of lists are told apart by their ids."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from gradewright.core.errors import Path
from gradewright.rulebooks.places import place
from gradewright.rulebooks.source import Document

LONGEST = 200
MOST_COMPARED = 4_000_000
"""Pairs of entries: two lists without ids that are longer are told as one change."""


@dataclass(frozen=True, slots=True)
class Change:
    """One place where two documents differ: `added`, `removed`, `changed` or `reordered`.

    `at` leads into the later document, of what was removed into the earlier one; `place` says it in words.
    `before` and `after` are JSON, cut where it is long; None where there is nothing.
    """

    change: str
    at: Path
    place: str
    before: str | None = None
    after: str | None = None


def changes(before: Document, after: Document) -> list[Change]:
    """All places where two documents differ, in the order of the document."""
    return [
        Change(what, at, place(before if what == "removed" else after, at), old, new)
        for what, at, old, new in _walk(before, after, (), ())
    ]


Found = Iterator[tuple[str, Path, str | None, str | None]]


def _walk(before: Any, after: Any, was: Path, at: Path) -> Found:
    """What differs; it stands at `was` in the document before, at `at` in the one after."""
    if isinstance(before, dict) and isinstance(after, dict):
        yield from _mappings(before, after, was, at)
    elif isinstance(before, list) and isinstance(after, list):
        yield from _lists(before, after, was, at)
    elif _text(before) != _text(after):
        yield "changed", at, _short(before), _short(after)


def _mappings(before: dict[str, Any], after: dict[str, Any], was: Path, at: Path) -> Found:
    for name, value in before.items():
        if name not in after:
            yield "removed", (*was, name), _short(value), None
    for name, value in after.items():
        if name in before:
            yield from _walk(before[name], value, (*was, name), (*at, name))
        else:
            yield "added", (*at, name), None, _short(value)
    yield from _order(
        [name for name in before if name in after], [name for name in after if name in before], at
    )


def _order(before: Sequence[str], after: Sequence[str], at: Path) -> Found:
    if before != after:
        yield "reordered", at, _short(before), _short(after)


def _lists(before: list[Any], after: list[Any], was: Path, at: Path) -> Found:
    named, renamed = _by_id(before), _by_id(after)
    if named is not None and renamed is not None:
        for name, number in named.items():
            if name not in renamed:
                yield "removed", (*was, number), _short(before[number]), None
        for name, number in renamed.items():
            if name in named:
                yield from _walk(before[named[name]], after[number], (*was, named[name]), (*at, number))
            else:
                yield "added", (*at, number), None, _short(after[number])
        yield from _order([name for name in named if name in renamed], [n for n in renamed if n in named], at)
    elif not any(isinstance(entry, dict | list) for entry in (*before, *after)) or (
        len(before) * len(after) > MOST_COMPARED
    ):
        if _text(before) != _text(after):
            yield "changed", at, _short(before), _short(after)
    else:
        yield from _aligned(before, after, was, at)


def _aligned(before: list[Any], after: list[Any], was: Path, at: Path) -> Found:
    """Entries without ids are the same where they say the same; what stands between two such is changed."""
    matcher = SequenceMatcher(None, [*map(_text, before)], [*map(_text, after)], autojunk=False)
    for _, first, end, second, until in matcher.get_opcodes():
        both = min(end - first, until - second)
        for step in range(both):
            earlier, later = first + step, second + step
            yield from _walk(before[earlier], after[later], (*was, earlier), (*at, later))
        for number in range(first + both, end):
            yield "removed", (*was, number), _short(before[number]), None
        for number in range(second + both, until):
            yield "added", (*at, number), None, _short(after[number])


def _by_id(entries: list[Any]) -> dict[str, int] | None:
    """Where each id stands; None where an entry has none, or two have the same."""
    found: dict[str, int] = {}
    for number, entry in enumerate(entries):
        name = entry.get("id") if isinstance(entry, dict) else None
        if not isinstance(name, str) or name in found:
            return None
        found[name] = number
    return found if found else None


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def _short(value: Any) -> str:
    text = _text(value)
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"
