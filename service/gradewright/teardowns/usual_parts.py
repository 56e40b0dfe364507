"""Parts that nobody weighed, in a device of a kind: they weigh what is usual for their grade.

What was weighed is taken out of the usual composition, and the others share what it leaves of the device as
they usually share that: the parts of a whole without some of them are a whole again (subcomposition and
closure; Aitchison 1986, from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, NamedTuple

from gradewright.compositions.kept import DeviceKind
from gradewright.core.composition import Spread, Typical, TypicalPart
from gradewright.core.errors import GradewrightError, Path
from gradewright.core.grading import Undecided
from gradewright.core.teardown.tree import NONE, NOTHING, Span
from gradewright.rulebooks.service import Version, resolve_grade
from gradewright.teardowns.faults import Faults
from gradewright.teardowns.given import ListedGiven, NodeGiven

MOST_NAMED = 6
ONE = Fraction(1)


class KnownKind(NamedTuple):
    """A kind of device, and what its records say together; None where none counts."""

    kind: DeviceKind
    typical: Typical | None


class Inside(NamedTuple):
    """A part in a device of a kind: its number, what was given, where it stands, and what one piece weighs;
    None where nobody weighed it.
    """

    number: int
    given: NodeGiven
    at: Path
    each: Span | None

    @property
    def all(self) -> Span:
        """What all pieces of it weigh."""
        return Span(*(end * self.given.count for end in self.each or NONE))


class UsualPart(NamedTuple):
    """What stands in for the weight of a part: all of a grade that is usually in a device of the kind."""

    known: KnownKind
    grade: str


@dataclass(slots=True)
class UsualParts:
    """What is usual in the kinds that a request names. `used`: by number of a part, what stands in."""

    version: Version
    kinds: Mapping[str, KnownKind] = field(default_factory=dict)
    used: dict[int, UsualPart] = field(default_factory=dict)

    def of(self, given: NodeGiven) -> KnownKind | None:
        """The kind that a part is said to be of."""
        return None if given.kind is None else self.kinds[given.kind]

    def weigh(
        self, known: KnownKind, whole: Span | None, parts: Sequence[Inside], left: Span | None, faults: Faults
    ) -> dict[int, Span]:
        """What one piece weighs of each part that nobody weighed, by number; nothing where that is at fault.

        `whole`: what one device weighs, None where nobody weighed it: then what was recorded in grams stands
        in. `left`: what is left over of it, where that was told.
        """
        weighed = [part for part in parts if part.each is not None]
        taken = {grade for part in weighed for grade in self._grades(part.given) or ()}
        usual, outside = known.typical, []
        if usual is not None:
            outside = [one.share.likely for one in usual.parts if one.grade in taken and one.share]
            outside += [usual.rest.likely] if left is not None and usual.rest is not None else []
        fits = {part.number: self._fit(known, part, taken, faults) for part in parts if part.each is None}
        rest = _less(whole, [part.all for part in weighed] + ([] if left is None else [left]))
        found = {}
        for part in (part for part in parts if part.each is None):
            shared = usual is not None and usual.rest is not None
            grams = _weight(fits[part.number], rest, ONE - sum(outside, NOTHING), shared=shared)
            if grams is None and fits[part.number] is not None:
                detail = (
                    f"No record of {known.kind.name} tells what {part.given.name} weighs: weigh it, or say "
                    "what it weighs as low, likely and high."
                )
                faults.wrong(detail, (*part.at, "weight"))
            each = grams or Spread(NOTHING, NOTHING, NOTHING)
            found[part.number] = Span(*(end / part.given.count for end in (each.low, each.likely, each.high)))
        return found

    def _fit(self, known: KnownKind, part: Inside, taken: set[str], faults: Faults) -> TypicalPart | None:
        """The one usual part that it can be, which is `taken` then; else a fault is told."""
        name, kind, at = part.given.name, known.kind.name, (*part.at, "weight")
        weigh_it = "weigh it, or say what it weighs as low, likely and high"
        if known.typical is None:
            faults.wrong(f"Nobody has recorded yet what comes out of {kind}: {name} has to be weighed.", at)
            return None
        grades = self._grades(part.given)
        if grades is None:  # what is wrong with it is told where it is graded
            return None
        fits = [one for one in known.typical.parts if one.grade in grades]
        if len(fits) != 1:
            usual = ", ".join(self._names(known.typical))
            what = "is none of" if not fits else "can be several of"
            detail = (
                f"{name} has no weight, and {what} what usually comes out of {kind}, {usual}: {weigh_it}."
            )
            faults.wrong(detail, at)
            return None
        (fit,) = fits
        if fit.grade in taken:
            detail = f"{name} is not all of its grade in {kind}, which alone is known: {weigh_it}."
            faults.wrong(detail, at)
            return None
        taken.add(fit.grade)
        self.used[part.number] = UsualPart(known, fit.grade)
        return fit

    def _grades(self, given: NodeGiven) -> frozenset[str] | None:
        """Everything that a part can be, by what was observed, by its grade, else by its name; None where
        that cannot be read.
        """
        try:
            if given.observed is not None:
                described = self.version.describe(given.observed)
                if isinstance(described.outcome, Undecided):
                    return frozenset(described.outcome.candidates)
                return frozenset(filter(None, [described.grade]))
            named = given.name if given.grade is None else given.grade
            return frozenset({resolve_grade(self.version.rulebook, named, ())})
        except GradewrightError:
            return frozenset() if given.observed is None and given.grade is None else None

    def _names(self, typical: Typical) -> Iterator[str]:
        grades = self.version.rulebook.grades
        for part in typical.parts[:MOST_NAMED]:
            yield grades[part.grade].name if part.grade in grades else part.grade
        if len(typical.parts) > MOST_NAMED:
            yield "and others"


def kinds_named(device: NodeGiven | None, parts: Sequence[ListedGiven]) -> dict[str, Path]:
    """The kinds of device that a request names of its parts, each with the first place where it does."""
    found: dict[str, Path] = {}
    waiting: list[tuple[NodeGiven, Path]] = [
        (part, ("parts", n)) for n, part in reversed([*enumerate(parts)])
    ]
    waiting += [] if device is None else [(device, ("device",))]
    while waiting:
        given, at = waiting.pop()
        if given.kind is not None:
            found.setdefault(given.kind, (*at, "kind"))
        waiting += [(part, (*at, "parts", n)) for n, part in reversed([*enumerate(given.parts)])]
    return found


def usual_weight(part: UsualPart) -> dict[str, Any]:
    """What stands in for the weight of a part, as it is answered."""
    kind, typical = part.known
    assert typical is not None  # noqa: S101 - it has a part for which it stands in
    told = "what publications say"
    if not typical.published:
        devices, members = (
            f"{n} {what}{'s'[: n != 1]}"
            for n, what in (
                (typical.records, "device"),
                (typical.voices, "member"),
            )
        )
        told = f"{devices} of {members}"
    return {
        "kind": kind.slug,
        "name": kind.name,
        "records": typical.records,
        "voices": typical.voices,
        "published": typical.published,
        "says": f"Not weighed: it is as heavy as is usual in {kind.name}, by {told}.",
    }


def _weight(fit: TypicalPart | None, rest: Span | None, of: Fraction, *, shared: bool) -> Spread | None:
    """The grams of a usual part in what is left of a device, of which the usual parts in it are a share.
    `shared`: whether of some parts of the kind a share is known.
    """
    if fit is None:
        return None
    if fit.share is None and shared and rest is not None:  # what others weighed is of devices of any size
        return None
    if rest is None or fit.share is None:
        return fit.grams
    if of <= 0:  # usually nothing but what was weighed is in it
        return Spread(NOTHING, NOTHING, fit.share.high * rest.high)
    low, likely, high = (
        share * grams / of
        for share, grams in zip((fit.share.low, fit.share.likely, fit.share.high), rest, strict=True)
    )
    # The likely one is no more than what is left: likely shares are never more than a whole together.
    return Spread(low, likely, min(high, rest.high))


def _less(whole: Span | None, parts: Iterable[Span]) -> Span | None:
    """What likely weights leave of a whole, and never less than nothing."""
    if whole is None:
        return None
    likely = sum((part.likely for part in parts), NOTHING)
    return Span(*(max(end - likely, NOTHING) for end in whole))
