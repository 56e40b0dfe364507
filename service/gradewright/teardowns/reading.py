"""A device as given, read against one rulebook: every node weighed, graded where it can be."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradewright.core.description import Description
from gradewright.core.errors import GradewrightError, Path
from gradewright.core.rulebook import Caution
from gradewright.core.teardown.tree import Span
from gradewright.core.units import mass_unit
from gradewright.rulebooks.service import resolve_grade
from gradewright.teardowns.faults import Faults
from gradewright.teardowns.figures import kilograms
from gradewright.teardowns.given import PIECE_BY_PIECE, LeftGiven, ListedGiven, NodeGiven
from gradewright.teardowns.usual_parts import KnownKind, UsualPart, UsualParts
from gradewright.teardowns.weights import Place, read_weight, times, weigh_each
from gradewright.valuations.weights import HEAVIEST

MOST_NODES = 10_000
MOST_DEPTH = 30  # of a tree: JSON is read 64 levels deep, and each part stands two below the one around it
MOST_VAGUE = 2000  # a part that can be many things is answered with all of them: some kilobytes each
MOST_PIECES = 1_000_000
BY_THE_PIECE = "piece"
AN_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


@dataclass(frozen=True, slots=True)
class Left:
    """What is left over: its grams for all pieces (None: what the parts leave of the weight), its grade if it
    has one, and the grams that its charge is for (None: it is for a piece).
    """

    given: LeftGiven
    grams: Span | None
    grade: str | None
    per_grams: Fraction | None


@dataclass(frozen=True, slots=True)
class Part:
    """One node: where it stands, how many `pieces` there are in all and what they weigh together, in grams.

    `inside`: the number of the part that it is in. `opening_cautions`: those of opening it. `kind`: the kind
    of device that it is one of. `usual`: what stands in for its weight, where nobody weighed it.
    """

    given: NodeGiven
    at: Path
    number: int
    inside: int | None
    pieces: int
    grams: Span
    grade: str | None
    description: Description | None
    left: Left | None
    cautions: tuple[Caution | str, ...]
    opening_cautions: tuple[Caution | str, ...]
    kind: KnownKind | None
    usual: UsualPart | None


def read_device(
    device: NodeGiven, usual: UsualParts, faults: Faults, at: Path = ("device",), *, every: bool = True
) -> tuple[Part, ...]:
    """The nodes of a device, itself first, each before what is inside of it. `faults`: those known already.
    Not `every`: what comes out may weigh more than a part that likely weighs nothing, as it once might.

    Raises `UnknownGrade` or `Refused` with every fault, up to a hundred, each pointing into the request.
    """
    places = _places(device, at)
    if len(places) > MOST_NODES:
        faults.wrong(f"A device of more than {MOST_NODES} parts: ask for what is in it part by part.", at)
    deep = next((place for place in places if place.depth > MOST_DEPTH), None)
    if deep is not None:
        detail = (
            f"{deep.given.name} is in more than {MOST_DEPTH} parts, one in the other. Give the device as a "
            "list, under parts: that can be of any depth."
        )
        faults.wrong(detail, deep.at)
    if len(places) > MOST_NODES:
        faults.check()
    return _read(places, usual, faults, every=every)


def read_parts(
    parts: Sequence[ListedGiven], usual: UsualParts, faults: Faults, *, every: bool = True
) -> tuple[Part, ...]:
    """The same of a device that is given as a list, in the order of the list."""
    places = _listed(parts, faults)
    faults.check()
    return _read(places, usual, faults, every=every)


def _read(places: Sequence[Place], usual: UsualParts, faults: Faults, *, every: bool) -> tuple[Part, ...]:
    reader = _Reader(usual, faults)
    parts: list[Part] = []
    for number, (place, each) in enumerate(zip(places, weigh_each(places, usual, faults), strict=True)):
        if faults.enough:
            break
        around = None if place.inside is None else parts[place.inside]
        pieces = place.given.count * (1 if around is None else around.pieces)
        opens = None if around is None else around.given.opens
        one_by_one = opens is not None and opens.how == PIECE_BY_PIECE
        parts.append(reader.part(place, number, pieces, each, one_by_one))
    _weigh_up(parts, faults, every=every)
    _look_closer(parts, faults)
    faults.check()
    return tuple(parts)


def _places(device: NodeGiven, at: Path) -> list[Place]:
    """The nodes, each before what is inside of it."""
    found: list[Place] = []
    waiting = [Place(device, at, None, 1)]
    while waiting and len(found) <= MOST_NODES:
        place = waiting.pop()
        number = len(found)
        found.append(place)
        inner = [
            Place(given, (*place.at, "parts", index), number, place.depth + 1)
            for index, given in enumerate(place.given.parts)
        ]
        waiting += reversed(inner)
    return found


def _listed(parts: Sequence[ListedGiven], faults: Faults) -> list[Place]:
    """The parts of a list, where they stand. To be in no part, or in one that does not open, is a fault."""
    found: list[Place] = []
    opened: set[int] = set()
    for number, given in enumerate(parts):
        inside = given.within
        if not number and inside is not None:
            faults.wrong(
                "The first is the device, which is in nothing: leave within out.", ("parts", 0, "within")
            )
        elif number and (inside is None or inside >= number):
            detail = (
                f"What is {given.name} in? Say under within the place of that part in the list, which comes "
                f"before: from 0, the device, to {number - 1}."
            )
            faults.wrong(detail, ("parts", number, "within"))
        elif number and inside is not None:
            opened.add(inside)
            if parts[inside].opens is None and not faults.enough:
                detail = (
                    f"{parts[inside].name} does not open: say under its opens how {given.name} comes out."
                )
                faults.wrong(detail, ("parts", number, "within"))
        found.append(Place(given, ("parts", number), inside, 1))
        if faults.enough:
            break
    for number, given in enumerate(parts):
        if given.opens is not None and number not in opened and not faults.enough:
            faults.wrong(
                f"Nothing is within {given.name}: leave out how it opens.", ("parts", number, "opens")
            )
    return found


class _Reader:
    def __init__(self, usual: UsualParts, faults: Faults) -> None:
        self.version, self.usual = usual.version, usual
        self.faults = faults

    def part(self, place: Place, number: int, pieces: int, each: Span, one_by_one: bool) -> Part:
        given, at, inside, _ = place
        grams = times(each, pieces)
        if pieces > MOST_PIECES or grams.high > Fraction(HEAVIEST):
            detail = (
                f"{given.name}: {pieces} pieces in all, or more than a million tonnes. Look at its "
                "count, and at those of what it is in."
            )
            self.faults.wrong(detail, (*at, "count"))
        if inside is not None or given.minutes is not None or given.must_come_off:
            self._taken_off(given, at, one_by_one)
        grade, description = self._graded(given, at)
        kind, stands_in = self.usual.of(given), self.usual.used.get(number)
        if given.grade is None and given.observed is None:
            grade = self._usual_grade(kind) if stands_in is None else stands_in.grade
        opens = given.opens
        left = None
        if opens is not None and opens.leftover is not None:
            left = self._left(opens.leftover, pieces, (*at, "opens", "leftover"))
        return Part(
            given,
            at,
            number,
            inside,
            pieces,
            grams,
            grade,
            description,
            left,
            self._cautions(given.cautions, (*at, "cautions")),
            () if opens is None else self._cautions(opens.cautions, (*at, "opens", "cautions")),
            kind,
            stands_in,
        )

    def _usual_grade(self, kind: KnownKind | None) -> str | None:
        """What a device of a kind is usually sold whole as, where the version has that grade."""
        grade = None if kind is None else kind.kind.grade
        return grade if grade in self.version.rulebook.grades else None

    def _taken_off(self, given: NodeGiven, at: Path, one_by_one: bool) -> None:
        """A part has minutes of its own where it comes off for itself, and only there."""
        if one_by_one and given.minutes is None:
            detail = f"How many minutes does it take to take {given.name} off? It comes off piece by piece."
            self.faults.wrong(detail, (*at, "minutes"))
        elif not one_by_one and (given.minutes is not None or given.must_come_off):
            field = "must_come_off" if given.minutes is None else "minutes"
            detail = (
                f"{given.name} is not taken off for itself: {field} is said of parts of what is opened piece "
                "by piece. The time to open something stands under its own opens."
            )
            self.faults.wrong(detail, (*at, field))

    def _graded(self, given: NodeGiven, at: Path) -> tuple[str | None, Description | None]:
        if given.grade is not None:
            return self._grade(given.grade, (*at, "grade")), None
        if given.observed is None:
            return None, None
        try:
            described = self.version.describe(given.observed)
        except GradewrightError as error:
            self.faults.told(error, (*at, "observed"))
            return None, None
        return described.grade, described

    def _grade(self, named: str, at: Path) -> str | None:
        try:
            return resolve_grade(self.version.rulebook, named, ())
        except GradewrightError as error:
            self.faults.told(error, at)
            return None

    def _left(self, given: LeftGiven, pieces: int, at: Path) -> Left:
        grams = None
        if given.weight is not None:
            grams = times(read_weight(given.weight, (*at, "weight"), self.faults), pieces)
        grade = None if given.grade is None else self._grade(given.grade, (*at, "grade"))
        per_grams = None
        if given.per not in {None, BY_THE_PIECE}:
            try:
                per_grams = Fraction(mass_unit(given.per or "").grams)
            except GradewrightError as error:
                self.faults.told(error, (*at, "per"))
        return Left(given, grams, grade, per_grams)

    def _cautions(self, given: Sequence[str], at: Path) -> tuple[Caution | str, ...]:
        """Cautions of the rulebook by their ids, others in words of the caller's own."""
        book = self.version.rulebook
        found: list[Caution | str] = []
        for number, text in enumerate(given):
            if text not in book.cautions and AN_ID.fullmatch(text):
                known = tuple(sorted(book.cautions))
                detail = (
                    f"{text!r} is not a caution of rulebook {book.version}, which has {', '.join(known)}. "
                    "Name one of them, or say it in a few words."
                )
                self.faults.wrong(detail, (*at, number))
            found.append(book.cautions.get(text, text))
        return tuple(found)


