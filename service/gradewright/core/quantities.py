"""Areas in cm2, volumes in cm3, densities in g/cm3, shares as fractions of one."""

from __future__ import annotations

import re
from decimal import Decimal

from gradewright.core.decimals import EXACT, ROUNDING, check_digits, legible, plain, quoted, refusal
from gradewright.core.notation import close

_INCH_CM = Decimal("2.54")
_POUND_G = Decimal("453.59237")
_SQUARE_INCH = EXACT.multiply(_INCH_CM, _INCH_CM)
_CUBIC_INCH = EXACT.multiply(_SQUARE_INCH, _INCH_CM)

# Unit -> (numerator, denominator) of its size in cm2 or g/cm3. A pound per cubic foot has no end as a
# decimal, so such densities are rounded, once, to `_PLACES`: 30 lb/ft3 is one number wherever it is written.
_Ratio = tuple[Decimal, Decimal]
_ONE = Decimal(1)
_PLACES = Decimal("1e-12")
_AREAS: dict[str, _Ratio] = {
    "cm2": (_ONE, _ONE),
    "mm2": (_ONE, Decimal(100)),
    "m2": (Decimal(10_000), _ONE),
    "in2": (_SQUARE_INCH, _ONE),
    "ft2": (EXACT.multiply(Decimal(144), _SQUARE_INCH), _ONE),
}
_VOLUMES: dict[str, _Ratio] = {
    "cm3": (_ONE, _ONE),
    "ml": (_ONE, _ONE),
    "cl": (Decimal(10), _ONE),
    "l": (Decimal(1000), _ONE),
    "in3": (_CUBIC_INCH, _ONE),
}
_DENSITIES: dict[str, _Ratio] = {
    "g/cm3": (_ONE, _ONE),
    "kg/m3": (_ONE, Decimal(1000)),
    "lb/ft3": (_POUND_G, EXACT.multiply(Decimal(1728), _CUBIC_INCH)),
    "lb/in3": (_POUND_G, _CUBIC_INCH),
    "t/m3": (_ONE, _ONE),
}
_SQUARE = re.compile(r"(?:sq|square) ?(mm|cm|m|in|ft)")
_OTHER_NAMES = {"g/cc": "g/cm3", "kg/dm3": "g/cm3", "kg/l": "g/cm3", "lbs/ft3": "lb/ft3", "lbs/in3": "lb/in3"}
_MEASURE = re.compile(r" *([0-9]+(?:\.[0-9]+)?) *([A-Za-z%].*)?")


def parse_area(text: str) -> Decimal:
    """Return the area written in `text`, in cm2, exactly: "10.1 cm2", "100 mm2", "1.5 in2", "2 sq in".

    Raises UnitError, which says what to write.
    """
    return _read(text, _AREAS, "an area", "10.1 cm2")


def parse_volume(text: str) -> Decimal:
    """Return the volume written in `text`, in cm3, exactly: "12.5 ml", "3 in3", "0.2 l".

    Raises UnitError, which says what to write.
    """
    return _read(text, _VOLUMES, "a volume", "12.5 ml")


def parse_density(text: str) -> Decimal:
    """Return the density written in `text`, in g/cm3: "8.9 g/cm3", "8900 kg/m3", "30 lb/ft3", "0.308 lb/in3".

    Metric densities are exact, pounds per volume rounded to 12 places.
    Raises UnitError, which says what to write.
    """
    return _read(text, _DENSITIES, "a density", "8.9 g/cm3")


def parse_share(text: str) -> Decimal:
    """Return the share written in `text` as a fraction of one, exactly: "5 %" is 0.05.

    Raises UnitError without the per cent sign, and above 100 %.
    """
    number, unit = _split(text, "a share", "5 %")
    if unit not in {"%", "percent", "per cent"}:
        percent = f"{plain(Decimal(number).scaleb(2, EXACT))} %"
        meant = (f"{number} %", percent) if Decimal(number) <= 1 else (f"{number} %",)
        raise refusal(
            f"{quoted(text)} is not a share in per cent: write {' or '.join(map(repr, meant))}.", *meant
        )
    if Decimal(number) > 100:
        raise refusal(f"{quoted(text)} is more than the whole: a share goes from 0 % to 100 %.")
    return Decimal(number).scaleb(-2, EXACT)


def _split(text: object, kind: str, example: str) -> tuple[str, str]:
    line = legible(text, kind, repr(example))
    match = _MEASURE.fullmatch(line)
    if match is None:
        sign = " (without a sign)" if line.lstrip()[:1] in {"-", "+"} else ""
        raise refusal(f"{quoted(text)} cannot be read as {kind}: write, for example, '{example}'{sign}.")
    check_digits(match[1], text)
    return match[1], (match[2] or "").strip()


def _read(text: object, units: dict[str, _Ratio], kind: str, example: str) -> Decimal:
    number, unit = _split(text, kind, example)
    if not unit:
        helps = tuple(f"{number} {name}" for name in list(units)[:3])
        raise refusal(f"{quoted(text)} has no unit: write {' or '.join(map(repr, helps))}.", *helps)
    name = _SQUARE.sub(r"\g<1>2", unit.lower().replace("^", "").replace(" / ", "/"))
    ratio = units.get(_OTHER_NAMES.get(name, name))
    if ratio is None:
        near = close(name, units) or list(units)[:3]
        helps = tuple(f"{number} {name}" for name in near)
        raise refusal(
            f"{quoted(unit)} is not a unit for {kind}: write {' or '.join(map(repr, helps))}.", *helps
        )
    over, under = ratio
    product = EXACT.multiply(Decimal(number), over)
    if under in {_ONE, Decimal(100), Decimal(1000)}:
        return EXACT.divide(product, under)
    return ROUNDING.quantize(ROUNDING.divide(product, under), _PLACES)
