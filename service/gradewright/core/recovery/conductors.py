"""The cross-section of copper in the conductors of a cable, and how far it may be from the nominal one.

Sources. Wire gauge: ASTM B258. Tolerance of a drawn wire's diameter, 1 %: ASTM B3, from memory. Metric
conductors: IEC 60228 limits their resistance for a length of conductor, not their mass. Strands that are k
times as long as the conductor keep the limit R with k x 17.241 / R of cross-section (17.241 ohm mm2/km: 100 %
IACS), which is k x k x 17.241 / R of copper along it. Density of conductors: EN 13602 and ASTM B258.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isqrt
from typing import TypeVar

from gradewright.core.decimals import quoted
from gradewright.core.errors import Fault, GradewrightError, Refused
from gradewright.core.lengths import parse_length
from gradewright.core.quantities import parse_area
from gradewright.core.recovery.measured import Range, around, exactly, reading

PI = Fraction("3.14159265358979323846264338327950288")
COPPER_DENSITY = Fraction("8.89")
"""g/cm3, of copper in conductors; so a cross-section of 1 mm2 weighs 8.89 kg/km."""
COPPER_NUMBER = Fraction("9.6")
"""kg/km for each mm2 in the tables that cables are invoiced by: 8 % more than there is, and never less, so
that no conductor is taken to hold more."""
IACS = Fraction("17.241")

# mm2: greatest ohm/km of plain copper at 20 C, of classes 1 and 2, and of classes 5 and 6 (IEC 60228; up to
# 6 mm2 compared with several makers' tables, above that from memory).
RESISTANCES: dict[Fraction, tuple[str, str]] = {
    Fraction(size): limits
    for size, limits in {
        "0.5": ("36.0", "39.0"), "0.75": ("24.5", "26.0"), "1": ("18.1", "19.5"), "1.5": ("12.1", "13.3"),
        "2.5": ("7.41", "7.98"), "4": ("4.61", "4.95"), "6": ("3.08", "3.30"), "10": ("1.83", "1.91"),
        "16": ("1.15", "1.21"), "25": ("0.727", "0.780"), "35": ("0.524", "0.554"), "50": ("0.387", "0.386"),
    }.items()
}  # fmt: skip

GAUGE_OFF = Fraction(1, 100)
"""How far a drawn wire's diameter is off its gauge, as a share of it."""
OTHER_OFF = Fraction(1, 10)
"""How much less a metric conductor may hold that IEC 60228 does not list: common practice, no source."""
LAY = Range(Fraction(1), Fraction("1.02"), Fraction("1.04"))
"""How much longer strands are than their conductor (ASTM B8 and B174 add about 2 %, from memory; the ends are
common practice, no source)."""
FLEXIBLE_LAY = Fraction("1.015")
"""How much longer the strands of classes 5 and 6 are at least: common practice, no source; with it they hold
at most 11 % less than nominal, as a cable maker's technical table (LAPP T17) has it."""
UNTOLD_LAY = Range(Fraction(1), Fraction("1.01"), Fraction("1.04"))
CORES = Range(Fraction(1), Fraction("1.01"), Fraction("1.03"))
"""How much longer cores that are twisted together are than their cable: common practice, no source."""
MOST_STRANDS_OF_CLASS_2 = 7
NO_SIZE = "no conductor can have that size: write '16 AWG' or '1.5 mm2'"
NO_STRAND = "no strand can be so thin: write its diameter as '0.30 mm'"
_IS_AREA = re.compile(r".*(?:(?:mm|cm|in)\^?2|sq|square).*", re.IGNORECASE)
_IS_GAUGE = re.compile(r".*(?:AWG|B&S).*", re.IGNORECASE)
_BARE = re.compile(r" *([0-9]+(?:\.[0-9]+)?) *")
_A_SIZE = re.compile(r" *(?:AWG|B&S)? *[0-9.].*", re.IGNORECASE)
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Conductor:
    """Conductors that are alike, as written: a `size` ("16 AWG", "1.5 mm2"), or `strands` of a diameter.

    `strands` beside a size tells how it is built: one is solid.
    """

    count: int
    size: str | None = None
    strands: int | None = None
    strand: str | None = None


@dataclass(frozen=True, slots=True)
class Section:
    """One conductor: nominal cross-section, copper in its length (as mm2, lay included), strand in mm.

    `number` is its copper number in kg/km: a range where the cross-section was measured.
    """

    nominal: Fraction
    number: Range
    copper: Range
    strand: Range | None
    says: str


@dataclass(frozen=True, slots=True)
class _Area:
    """A cross-section: nominal, by which its copper number goes; of the wires; and what it rests on.

    `least` is the least copper along the conductor, lay included, where a resistance tells it.
    """

    nominal: Range
    wires: Range
    says: str
    least: Fraction | None = None


def section(conductor: Conductor, *, twisted: bool) -> Section:
    """The cross-section of one of the conductors; `twisted`: with others in a cable.

    Raises UnitError or Refused, pointing at `size`, `strands` or `strand`.
    """
    if (conductor.size is None) == (conductor.strand is None):
        raise _fault("give either the size of the conductor or the diameter of a strand", "size")
    if conductor.size is None and conductor.strands is None:
        raise _fault("say how many strands of that diameter there are", "strands")
    lay = exactly(1) if conductor.strands == 1 else UNTOLD_LAY if conductor.strands is None else LAY
    area = _area(conductor)
    strand = None
    if conductor.strand is not None:
        strand, _ = _wire("strand", conductor.strand)
    elif conductor.strands is not None:
        strand = _diameter(Range(area.wires.low, area.nominal.likely, area.wires.high), conductor.strands)
    copper = area.wires.times(lay)
    if area.least is not None:
        # The limit has the lay in it already: that of the nominal area is not put on top of it again.
        likely = (area.least + area.nominal.likely * lay.likely) / 2
        copper = Range(area.least, likely, copper.high)
    number = area.nominal.times(exactly(COPPER_NUMBER))
    along = copper.times(CORES) if twisted else copper
    along = along.no_more_than(number.over(exactly(COPPER_DENSITY)))
    return Section(area.nominal.likely, number, along, strand, area.says)


