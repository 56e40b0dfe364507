"""How much of a cable's weight is copper: worked out from its build, or weighed before and after stripping.

The physical share, of copper of 8.89 g/cm3. The copper number of cable tables (9.6 kg/km for each mm2) is for
invoices and 8 % more than there is: it is told beside the share, as the most that there can be.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.decimals import quoted
from gradewright.core.errors import Fault, GradewrightError
from gradewright.core.lengths import parse_length
from gradewright.core.recovery.conductors import COPPER_DENSITY, Conductor, Section, sections
from gradewright.core.recovery.measured import Faults, Range, around, exactly
from gradewright.core.units import parse_mass

LENGTH_OFF = Fraction(1, 200)
"""How far a measured length is off where nobody says: common practice, no source."""
WHOLE = Fraction(1)
_BARE = re.compile(r" *[0-9]+(?:\.[0-9]+)? *")


@dataclass(frozen=True, slots=True)
class Build:
    """A cable as written: its conductors, and what a length of it weighs.

    `scale` is the scale's finest division (None: the last digit of `weight`), `length_within` how far the
    length may be off (None: half a per cent).
    """

    conductors: tuple[Conductor, ...]
    weight: str
    length: str
    scale: str | None = None
    length_within: str | None = None


@dataclass(frozen=True, slots=True)
class Sample:
    """A piece of cable as weighed, and its copper alone; `scale` as in `Build`."""

    weight: str
    copper: str
    scale: str | None = None


@dataclass(frozen=True, slots=True)
class CopperShare:
    """What of the weight is copper, as a fraction of one, and what it rests on.

    `grams_per_metre` of cable, and the `strand` in mm, only where the build tells them. `number_share` is
    what the copper number would make of it, by the same readings: no end of the share is above it.
    """

    share: Range
    grams_per_metre: Range | None
    strand: Range | None
    number_share: Range | None
    rests_on: tuple[str, ...]


def grams(text: str) -> Decimal:
    """A mass in grams."""
    return parse_mass(text).grams


def copper_of_build(build: Build) -> CopperShare:
    """Copper of the conductors over the cable's weight. Raises Refused with every fault, pointing into the
    build.

    Formula: sum of count x cross-section x lay x density, over the weight of the length (LAPP technical
    table T17 works so); the ends of the range are those of every term.
    """
    faults = Faults()
    found: tuple[Section, ...] = ()
    try:
        found = sections(build.conductors)
    except GradewrightError as error:
        faults.found += [fault.under("conductors") for fault in error.faults]
    weight = _weighed(build.weight, build.scale, "weight", faults)
    length = _measured_length(build, faults)
    if faults.found or weight is None or length is None:
        raise faults.refused()
    per_metre = weight.over(length)
    copper = exactly(0)
    number = exactly(0)
    for conductor, one in zip(build.conductors, found, strict=True):
        copper = copper.plus(one.copper.times(exactly(conductor.count * COPPER_DENSITY)))
        number = number.plus(one.number.times(exactly(conductor.count)))
    share = copper.over(per_metre)
    if share.low > WHOLE:
        detail = "the conductors alone weigh more than the cable: look at gauge, weight and length again"
        faults.add(detail, "weight")
        raise faults.refused()
    strands = {one.strand for one in found}
    return CopperShare(
        share=share.at_most(WHOLE),
        grams_per_metre=per_metre,
        strand=next(iter(strands)) if len(strands) == 1 else None,
        number_share=number.over(per_metre),
        rests_on=tuple(f"{c.count} x {s.says}" for c, s in zip(build.conductors, found, strict=True)),
    )


def copper_of_sample(sample: Sample) -> CopperShare:
    """The copper's weight over the cable's. Raises Refused with every fault, pointing into the sample."""
    faults = Faults()
    weight = _weighed(sample.weight, sample.scale, "weight", faults)
    copper = _weighed(sample.copper, sample.scale, "copper", faults)
    if weight is not None and copper is not None and copper.likely > weight.likely:
        faults.add("the copper weighs more than the cable that it came out of: look at both again", "copper")
    if faults.found or weight is None or copper is None:
        raise faults.refused()
    rests_on = (f"{sample.copper} of copper out of {sample.weight} of cable",)
    return CopperShare(copper.over(weight).at_most(WHOLE), None, None, None, rests_on)


def _weighed(text: str, scale: str | None, name: str, faults: Faults) -> Range | None:
    """A weight with what the scale leaves open; its faults are added to the list."""
    found = faults.reading(text, grams, name, scale)
    if found is not None and found.low <= 0:
        faults.add(
            f"{text!r} is no more than the scale's step: weigh a longer piece, or on a finer scale", name
        )
        return None
    return found


def _measured_length(build: Build, faults: Faults) -> Range | None:
    """The length in metres."""
    if _BARE.fullmatch(build.length):
        metres, feet = helps = tuple(f"{build.length.strip()} {unit}" for unit in ("m", "ft"))
        detail = f"{quoted(build.length)} has no unit: write '{metres}' or '{feet}'"
        faults.found.append(Fault(detail, ("length",), helps))
        return None
    likely = faults.value(build.length, parse_length, "length")
    within = build.length_within
    off = Fraction(0) if within is None else faults.value(within, parse_length, "length_within")
    if likely is None or off is None:
        return None
    found = around(likely / 1000, likely / 1000 * LENGTH_OFF if within is None else off / 1000)
    if found.low <= 0:
        faults.add("the length may be nothing at all: measure a longer piece", "length")
        return None
    return found
