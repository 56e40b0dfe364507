"""A record as somebody writes it, read against one rulebook: all faults are found before any is told."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import msgspec

from gradewright.core.composition import TOLERATED
from gradewright.core.decimals import EXACT, ROUNDING, trimmed
from gradewright.core.errors import Fault, GradewrightError, Path, Refused, UnknownGrade
from gradewright.core.grading import Undecided
from gradewright.core.quantities import parse_share
from gradewright.core.units import parse_mass
from gradewright.rulebooks.service import Version, resolve_grade

HEAVIEST = Decimal(10) ** 8
"""Grams: a hundred tonnes, more than any device that is taken apart by hand."""
LONGEST = 100_000
"""Minutes: some forty weeks of work at one device."""


@dataclass(frozen=True, slots=True)
class PieceGiven:
    """All of one sort in a device: a grade by any name or what was observed; a weight or a share, as written.

    `says`: why a publication's material stands under this grade.
    """

    grade: str | None = None
    observed: Mapping[str, Any] | None = None
    weight: str | None = None
    weight_each: str | None = None
    share: str | None = None
    count: int | None = None
    says: str | None = None


@dataclass(frozen=True, slots=True)
class NewKind:
    """A kind of device that is new: its name for people, and the grade in which it is sold whole."""

    name: str
    grade: str | None = None


@dataclass(frozen=True, slots=True)
class Given:
    """A record in the words of whoever made it."""

    kind: str
    taken_on: date
    parts: tuple[PieceGiven, ...]
    new_kind: NewKind | None = None
    weight: str | None = None
    made_year: int | None = None
    model: str | None = None
    minutes: Decimal | None = None
    region: str | None = None
    source: str | None = None
    from_memory: bool = False
    note: str | None = None


@dataclass(slots=True)
class Reading:
    """The rows of the parts as they are read, and every fault that was found on the way."""

    rows: list[dict[str, Any]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    kinds: set[type[GradewrightError]] = field(default_factory=set)

    def wrong(self, detail: str, at: Path, suggestions: tuple[str, ...] = ()) -> None:
        """Notes a fault."""
        self.kinds.add(Refused)
        self.faults.append(Fault(detail, at, suggestions))

    def refused(self, error: GradewrightError, *at: str | int) -> None:
        """Notes the faults of a reader."""
        self.kinds.add(type(error) if isinstance(error, UnknownGrade) else Refused)
        found = error.faults or (Fault(error.detail),)
        self.faults += [fault.under(*at) for fault in found]

    def checked(self) -> list[dict[str, Any]]:
        """The rows. Raises `UnknownGrade` or `Refused` with every fault."""
        if not self.faults:
            return self.rows
        more = f" (and {len(self.faults) - 1} more)" if len(self.faults) > 1 else ""
        kind = UnknownGrade if self.kinds == {UnknownGrade} else Refused
        detail = f"{self.faults[0].detail} Nothing was stored.{more}"
        raise kind(detail, faults=tuple(self.faults))


def read(given: Given, version: Version, today: date) -> Reading:
    """The parts of a record as rows, graded by a version; with every fault."""
    reading = Reading()
    if given.taken_on > today:
        detail = f"{given.taken_on} has not come yet: write the day on which it was taken apart."
        reading.wrong(detail, ("on",))
    if given.made_year is not None and given.made_year > given.taken_on.year:
        detail = f"It was taken apart on {given.taken_on}, before {given.made_year}: look at both."
        reading.wrong(detail, ("made_year",))
    whole = _grams(reading, given.weight, "weight") if given.weight is not None else None
    if given.minutes is not None and given.minutes > LONGEST:
        detail = (
            f"{trimmed(given.minutes)} minutes for one device? Write the minutes of work, at most {LONGEST}."
        )
        reading.wrong(detail, ("minutes",))
    if given.new_kind is not None and given.new_kind.grade is not None:
        try:
            resolve_grade(version.rulebook, given.new_kind.grade, ("new_kind", "grade"))
        except GradewrightError as error:
            reading.refused(error)
    grams, shares = Fraction(0), Fraction(0)
    for number, piece in enumerate(given.parts):
        at = ("parts", number)
        grade = _grade(reading, piece, version, at)
        weight = piece.weight
        if weight is not None:
            grams += Fraction(_grams(reading, weight, *at, "weight") or 0)
        elif piece.weight_each is not None:
            each = _grams(reading, piece.weight_each, *at, "weight_each") or Decimal(0)
            together = EXACT.multiply(each, Decimal(piece.count or 1))
            if each and together > HEAVIEST:
                detail = f"{piece.count} of {piece.weight_each} are more than a hundred tonnes: look at both."
                reading.wrong(detail, (*at, "weight_each"))
                together = Decimal(0)
            grams, weight = grams + Fraction(together), f"{trimmed(together)} g"
        elif piece.share is not None:
            shares += Fraction(_share(reading, piece.share, *at, "share") or 0)
        observed = None
        if piece.observed is not None:
            observed = msgspec.json.encode(piece.observed, order="sorted").decode()
        row = {"line": number + 1, "grade": grade, "weight": weight, "share": piece.share}
        reading.rows.append({**row, "count": piece.count, "observed": observed, "says": piece.says})
    for fault in _sums(given, whole, grams, shares):
        reading.wrong(fault, ("parts",))
    return reading


def _sums(given: Given, whole: Decimal | None, grams: Fraction, shares: Fraction) -> Iterator[str]:
    """What cannot be of all parts together."""
    if grams > HEAVIEST and whole is None:
        yield "The parts weigh more than a hundred tonnes together: look at the units."
    if grams and shares and whole is None:
        yield "Some parts have a weight and some a share: write the weight of the whole too."
    heavier = grams / Fraction(whole) + shares if whole else shares
    if heavier > TOLERATED:
        percent = f"{ROUNDING.divide(Decimal(math.ceil(heavier * 1000)), Decimal(10))} %"
        yield (
            f"The parts come to {percent} of the whole: look at the units, or at the weight of the whole. "
            "Up to 102 % are taken for the scales' doing."
        )


def _grade(reading: Reading, piece: PieceGiven, version: Version, at: Path) -> str | None:
    """The slug of the grade that a part is named as, or described as for certain."""
    try:
        if piece.grade is not None:
            return resolve_grade(version.rulebook, piece.grade, (*at, "grade"))
        described = version.describe(piece.observed or {})
    except GradewrightError as error:
        reading.refused(error, *(() if piece.grade is not None else (*at, "observed")))
        return None
    if described.grade is not None:
        return described.grade
    if isinstance(described.outcome, Undecided):
        candidates = tuple(described.outcome.candidates[:3])
        detail = "What was observed can still be several grades: observe more of it, or name the grade."
        reading.wrong(detail, (*at, "observed"), candidates)
    else:
        reading.wrong("What was observed has no grade: look at it again, or name one.", (*at, "observed"))
    return None


def device_weight(text: str, at: Path) -> Decimal:
    """The weight of a device in grams, as it is written. Raises `Refused`, pointing at `at`."""
    try:
        grams = parse_mass(text).grams
    except GradewrightError as error:
        found = error.faults or (Fault(error.detail),)
        raise Refused(error.detail, faults=tuple(fault.under(*at) for fault in found)) from error
    if not 0 < grams <= HEAVIEST:
        bound = "one above zero" if grams <= 0 else "one of at most a hundred tonnes"
        detail = f"{text!r} is no weight of a device: write {bound}, such as '1.35 kg'."
        raise Refused(detail, faults=(Fault(detail, at),))
    return grams


def _grams(reading: Reading, text: str, *at: str | int) -> Decimal | None:
    try:
        return device_weight(text, at)
    except Refused as error:
        reading.refused(error)
        return None


def _share(reading: Reading, text: str, *at: str | int) -> Decimal | None:
    try:
        share = parse_share(text)
    except GradewrightError as error:
        reading.refused(error, *at)
        return None
    if share <= 0:
        reading.wrong(f"{text!r} is nothing: leave the part out.", at)
        return None
    return share