def _weigh_up(parts: Sequence[Part], faults: Faults, *, every: bool) -> None:
    """No part is lighter than what comes out of it."""
    inside = [Fraction(0)] * len(parts)
    for part in parts:
        if part.inside is not None:
            inside[part.inside] += part.grams.likely
        if part.left is not None and part.left.grams is not None:
            inside[part.number] += part.left.grams.likely
    for part, grams in zip(parts, inside, strict=True):
        weighed = part.grams.high > 0 if every else part.grams.likely > 0  # else its weight is told already
        if weighed and grams > part.grams.likely:
            name = part.given.name
            detail = (
                f"What comes out of {name} weighs {kilograms(grams / part.pieces)} kg, more than {name} "
                f"itself with {kilograms(part.grams.likely / part.pieces)} kg: weigh again, or look at the "
                "counts."
            )
            faults.wrong(detail, (*part.at, "parts") if part.given.parts else part.at)


def _look_closer(parts: Sequence[Part], faults: Faults) -> None:
    """Not too many can be this or that."""
    vague = [part for part in parts if part.description is not None and part.grade is None]
    if len(vague) > MOST_VAGUE:
        at = vague[MOST_VAGUE].at
        detail = (
            f"Of more than {MOST_VAGUE} parts too little is known to give them a grade. Observe more of them,"
            " name their grades, or leave out what was observed: such a part counts as nothing, and is named."
        )
        faults.wrong(detail, (*at, "observed"))