def sections(conductors: Sequence[Conductor]) -> tuple[Section, ...]:
    """Each conductor's section; all faults are told at once, each pointing into the list."""
    twisted = sum(conductor.count for conductor in conductors) > 1
    found: list[Section] = []
    faults: list[Fault] = []
    for number, conductor in enumerate(conductors):
        try:
            found.append(section(conductor, twisted=twisted))
        except GradewrightError as error:
            faults.extend(fault.under(number) for fault in error.faults)
    if faults:
        raise Refused("; ".join(fault.detail for fault in faults), faults=tuple(faults))
    return tuple(found)


def _area(conductor: Conductor) -> _Area:
    """The cross-section; one that was measured has a copper number as vague as itself."""
    size = conductor.size or ""
    if conductor.strand is None and _IS_AREA.fullmatch(size):
        return _metric(size, conductor.strands)
    if conductor.strand is not None:
        written, (diameter, how) = conductor.strand, _wire("strand", conductor.strand)
        wires = _round(diameter).times(exactly(conductor.strands or 1))
        says = f"{conductor.strands} strands of {written}, {how}"
    else:
        written, (diameter, how) = size, _wire("size", size)
        wires = _round(diameter)
        says = f"{size}, {how}"
    nominal = exactly(wires.likely) if _IS_GAUGE.fullmatch(written) else wires
    return _Area(nominal, wires, says)


def _wire(name: str, text: str) -> tuple[Range, str]:
    """A diameter, and how well it is known: a gauge is exact and what is drawn to it is not, one in mm or
    inches is as good as its last digit.
    """
    if name == "size" and not _A_SIZE.fullmatch(text):
        detail = (
            f"{quoted(text)} is no size of a conductor: write it as '16 AWG', '1.5 mm2' for a cross-section, "
            "or '1.3 mm' for a diameter"
        )
        raise _fault(detail, name)
    bare = _BARE.fullmatch(text) if name == "size" else None
    if bare is not None:
        gauge, area, diameter_mm = helps = tuple(f"{bare[1]} {unit}" for unit in ("AWG", "mm2", "mm"))
        detail = (
            f"'{bare[1]}' does not say what is measured: write '{gauge}', '{area}' for a cross-section, or "
            f"'{diameter_mm}' for a diameter"
        )
        raise Refused(detail, faults=(Fault(detail, (name,), helps),))
    if _IS_GAUGE.fullmatch(text):
        diameter = _read(name, lambda written: Fraction(parse_length(written)), text)
        return around(
            diameter, diameter * GAUGE_OFF
        ), "drawn to 1 % of its diameter (ASTM B258; B3 from memory)"
    found = _read(name, lambda written: reading(written, parse_length), text)
    if found.low <= 0:
        raise _fault(NO_SIZE if name == "size" else NO_STRAND, name)
    return found, "to the last digit written"


def _metric(size: str, strands: int | None) -> _Area:
    area = Fraction(_read("size", parse_area, size)) * 100
    if area <= 0:
        raise _fault(NO_SIZE, "size")
    nominal = exactly(area)
    limits = RESISTANCES.get(area)
    if limits is None:
        low = area * (1 - OTHER_OFF)
        says = f"{size}, up to 10 % less (common practice, no source)"
        return _Area(nominal, Range(low, (low + area) / 2, area), says)
    # Of either kind of class: greatest resistance, least area of the wires, least copper along them.
    kinds = [
        (limit, lay * IACS / Fraction(limit), lay * lay * IACS / Fraction(limit))
        for limit, lay in zip(limits, (Fraction(1), FLEXIBLE_LAY), strict=True)
    ]
    if strands is None:
        greatest, wires, least = min(kinds, key=lambda kind: kind[2])
    else:
        greatest, wires, least = kinds[strands > MOST_STRANDS_OF_CLASS_2]
    low = min(wires, area)
    says = f"{size}, of at most {greatest} ohm/km (IEC 60228), so perhaps less copper than nominal"
    return _Area(nominal, Range(low, (low + area) / 2, area), says, min(least, area))


def _round(diameter: Range) -> Range:
    return diameter.times(diameter).times(exactly(PI / 4))


def _diameter(area: Range, strands: int) -> Range:
    """The diameter of one of so many equal strands, from the area of all."""
    low, likely, high = (_root(each / strands * 4 / PI) for each in (area.low, area.likely, area.high))
    return Range(low, likely, high)


def _root(value: Fraction) -> Fraction:
    """The square root, to nine places: nobody measures a strand to that."""
    return Fraction(isqrt(value.numerator * 10**18 // value.denominator), 10**9)


def _read(name: str, read: Callable[[str], T], text: str) -> T:
    try:
        return read(text)
    except GradewrightError as error:
        found = error.faults or (Fault(error.detail),)
        raise Refused(error.detail, faults=tuple(fault.under(name) for fault in found)) from error


def _fault(detail: str, name: str) -> Refused:
    return Refused(detail, faults=(Fault(detail, (name,)),))
