"""Lengths in millimetres: metric, feet and inches with fractions, and American wire gauge for diameters.

The inch is 25.4 mm exactly (NIST Handbook 44, Appendix C). The wire gauge is a formula, ASTM B258.
"""

from __future__ import annotations

import re
from decimal import Decimal

from gradewright.core.decimals import EXACT, ROUNDING, quoted, refusal
from gradewright.core.notation import Scale, canonical, close, read

_METRIC, _INCHES = frozenset({"metric"}), frozenset({"inches"})
_INCH, _FOOT = Decimal("25.4"), Decimal("304.8")

_UNITS = {
    Scale("mm", Decimal(1), _METRIC): "millimetre, millimetres, millimeter, millimeters",
    Scale("cm", Decimal(10), _METRIC): "centimetre, centimetres, centimeter, centimeters",
    Scale("m", Decimal(1000), _METRIC): "metre, metres, meter, meters",
    Scale("km", Decimal(1_000_000), _METRIC): "kilometre, kilometres, kilometer, kilometers",
    Scale("in", _INCH, _INCHES): 'ins, inch, inches, "',
    Scale("ft", _FOOT, _INCHES): "foot, feet, '",
}
_SCALES = {
    alias: scale for scale, aliases in _UNITS.items() for alias in (scale.symbol, *aliases.split(", "))
}
_SIZES = {alias: scale.size for alias, scale in _SCALES.items()}
_EXAMPLES = ("6.35 mm", "1/4 in")

_PLAINEST = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?([A-Za-z\"']+)")
_multiply = EXACT.multiply

# Wire: "16 AWG", "AWG 16", "4/0 AWG", "0000 AWG"; B&S is the older name of the same gauge.
_WIRE = re.compile(
    r" *(?:(?:AWG|B&S) *(?P<after>[0-9/.]+)|(?P<before>[0-9/.]+) *(?:AWG|B&S)) *", re.IGNORECASE
)
_GAUGE = re.compile(r"(?:.*[^A-Za-z])?(?:gauge|gage|ga|swg|bwg)(?:[^A-Za-z].*)?", re.IGNORECASE)
_THINNEST = 56


def _diameter(number: int) -> Decimal:
    # 0.005 in x 92^((36 - n)/39), where 4/0 is -3 (ASTM B258), to a millionth of a millimetre. Decimal powers
    # at 100 digits are the same on every machine, and 90 digits more than the rounding can feel.
    step = ROUNDING.divide(Decimal(36 - number), Decimal(39))
    exact = ROUNDING.multiply(ROUNDING.power(Decimal(92), step), EXACT.multiply(Decimal("0.005"), _INCH))
    return ROUNDING.quantize(exact, Decimal("0.000001"))


_WIRES = {
    **{("0" * zeros): 1 - zeros for zeros in (1, 2, 3, 4)},
    **{f"{zeros}/0": 1 - zeros for zeros in (1, 2, 3, 4)},
    **{str(number): number for number in range(1, _THINNEST + 1)},
}
_DIAMETERS: dict[str, Decimal] = {written: _diameter(number) for written, number in _WIRES.items()}


def parse_length(text: str) -> Decimal:
    """Return the length written in `text`, in mm: "6.35 mm", "1-1/4 in", '0.25"', "2 ft", "16 AWG".

    Raises UnitError, which says what to write; for a bare "16 gauge" too, which differs from metal to metal.
    """
    if isinstance(text, str):
        match = _PLAINEST.fullmatch(text)
        if match is not None:
            number, unit = match.groups()
            size = _SIZES.get(unit)
            if size is not None and len(number) <= 20:
                return _multiply(Decimal(number), size)
        wire = _WIRE.fullmatch(text)
        if wire is not None:
            return _wire(text, wire["after"] or wire["before"])
        if len(text) < 40 and _GAUGE.fullmatch(text):
            _refuse_gauge(text)
    return read(text, _find, "a length", _EXAMPLES)


def _wire(text: str, number: str) -> Decimal:
    diameter = _DIAMETERS.get(number)
    if diameter is None:
        raise refusal(
            f"{quoted(text)} is not a wire gauge: AWG goes from 4/0 (0000) through 1/0 (0) to {_THINNEST}, "
            "in whole numbers."
        )
    return diameter


def _refuse_gauge(text: str) -> None:
    number = re.search(r"[0-9/]+", text)
    wire = f"{number[0]} AWG" if number else "16 AWG"
    raise refusal(
        f"{quoted(text)} is not a thickness: a gauge number is another thickness for every metal (16 is "
        "0.0598 in for plain steel sheet, 0.0635 in galvanized, 0.0625 in stainless, 0.0508 in aluminium). "
        f"Measure it and write mm or in, for example '1.52 mm'; for wire write '{wire}'.",
        wire,
    )


def _find(unit: str, number: str) -> Scale:
    name = canonical(unit)
    if name in _SCALES:
        return _SCALES[name]
    before = f"{number} " if number else ""
    if name in {"mil", "mils", "thou"}:
        raise refusal(f"'{before}{unit}' does not say thousandths of an inch or millimetres: write in or mm.")
    symbols = list(dict.fromkeys(_SCALES[alias].symbol for alias in close(name, _SCALES)))
    maybe = (
        f"did you mean {' or '.join(map(repr, symbols))}?"
        if symbols
        else "write one of mm, cm, m, km, in, ft, AWG."
    )
    raise refusal(f"{quoted(unit)} is not a unit of length: {maybe}", *(f"{before}{s}" for s in symbols))
