"""What stands otherwise in two documents: grades and limits that came, went or moved, and every text."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from gradewright.core.errors import Path
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.beside_words import Changed
from gradewright.rulebooks.besides import Besides, besides, in_turn, is_beside
from gradewright.rulebooks.names import Called, NameMoved, called, names_moved, new_slugs, with_new_slugs

Document = Mapping[str, Any]

GRADING = ("limits", "attributes", "impossible", "rules")
"""The sections on which it depends what grade a part gets."""
WORDS: Mapping[str, frozenset[str]] = {
    "families": frozenset(("name",)),
    "limits": frozenset(("means", "source")),
    "attributes": frozenset(("asks", "test", "beware", "choices")),
    "grades": frozenset(("name", "describes")),
    "impossible": frozenset(("because", "source")),
    "largest_first": frozenset(("because", "source")),
    "told_of": frozenset(("because", "source")),
    "rules": frozenset(("because", "source", "confidence", "settled_by")),
    "preparations": frozenset(("name", "how", "source")),
    "cautions": frozenset(("name", "says", "source")),
}
"""By section the keys of its entries under which only words stand, or what people are told."""
ABSENT: Any = object()


@dataclass(frozen=True, slots=True)
class LimitMoved:
    """A limit that has another value; None: the version has no such limit."""

    name: str
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True)
class ExampleChanged:
    """A worked example that has another answer or note; None: there is none of this part."""

    part: Mapping[str, Any]
    before: Mapping[str, Any] | None
    after: Mapping[str, Any] | None


@dataclass(frozen=True, slots=True)
class Differences:
    """Everything that stands otherwise; `grades_renamed`: slugs of grades before and after.

    `called`: grades under another slug or name; `names`: what people write and is not read as it was.
    """

    grades_added: Sequence[str]
    grades_retired: Sequence[str]
    grades_renamed: Mapping[str, str]
    limits: Sequence[LimitMoved]
    attributes_added: Sequence[str]
    attributes_removed: Sequence[str]
    texts: Sequence[Changed]
    others: Sequence[Changed]
    examples: Sequence[ExampleChanged] = ()
    besides: Sequence[Besides] = ()
    called: Sequence[Called] = ()
    names: Sequence[NameMoved] = ()

    @property
    def touch_grading(self) -> bool:
        """Whether it can change the grade of a part; of choices only whether there are others."""
        return any(change.at[0] in GRADING and not is_beside(change) for change in self.others)

    @property
    def beside_grades(self) -> tuple[str, ...]:
        """The sections of which more than words changes, other than what grades parts."""
        return tuple(dict.fromkeys(each.section for each in self.besides))


def differences(old: Rulebook, new: Rulebook, before: Document, after: Document) -> Differences:
    """What stands otherwise in the second of two versions."""
    renamed = new_slugs(old, new)
    before = with_new_slugs(before, renamed)
    changed = [
        each
        for each in _walked((), _by_id(before), _by_id(after))
        if each.at[0] not in ("version", "effective_from", "instead_of")
    ]
    retired = [slug for slug in old.grades if slug not in new.grades]
    added = [slug for slug in new.grades if slug not in old.grades]
    beside = [
        each
        for each in changed
        if is_beside(each, words=_is_text(each))
        and not (each.at[0] == "grades" and (each.at[1] in (*added, *retired) or each.at[2:] == ("aliases",)))
    ]
    values = {
        str(each.at[1]): each for each in changed if each.at[0] == "limits" and each.at[2:] == ("value",)
    }
    return Differences(
        grades_added=[slug for slug in added if slug not in renamed.values()],
        grades_retired=[slug for slug in retired if slug not in renamed],
        grades_renamed=renamed,
        limits=list(_limits(old, new)),
        attributes_added=[name for name in new.attributes if name not in old.attributes],
        attributes_removed=[name for name in old.attributes if name not in new.attributes],
        texts=[each for each in changed if _is_text(each)],
        others=[each for each in changed if not _is_text(each)],
        examples=list(_examples(before, after)),
        besides=in_turn(besides(old, new, beside, values)),
        called=list(called(old, new, renamed)),
        names=list(names_moved(old, new, renamed)),
    )


def _limits(old: Rulebook, new: Rulebook) -> Iterator[LimitMoved]:
    for name in dict.fromkeys((*old.limits, *new.limits)):
        was, now = old.limits.get(name), new.limits.get(name)
        if was is None or now is None or was.value != now.value:
            yield LimitMoved(name, was.given if was else None, now.given if now else None)


def _is_text(change: Changed) -> bool:
    """Whether only words stand there, by the place: names in a document may be any."""
    section, *inside = change.at
    if section in ("title", "summary"):
        return True
    if len(inside) < 2 or inside[1] not in WORDS.get(str(section), ()):
        return False
    # How a value is recognised is words; that there is such a value is not.
    return inside[1] != "choices" or None not in (change.before, change.after)


def _by_id(document: Document) -> dict[str, Any]:
    """The document with its lists of entries as mappings, so that an entry that moved is still the same."""
    found = dict(document)
    for section in ("impossible", "rules"):
        found[section] = {entry["id"]: entry for entry in document[section]}
        found[section]["(order)"] = [entry["id"] for entry in document[section]]
    for section in ("largest_first", "told_of"):
        found[section] = {entry["id"]: entry for entry in document.get(section, ())}
    found.pop("examples", None)  # these are told by their parts
    return found


def _examples(before: Document, after: Document) -> Iterator[ExampleChanged]:
    """The examples that differ, by their parts; those of one part twice are taken as one."""
    old, new = _by_part(before), _by_part(after)
    for key in dict.fromkeys((*old, *new)):
        was, now = old.get(key), new.get(key)
        if was != now:
            part = (now or was or {})["part"]
            yield ExampleChanged(part, _without_part(was), _without_part(now))


def _by_part(document: Document) -> dict[str, Mapping[str, Any]]:
    return {json.dumps(entry["part"], sort_keys=True): entry for entry in document.get("examples", ())}


def _without_part(entry: Mapping[str, Any] | None) -> Mapping[str, Any] | None:
    return None if entry is None else {name: value for name, value in entry.items() if name != "part"}


def _walked(at: Path, before: Any, after: Any) -> Iterator[Changed]:
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        for key in dict.fromkeys((*before, *after)):
            yield from _walked((*at, key), before.get(key, ABSENT), after.get(key, ABSENT))
    elif before is ABSENT or after is ABSENT or before != after:
        yield Changed(at, None if before is ABSENT else before, None if after is ABSENT else after)
