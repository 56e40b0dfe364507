"""What the precious metal of a lot may come to, from an assay range and a buyer's terms: an indication.

The metal that is paid for is the assay less a deduction, or a share of it, whichever is less (the usual
form of refiners' terms: common practice, no source); it is paid at the metal's price less refining for each
ounce, and treating the lot costs something for each weight and something once. Always a low and a high end,
and nothing in between.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradewright.core.decimals import quoted, refusal
from gradewright.core.recovery.measured import Range
from gradewright.core.recovery.published import PUBLISHED
from gradewright.core.units import parse_mass

INDICATION = "An indication, not an assay: only a refiner's assay of this very lot tells what it holds."
GRAMS_A_TONNE = 1_000_000
_CONTENT = re.compile(r" *([0-9]+(?:\.[0-9]{1,9})?) *(%|ppm|[A-Za-z]+ *\/ *[A-Za-z ]+) *")


@dataclass(frozen=True, slots=True)
class Terms:
    """What a buyer pays for one metal and keeps: `payable` as a fraction of one, `deduction` in g/t.

    `price` and `refining` are in minor units for each gram of metal.
    """

    price: Fraction
    payable: Fraction = Fraction(1)
    deduction: Fraction = Fraction(0)
    refining: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Content:
    """One metal of the lot: between `low` and `high` grams for each tonne, says who, and on what terms."""

    metal: str
    low: Fraction
    high: Fraction
    source: str
    terms: Terms


@dataclass(frozen=True, slots=True)
class Charges:
    """What treating the lot costs: minor units for each gram of it, and once; the smallest lot in grams."""

    treatment: Fraction = Fraction(0)
    once: Fraction = Fraction(0)
    smallest: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Ends:
    """The two ends of what is possible."""

    low: Fraction
    high: Fraction


@dataclass(frozen=True, slots=True)
class Recovered:
    """One metal: grams that are there, grams that are paid for, and what they come to, less refining."""

    content: Content
    there: Ends
    paid_for: Ends
    amount: Ends


@dataclass(frozen=True, slots=True)
class Recoverable:
    """The metals, what treatment costs, what is left, and whether the lot may be too small to be taken."""

    metals: tuple[Recovered, ...]
    charges: Ends
    amount: Ends
    too_small: bool


def recoverable(lot: Range, contents: Sequence[Content], charges: Charges) -> Recoverable:
    """The ends of what a lot of so many grams comes to; below zero where it costs more than it holds."""
    metals = tuple(_recovered(lot, content) for content in contents)
    cost = Ends(charges.treatment * lot.low + charges.once, charges.treatment * lot.high + charges.once)

    def left(mass: Fraction, pick: Callable[[Iterable[Fraction]], Fraction]) -> Fraction:
        paid = sum((pick(_amounts(mass, content)) for content in contents), Fraction(0))
        return paid - charges.treatment * mass - charges.once

    # A heavier lot brings more metal and costs more to treat: which end is lower depends on the terms.
    low, high = (pick(left(mass, pick) for mass in (lot.low, lot.high)) for pick in (min, max))
    return Recoverable(metals, cost, Ends(low, high), lot.low < charges.smallest)


def _recovered(lot: Range, content: Content) -> Recovered:
    terms = content.terms
    there = Ends(lot.low * content.low / GRAMS_A_TONNE, lot.high * content.high / GRAMS_A_TONNE)
    paid = Ends(_paid_for(lot.low, content.low, terms), _paid_for(lot.high, content.high, terms))
    amounts = [*_amounts(lot.low, content), *_amounts(lot.high, content)]
    return Recovered(content, there, paid, Ends(min(amounts), max(amounts)))


def _amounts(mass: Fraction, content: Content) -> list[Fraction]:
    """At the least and at the most metal; where refining costs more than the metal, more of it pays less."""
    terms = content.terms
    margin = terms.price - terms.refining
    return [_paid_for(mass, share, terms) * margin for share in (content.low, content.high)]


def _paid_for(mass: Fraction, share: Fraction, terms: Terms) -> Fraction:
    payable = max(min(share * terms.payable, share - terms.deduction), Fraction(0))
    return mass * payable / GRAMS_A_TONNE


def published(kind: str, metal: str) -> tuple[Fraction, Fraction, str] | None:
    """The ends that publications give for a metal in a kind of thing, in g/t, and what they rest on."""
    found = PUBLISHED.get(kind, {}).get(metal)
    if found is None:
        return None
    figures = ", ".join(f"{figure:f}" for figure in found.figures)
    source = f"published: {figures} g/t ({found.source}); half of the lowest to twice the highest"
    return found.low, found.high, source


def parse_content(text: str) -> Fraction:
    """Return a share of metal in grams for each tonne: "250 g/t", "250 ppm", "0.02 %", "7.3 ozt/short ton".

    Raises UnitError, which says what to write.
    """
    match = _CONTENT.fullmatch(text) if len(text) <= 80 else None
    if match is None:
        raise refusal(
            f"{quoted(text)} cannot be read as a content: write, for example, '250 g/t', "
            "'250 ppm' or '0.02 %'."
        )
    number, unit = match[1], match[2]
    if unit == "%":
        found = Fraction(number) * (GRAMS_A_TONNE // 100)
    elif unit == "ppm":
        found = Fraction(number)
    else:
        over, under = (Fraction(parse_mass(f"1 {part.strip()}").grams) for part in unit.split("/"))
        found = Fraction(number) * over / under * GRAMS_A_TONNE
    if found > GRAMS_A_TONNE:
        raise refusal(f"{quoted(text)} is more than the whole: a content goes up to 100 %, 1000000 g/t.")
    return found
