"""The prices that a ticket shows, as they can be posted; and why some cannot."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from gradewright.core.decimals import EXACT
from gradewright.core.house import Label, fold
from gradewright.core.money import minor_per_unit
from gradewright.core.rates import Rate
from gradewright.core.ticket import Ticket
from gradewright.prices.given import PriceGiven
from gradewright.settlements.expected import Expected
from gradewright.settlements.given import TicketGiven
from gradewright.yards.service import Yard

EXACTLY = frozenset({"1"})
"""The methods by which prices in two units were never the same price, unless they were to the last digit."""


@dataclass(frozen=True, slots=True)
class Showing:
    """Prices to post, each with the place of its line; by places of lines, why theirs is not among them."""

    prices: tuple[tuple[int, PriceGiven], ...]
    left_out: Mapping[int, str]


def shown(
    given: TicketGiven,
    ticket: Ticket,
    yard: Yard,
    labels: Mapping[str, Label],
    expected: Expected,
    method: str,
) -> Showing:
    """One price of each grade on the ticket. Where it was paid for a larger lot, from that weight on."""
    prices: dict[str, tuple[int, PriceGiven]] = {}
    left_out: dict[int, str] = {}
    several, weighs = _several(ticket, exactly=method in EXACTLY), lots(ticket)
    for place, (line, read) in enumerate(zip(given.lines, ticket.lines, strict=True)):
        grade = read.grade
        if grade is None:
            left_out[place] = "Its label stands for no grade: write the grade that it was accepted as."
        elif grade in several:
            left_out[place] = f"The ticket has several prices for {grade}: post the one that holds by hand."
        elif grade in prices:
            left_out[place] = f"Line {prices[grade][0] + 1} shows the same price."
        else:
            told = labels.get(fold(line.label))
            by_label = told is not None and told.grade == grade
            prices[grade] = (
                place,
                PriceGiven(
                    price=line.price,
                    currency=yard.currency,
                    per=line.per or yard.unit,
                    grade=None if by_label else grade,
                    label=line.label if by_label else None,
                    from_weight=_from_weight(grade, weighs[grade], yard, expected),
                ),
            )
    return Showing(tuple(prices.values()), left_out)


def lots(ticket: Ticket) -> dict[str, Decimal]:
    """By the grade that lines were accepted as, what they weigh together, in grams."""
    found: dict[str, Decimal] = {}
    for line in ticket.lines:
        if line.grade is not None:
            found[line.grade] = EXACT.add(found.get(line.grade, Decimal(0)), line.right_net)
    return found


def _several(ticket: Ticket, *, exactly: bool) -> set[str]:
    """The grades of which the ticket has more than one price."""
    first: dict[str, Rate] = {}
    places = len(str(minor_per_unit(ticket.currency))) - 1
    found = set()
    for line in ticket.lines:
        if line.grade is not None:
            rate = first.setdefault(line.grade, line.rate)
            if line.rate != rate and (exactly or not _same(rate, line.rate, places)):
                found.add(line.grade)
    return found


def _same(one: Rate, other: Rate, places: int) -> bool:
    """Whether two prices in two units are one: each of them, in the unit of the other, is what that says, to
    its own last digit or to the minor unit.
    """

    def says(rate: Rate, in_unit_of: Rate) -> bool:
        digits = max(places, -int(in_unit_of.price.as_tuple().exponent))
        return round(rate.per(in_unit_of.per_grams), digits) == in_unit_of.price

    return one.per_grams != other.per_grams and says(one, other) and says(other, one)


def _from_weight(grade: str, grams: Decimal, yard: Yard, expected: Expected) -> str | None:
    """The from-weight of the yard's own price for such a lot: what was paid is no price for smaller ones."""
    if expected.prices.place.code != yard.slug:
        return None
    price = expected.prices.price(grade, grams)
    if price is None or price.shown.basis.kind != "yard":
        return None
    return price.shown.from_weight
