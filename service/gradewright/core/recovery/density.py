"""How heavy a piece is for its size, weighed in air and in water, or by the water that it moves aside.

density = air + (water - air) x dry / (dry - in water), by Archimedes' principle, the lift of the air
included; or the dry weight over the volume. The scale's step, the water's temperature and the vessel's
lines make it a range.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.quantities import parse_volume
from gradewright.core.recovery.cable import grams
from gradewright.core.recovery.densities import AIR, COLDEST, HOTTEST, MATERIALS, Material, water_at
from gradewright.core.recovery.measured import Faults, Range


@dataclass(frozen=True, slots=True)
class Displacement:
    """A piece as weighed dry, and either hanging in water or by the volume that it moves aside.

    `scale` and `vessel` are the finest divisions (None: the last digit written), `water` is in degrees
    Celsius.
    """

    dry: str
    in_water: str | None = None
    displaced: str | None = None
    scale: str | None = None
    vessel: str | None = None
    water: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Density:
    """The density in g/cm3, the published materials that it may be, and what it rests on."""

    density: Range
    materials: tuple[Material, ...]
    rests_on: str


def density_of(given: Displacement) -> Density:
    """The range of the density. Raises Refused with every fault, pointing into the displacement."""
    faults = Faults()
    dry = faults.reading(given.dry, grams, "dry", given.scale)
    if dry is not None and dry.low <= 0:
        detail = f"{given.dry!r} is no more than the scale's step: weigh several pieces, or on a finer scale"
        faults.add(detail, "dry")
    if (given.in_water is None) == (given.displaced is None):
        faults.add("give either the weight in water or the volume that is displaced", "in_water")
    if given.water is not None and not COLDEST <= given.water <= HOTTEST:
        faults.add(f"write {COLDEST} to {HOTTEST} degrees Celsius: no other water is looked up", "water")
    found = None
    if given.in_water is not None:
        hanging = faults.reading(given.in_water, grams, "in_water", given.scale)
        if dry is not None and hanging is not None and not faults.found:
            found = _by_weight(dry, hanging, given, faults)
    if given.displaced is not None:
        volume = faults.reading(given.displaced, parse_volume, "displaced", given.vessel, "vessel")
        if dry is not None and volume is not None and not faults.found:
            found = _by_volume(dry, volume, given, faults)
    if found is None:
        raise faults.refused()
    return Density(found, tuple(each for each in MATERIALS if each.within(found)), _rests_on(given))


def _by_weight(dry: Range, hanging: Range, given: Displacement, faults: Faults) -> Range | None:
    if hanging.likely >= dry.likely:
        faults.add("it weighs no less in water than dry: look at both weights again", "in_water")
        return None
    if dry.low <= hanging.high:
        detail = (
            f"between {given.dry} and {given.in_water} the scale tells no difference to rely on: weigh "
            "several pieces together, or on a finer scale"
        )
        faults.add(detail, "in_water")
        return None
    water = water_at(None if given.water is None else Fraction(given.water))

    # Heavier dry than read, it moved aside more water than read, and is less dense.
    def by(dry: Fraction, hanging: Fraction, water: Fraction, air: Fraction) -> Fraction:
        return air + (water - air) * dry / (dry - hanging)

    return Range(
        by(dry.high, hanging.low, water.low, AIR.high),
        by(dry.likely, hanging.likely, water.likely, AIR.likely),
        by(dry.low, hanging.high, water.high, AIR.low),
    )


def _by_volume(dry: Range, volume: Range, given: Displacement, faults: Faults) -> Range | None:
    if volume.low <= 0:
        detail = (
            f"{given.displaced!r} is no more than the vessel's step: take more pieces, or a narrower vessel"
        )
        faults.add(detail, "displaced")
        return None
    return dry.over(volume)


def _rests_on(given: Displacement) -> str:
    if given.displaced is not None:
        return f"{given.dry} dry, {given.displaced} of water moved aside"
    water = "water of unknown temperature" if given.water is None else f"water of {given.water:f} C"
    return f"{given.dry} dry, {given.in_water} hanging in {water}"
