"""Reading measures: one number and a unit, or several ("2 lb 3 oz"), with fractions ("1-1/4 in").

What the units are is up to the caller: masses in `units`, lengths in `lengths`, the rest in `quantities`.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable
from decimal import Decimal, Inexact
from itertools import pairwise
from typing import NamedTuple, NoReturn

from gradewright.core.decimals import (
    EXACT,
    MAX_PRODUCT_DIGITS,
    ROUNDING,
    check_digits,
    legible,
    quoted,
    refusal,
)
from gradewright.core.errors import UnitError


class Scale(NamedTuple):
    """What a unit counts for: its symbol, its size in the base unit, and what it may be mixed with."""

    symbol: str
    size: Decimal
    systems: frozenset[str]


Find = Callable[[str, str], Scale]
"""From a unit as written, and the number before it ("" if none), to its scale; raises UnitError."""

_TERM = re.compile(
    r"(?P<number>(?:(?P<whole>[0-9]+)(?: +|-))?(?P<over>[0-9]+)/(?P<under>[0-9]+)"
    r"|(?P<plain>[0-9]+(?:\.[0-9]+)?))"
    r" *(?P<unit>[A-Za-z]+\.?(?:[ -]?[A-Za-z]+\.?)*|[\"'#]) *"
)
_BARE = re.compile(r"[0-9./ -]*[0-9]")


class _Term(NamedTuple):
    number: str
    unit: str
    scale: Scale
    value: Decimal
    whole: bool


def canonical(unit: str) -> str:
    """Return a unit's name as the tables of aliases spell it: lower case, single spaces, no full stops."""
    return " ".join(unit.lower().replace(".", " ").replace("-", " ").split())


def close(name: str, known: Iterable[str]) -> list[str]:
    """Return up to three of `known` that `name` may be a slip of the pen for, likeliest first.

    Slips seldom touch the first letter, and without it a "stone" would be a slip for the tonne.
    """
    return difflib.get_close_matches(name, [word for word in known if word[:1] == name[:1]], n=3, cutoff=0.7)


def read(text: object, find: Find, kind: str, examples: tuple[str, ...]) -> Decimal:
    """Return what `text` comes to in the base unit of `find`, exactly.

    Several terms go from the larger unit to the smaller, only the last may be broken, and their units belong
    to one system. Raises UnitError, which says what to write, for anything that could be read in two ways.
    """
    line = legible(text, kind, repr(examples[0])).strip(" ")
    terms: list[_Term] = []
    at = 0
    while at < len(line):
        match = _TERM.match(line, at)
        if match is None:
            _unreadable(text, line[at:], kind, examples)
        terms.append(_term(line, match, find))
        at = match.end()
    if not terms:
        raise refusal(f"{quoted(text)} is empty: write {kind}, for example {_either(examples)}.")
    _check_mix(text, terms)
    total = terms[0].value
    for term in terms[1:]:
        total = EXACT.add(total, term.value)
    if len(total.as_tuple().digits) > MAX_PRODUCT_DIGITS:
        raise refusal(f"{quoted(text)} has more digits than can be measured: round it.")
    return total


def _term(line: str, match: re.Match[str], find: Find) -> _Term:
    number, unit = match["number"], match["unit"]
    try:
        scale = find(unit, number)
    except UnitError as error:
        before, after = line[: match.start()], line[match.end("unit") :]
        helps = (f"{before}{s}{after}" for fault in error.faults for s in fault.suggestions)
        raise refusal(error.detail, *helps) from None
    for digits in (match["plain"], match["whole"], match["over"]):
        check_digits(digits or "", line)
    if match["plain"]:
        value = EXACT.multiply(Decimal(match["plain"]), scale.size)
        return _Term(number, unit, scale, value, "." not in number)
    return _Term(number, unit, scale, _fraction(match, scale), whole=False)


def _fraction(match: re.Match[str], scale: Scale) -> Decimal:
    whole, over, under = (Decimal(match[name] or 0) for name in ("whole", "over", "under"))
    written = f"{match['number']} {scale.symbol}"
    if not under or len(match["under"]) > 4:
        raise refusal(f"'{written}' is no fraction: write 1 to 9999 below the line, or a decimal.")
    if match["whole"] and over >= under:
        raise refusal(
            f"'{written}' has a fraction of one or more after a whole number: write it as one number."
        )
    parts = EXACT.multiply(EXACT.fma(whole, under, over), scale.size)
    try:
        return EXACT.divide(parts, under)
    except Inexact:
        near = ROUNDING.quantize(ROUNDING.divide(EXACT.fma(whole, under, over), under), Decimal("0.001"))
        instead = f"{near} {scale.symbol}"
        raise refusal(f"'{written}' has no exact decimal value: write '{instead}'.", instead) from None


def _check_mix(text: object, terms: list[_Term]) -> None:
    for larger, smaller in pairwise(terms):
        if not larger.whole:
            raise refusal(
                f"{quoted(text)} has a broken number before the last one: write whole {larger.scale.symbol} "
                f"and the rest in {smaller.scale.symbol}, or everything in {larger.scale.symbol}."
            )
        if larger.scale.size <= smaller.scale.size:
            raise refusal(
                f"{quoted(text)} goes from {larger.scale.symbol} to {smaller.scale.symbol}: "
                "write the larger unit first, and each unit once."
            )
    if not frozenset.intersection(*(term.scale.systems for term in terms)):
        first, last = terms[0].scale.symbol, terms[-1].scale.symbol
        raise refusal(
            f"{quoted(text)} mixes {first} with {last}, which are not used together: "
            "write all of it in one system."
        )


def _unreadable(text: object, rest: str, kind: str, examples: tuple[str, ...]) -> NoReturn:
    if rest[0] in "+-":
        raise refusal(
            f"{quoted(text)} has a sign: write {kind} without one.", str(text).replace(rest[0], "", 1)
        )
    if _BARE.fullmatch(rest):
        units = [example.split(" ", 1)[1] for example in examples]
        helps = [f"{rest} {unit}" for unit in units]
        what = "has no unit" if rest == text else f"has a number without a unit, {rest}"
        raise refusal(f"{quoted(text)} {what}: write {_either(helps)}.", *helps)
    raise refusal(f"{quoted(text)} cannot be read as {kind}: write, for example, {_either(examples)}.")


def _either(texts: Iterable[str]) -> str:
    *first, last = (f"'{text}'" for text in texts)
    return f"{', '.join(first)} or {last}" if first else last
