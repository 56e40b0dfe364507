"""Limits that have another value, in the cautions and the work that ask for them.

Nothing else tells of these, as the entries themselves are written as they were.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from gradewright.core.rulebook import Bound, Condition, Rulebook, When
from gradewright.rulebooks.beside_words import CALLED
from gradewright.rulebooks.page_words import ENDS, phrases, spaced

Clauses = Mapping[str, tuple[When, ...]]
"""By key what an entry asks for: `when`, and `unless`."""


@dataclass(frozen=True, slots=True)
class LimitBeside:
    """A clause of one entry in which limits have other values: in words, with the limits by name."""

    section: str
    entry: str
    says: str
    limits: tuple[str, ...]


def limits_beside(old: Rulebook, new: Rulebook) -> Iterator[LimitBeside]:
    """One for each clause of a caution or of work that stands in both versions and means something else."""
    moved = {
        name
        for name, limit in new.limits.items()
        if name in old.limits and old.limits[name].value != limit.value
    }
    before, after = _entries(old), _entries(new)
    for (section, entry), clauses in after.items():
        for key, whens in clauses.items():
            was = [_as_written(when) for when in before.get((section, entry), {}).get(key, ())]
            for when in whens:
                limits = tuple(name for name in dict.fromkeys(_limits(when)) if name in moved)
                if limits and _as_written(when) in was:
                    says = f"{CALLED.get(key, key)} {_in_words(old, new, when, limits)}"
                    yield LimitBeside(section, entry, says, limits)


def _entries(book: Rulebook) -> dict[tuple[str, str], Clauses]:
    """What each asks for; of work each condition by itself, as documents tell these one by one."""
    cautions: dict[tuple[str, str], Clauses] = {
        ("cautions", caution.id): {"when": caution.when, "unless": caution.unless}
        for caution in book.cautions.values()
    }
    return cautions | {
        ("preparations", work.id): {"when": tuple((each,) for each in work.when), "unless": work.unless}
        for work in book.preparations.values()
    }


def _bounds(condition: Condition) -> Iterator[tuple[str, Bound]]:
    """The bounds of a condition, each with what it is called."""
    for words, end in ENDS:
        bound: Bound | None = getattr(condition, end)
        if bound is not None:
            yield words, bound


def _limits(when: When) -> Iterator[str]:
    return (bound.limit for each in when for _, bound in _bounds(each) if bound.limit is not None)


def _as_written(when: When) -> frozenset[tuple[object, ...]]:
    """A clause as documents write it: where a limit sets a bound, by the name of the limit."""
    return frozenset(
        (each.attribute, frozenset(each.values), *((w, b.limit or b.value) for w, b in _bounds(each)))
        for each in when
    )


def _in_words(old: Rulebook, new: Rulebook, when: When, limits: tuple[str, ...]) -> str:
    """A clause of the later version; at each of these limits with the value before."""
    told = []
    for condition, phrase in zip(when, phrases(when, new.attributes), strict=True):
        pieces = [
            f"{words} {bound.given}"
            + (f" ({old.limits[bound.limit].given} before)" if bound.limit in limits else "")
            for words, bound in _bounds(condition)
        ]
        asked = " and ".join(pieces) or " ".join(piece.text for piece in phrase.pieces)
        told.append(f"{spaced(condition.attribute)} {asked}")
    return " and ".join(told)
