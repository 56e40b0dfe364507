"""Which limits a document uses where, and of what kind that makes each: a length, a share, a year.

A limit is written as a value alone: only the conditions that use it tell what it measures. They have to ask
for one kind, or half a millimetre is taken for fifty percent.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from gradewright.core.errors import Path
from gradewright.core.observations import Attribute, Kind
from gradewright.rulebooks.places import place
from gradewright.rulebooks.shape import BoundsShape, DocumentShape, WhenShape

ENDS = ("at_least", "above", "at_most", "below")
UNORDERED = (Kind.CHOICE, Kind.YES_NO)
CALLED: Mapping[Kind, str] = {
    Kind.LENGTH: "a length",
    Kind.SHARE: "a share",
    Kind.AREA: "an area",
    Kind.DENSITY: "a density",
    Kind.YEAR: "a year",
    Kind.DATE: "a date",
}


@dataclass(frozen=True, slots=True)
class Use:
    """One bound that a limit sets: on which attribute, and where it stands."""

    limit: str
    attribute: str
    at: Path


class LimitKinds:
    """For each limit of a document the attribute that gives its value a kind: that of its first use."""

    def __init__(self, shape: DocumentShape, attributes: Mapping[str, Attribute]) -> None:
        self._attributes = attributes
        self._uses = [use for use in _uses(shape) if use.attribute in attributes]
        self._first: dict[str, Use] = {}
        # A bound on what has no order is a fault of its own: such a use says nothing of the limit.
        for use in sorted(self._uses, key=lambda use: attributes[use.attribute].kind in UNORDERED):
            self._first.setdefault(use.limit, use)

    def of(self, limit: str) -> Attribute | None:
        """The attribute as which the limit's value is read; None: no condition uses it."""
        first = self._first.get(limit)
        return None if first is None else self._attributes[first.attribute]

    def otherwise(self, document: Mapping[str, Any]) -> Iterator[tuple[str, Path]]:
        """Each use of a limit that takes it for another kind than its first one does, and where it stands."""
        for use in self._uses:
            first, kind = self._first[use.limit], self._attributes[use.attribute].kind
            of_first = self._attributes[first.attribute].kind
            if kind is not of_first and kind not in UNORDERED:
                yield (
                    f"{use.limit} is {CALLED[of_first]} elsewhere ({place(document, first.at)}), "
                    f"and {use.attribute} is {CALLED[kind]}: make two limits",
                    use.at,
                )


def _uses(shape: DocumentShape) -> Iterator[Use]:
    """Every bound that names a limit, in the order in which a rulebook's clauses are gone through."""
    for at, when in _whens(shape):
        for name, asked in when.items():
            if not isinstance(asked, BoundsShape):
                continue
            for end in ENDS:
                given = getattr(asked, end)
                if isinstance(given, str) and given in shape.limits:
                    yield Use(given, name, (*at, name, end))


def _whens(shape: DocumentShape) -> Iterable[tuple[Path, WhenShape]]:
    for section in ("impossible", "rules"):
        yield from (((section, n, "when"), entry.when) for n, entry in enumerate(getattr(shape, section)))
    for slug, work in shape.preparations.items():
        at: Path = ("preparations", slug)
        yield (*at, "when"), work.when
        yield from (((*at, "unless", n), when) for n, when in enumerate(work.unless))
    for slug, caution in shape.cautions.items():
        for key, whens in (("when", caution.when), ("unless", caution.unless)):
            yield from ((("cautions", slug, key, n), when) for n, when in enumerate(whens))
