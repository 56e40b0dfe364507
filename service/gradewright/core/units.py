"""Masses: the units of the trade by their legal definitions, reading them, and showing them to people.

Sizes are exact: the international pound is 0.45359237 kg, and the other customary units are defined by
the grain, 7000 to the pound (NIST Handbook 44, Appendix C). To add a unit, add one row.
Lengths, areas, densities and shares are read by `lengths` and `quantities` and can be imported from here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from gradewright.core.decimals import EXACT, digits_of, parse_decimal, plain, quoted, refusal, trimmed
from gradewright.core.errors import UnitError
from gradewright.core.lengths import parse_length
from gradewright.core.money import TO_WHOLE, Rounding
from gradewright.core.notation import Scale, canonical, close, read
from gradewright.core.quantities import parse_area, parse_density, parse_share

__all__ = [
    "MASS_UNITS",
    "Mass",
    "MassUnit",
    "mass_unit",
    "parse_area",
    "parse_decimal",
    "parse_density",
    "parse_length",
    "parse_mass",
    "parse_share",
    "plain",
    "show_mass",
    "show_ratio",
    "trimmed",
]


@dataclass(frozen=True, slots=True)
class MassUnit:
    """A unit of mass: how it is written, its exact size in grams, and what it goes together with."""

    symbol: str
    name: str
    grams: Decimal
    aliases: tuple[str, ...]
    systems: frozenset[str]


@dataclass(frozen=True, slots=True)
class Mass:
    """A mass in grams, exact, with the text it was given as."""

    grams: Decimal
    given: str


_METRIC, _SHORT, _LONG, _TROY = (frozenset({system}) for system in ("metric", "short", "long", "troy"))


def _row(symbol: str, name: str, grams: str, systems: frozenset[str], aliases: str) -> MassUnit:
    return MassUnit(symbol, name, Decimal(grams), tuple(aliases.split(", ")), systems)


MASS_UNITS: dict[str, MassUnit] = {
    unit.symbol: unit
    for unit in (
        _row("g", "gram", "1", _METRIC, "gm, gms, gram, grams, gramme, grammes"),
        _row(
            "kg", "kilogram", "1000", _METRIC,
            "kgs, kilo, kilos, kilogram, kilograms, kilogramme, kilogrammes",
        ),
        _row("t", "tonne", "1000000", _METRIC, "mt, tonne, tonnes, metric ton, metric tons"),
        _row("gr", "grain", "0.06479891", _SHORT | _LONG | _TROY, "grain, grains"),
        _row("dwt", "pennyweight", "1.55517384", _TROY, "pwt, pennyweight, pennyweights"),
        _row(
            "ozt", "troy ounce", "31.1034768", _TROY,
            "oz t, ozs t, toz, t oz, troy oz, troy ozs, oz troy, troy ounce, troy ounces",
        ),
        _row("oz", "ounce", "28.349523125", _SHORT | _LONG, "ozs, ounce, ounces"),
        _row("lb", "pound", "453.59237", _SHORT | _LONG, "lbs, pound, pounds, #"),
        _row(
            "short cwt", "short hundredweight", "45359.237", _SHORT,
            "short hundredweight, short hundredweights, net cwt, us cwt",
        ),
        _row(
            "long cwt", "long hundredweight", "50802.34544", _LONG,
            "long hundredweight, long hundredweights, gross cwt, uk cwt",
        ),
        _row(
            "short ton", "short ton", "907184.74", _SHORT,
            "short tons, net ton, net tons, nt, us ton, us tons",
        ),
        _row(
            "gross ton", "gross ton", "1016046.9088", _LONG,
            "gross tons, gt, long ton, long tons, lt, uk ton, uk tons, imperial ton, imperial tons",
        ),
    )
}  # fmt: skip
"""Every unit of mass, by its symbol."""

_BY_ALIAS = {alias: unit for unit in MASS_UNITS.values() for alias in (unit.symbol, *unit.aliases)}
_GRAMS = {alias: unit.grams for alias, unit in _BY_ALIAS.items()}
_GRAMS |= {alias.upper(): grams for alias, grams in _GRAMS.items() if alias != "t"}  # "T": see _find_unit
_EXAMPLES = ("12 kg", "12 lb")
OUNCES_A_POUND = 16
_OUNCE = MASS_UNITS["oz"].grams.as_integer_ratio()
_half_even = TO_WHOLE[Rounding.HALF_EVEN]

_TONS = ("short ton", "2000 lb"), ("gross ton", "2240 lb"), ("t", "1000 kg")
_HUNDREDWEIGHTS = ("short cwt", "100 lb"), ("long cwt", "112 lb")
_UNCLEAR = {
    **dict.fromkeys(("ton", "tons"), ("which ton", _TONS)),
    **dict.fromkeys(
        ("cwt", "cwts", "hundredweight", "hundredweights"), ("which hundredweight", _HUNDREDWEIGHTS)
    ),
}

# A price list has thousands of masses of the plainest kind: one number, one unit that needs no second look.
_PLAINEST = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?([A-Za-z]+)")
_multiply = EXACT.multiply


def mass_unit(text: str) -> MassUnit:
    """Return the unit named by a symbol, name, plural or usual abbreviation; upper or lower case is the same.

    Raises UnitError for an unknown unit, with the nearest ones, and for one that means several: "ton", "cwt".
    """
    return _find_unit(text, "")


def parse_mass(text: str) -> Mass:
    """Return the mass written in `text`: "850 g", "1.2kg", "2 lb 3 oz", "1/2 lb", "5 dwt 3 gr".

    Raises UnitError, which says what to write: no unit, one that means several, a sign, a comma...
    """
    if isinstance(text, str):
        match = _PLAINEST.fullmatch(text)
        if match is not None:
            number, unit = match.groups()
            grams = _GRAMS.get(unit)
            if grams is not None and len(number) <= 20:
                return Mass(_multiply(Decimal(number), grams), text)
    return Mass(read(text, _scale, "a mass", _EXAMPLES), text)


def show_mass(grams: Decimal) -> str:
    """Return a mass for people, in both notations: "12.42 kg (27 lb 6 oz)", "0.136 kg (4.8 oz)".

    From a tenth of an ounce on, both are within half a per cent of `grams`; halves go to the even digit.
    """
    return show_ratio(*grams.as_integer_ratio())


def show_ratio(over: int, under: int) -> str:
    """The same of so many grams over the second number, which is above zero."""
    sign, size = ("-", -over) if over < 0 else ("", over)
    return f"{sign}{_metric(size, under)} ({sign}{_avoirdupois(size, under)})"


def _scale(unit: str, number: str) -> Scale:
    found = _find_unit(unit, number)
    return Scale(found.symbol, found.grams, found.systems)


def _find_unit(text: object, number: str) -> MassUnit:
    if not isinstance(text, str):
        raise UnitError(f"{quoted(text)} is not the name of a unit: write 'kg' or 'lb'.")
    if text in _BY_ALIAS:
        return _BY_ALIAS[text]
    name = canonical(text)
    before = f"{number} " if number else ""
    if text.strip() == "T":
        name = "ton"  # a capital T stands for the tonne and for the short ton, ten per cent apart
    if name in _UNCLEAR:
        what, units = _UNCLEAR[name]
        *first, last = (f"'{before}{symbol}' ({size})" for symbol, size in units)
        written = quoted(f"{before}{text}")
        detail = f"{written} does not say {what}: write {', '.join(first)} or {last}."
        raise refusal(detail, *(f"{before}{symbol}" for symbol, _ in units))
    if name in _BY_ALIAS and text.isascii():
        return _BY_ALIAS[name]
    symbols = list(dict.fromkeys(_BY_ALIAS[alias].symbol for alias in close(name[:40], _BY_ALIAS)))
    maybe = (
        f"did you mean {' or '.join(map(repr, symbols))}?"
        if symbols
        else f"write one of {', '.join(MASS_UNITS)}."
    )
    raise refusal(
        f"{quoted(text)} is not a unit of mass: {maybe}", *(f"{before}{symbol}" for symbol in symbols)
    )


def _metric(grams: int, under: int) -> str:
    if grams < 100 * under:
        return f"{_rounded(grams, under, 1 if grams >= 10 * under else 2 if grams >= under else 3)} g"
    bounds = ((10_000, 3), (100_000, 2), (1_000_000, 1))
    places = next((places for bound, places in bounds if grams < bound * under), 0)
    return f"{_rounded(grams, 1000 * under, places)} kg"


def _avoirdupois(grams: int, under: int) -> str:
    (over, size), sixteen = _OUNCE, OUNCES_A_POUND
    ounces, under = grams * size, under * over
    if ounces < 10 * under:
        return f"{_rounded(ounces, under, 3 if ounces < under else 2)} oz"
    if ounces >= 1600 * under:
        return f"{_rounded(ounces, sixteen * under, 0)} lb"
    places = 1 if ounces < 160 * under else 0
    pounds, rest = divmod(_half_even(ounces * 10**places, under), sixteen * 10**places)
    shown = ([f"{pounds} lb"] * bool(pounds), [f"{digits_of(rest, places)} oz"] * bool(rest))
    return " ".join(shown[0] + shown[1])


def _rounded(number: int, under: int, places: int) -> str:
    near = _half_even(number * 10**places, under)
    return digits_of(near, places) if near or not number else f"under {digits_of(1, places)}"
