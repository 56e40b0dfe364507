"""The prices that a ticket shows, as they can be posted; and why some cannot."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from gradewright.core.decimals import EXACT
from gradewright.core.house import Label, fold
from gradewright.core.ticket import Ticket
from gradewright.prices.given import PriceGiven
from gradewright.settlements.expected import Expected
from gradewright.settlements.given import TicketGiven
from gradewright.yards.service import Yard


@dataclass(frozen=True, slots=True)
class Showing:
    """Prices to post, each with the place of its line; by places of lines, why theirs is not among them."""

    prices: tuple[tuple[int, PriceGiven], ...]
    left_out: Mapping[int, str]


def shown(
    given: TicketGiven, ticket: Ticket, yard: Yard, labels: Mapping[str, Label], expected: Expected
) -> Showing:
    """One price of each grade on the ticket. Where it was paid for a larger lot, from that weight on."""
    prices: dict[str, tuple[int, PriceGiven]] = {}
    left_out: dict[int, str] = {}
    several = _several(ticket)
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
                    from_weight=_from_weight(grade, ticket, yard, expected),
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


def _several(ticket: Ticket) -> set[str]:
    """The grades of which the ticket has more than one price."""
    rates: dict[str, set[object]] = {}
    for line in ticket.lines:
        if line.grade is not None:
            rates.setdefault(line.grade, set()).add(line.rate)
    return {grade for grade, found in rates.items() if len(found) > 1}


def _from_weight(grade: str, ticket: Ticket, yard: Yard, expected: Expected) -> str | None:
    """The from-weight of the yard's own price for such a lot: what was paid is no price for smaller ones."""
    if expected.prices.place.code != yard.slug:
        return None
    price = expected.prices.price(grade, lots(ticket)[grade])
    if price is None or price.shown.basis.kind != "yard":
        return None
    return price.shown.from_weight
