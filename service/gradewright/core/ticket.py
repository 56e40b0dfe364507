"""A scale ticket as it was handed out, and whether it adds up by its own figures.

A line's net weight is gross less tare less what was deducted; its amount is net times price, rounded by the
yard's rule; the total is the sum of the amounts less the charges; a total paid in cash is rounded to the
yard's step. What a line should have come to, `right_amount`, takes the net that it should have had.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.decimals import EXACT
from gradewright.core.money import TO_WHOLE, Rounding, minor_as_decimal, minor_per_unit, round_cash
from gradewright.core.rates import Rate
from gradewright.core.valued import Terms

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class TicketLine:
    """One line: masses in grams, the amount in minor units. `grade`: what it was accepted as, where known.

    Where the ticket has no gross weight, the net is taken as it stands.
    """

    label: str
    net: Decimal
    rate: Rate
    amount: int
    grade: str | None = None
    gross: Decimal | None = None
    tare: Decimal = ZERO
    deduction: Decimal = ZERO

    @property
    def scale(self) -> Decimal:
        """What the scale showed of the goods alone, before anything was deducted."""
        if self.gross is None:
            return EXACT.add(self.net, self.deduction)
        return EXACT.subtract(self.gross, self.tare)

    @property
    def right_net(self) -> Decimal:
        """The net weight that follows from the other weights."""
        return EXACT.subtract(self.scale, self.deduction)


@dataclass(frozen=True, slots=True)
class Charge:
    """Something that was taken off besides weights, in minor units; below zero what was added."""

    label: str
    amount: int


@dataclass(frozen=True, slots=True)
class Ticket:
    """All of a ticket; amounts in minor units of `currency`. `cash`: what was paid out in coins and notes."""

    currency: str
    lines: tuple[TicketLine, ...]
    total: int
    charges: tuple[Charge, ...] = ()
    cash: int | None = None

    @property
    def paid(self) -> int:
        """What was paid."""
        return self.total if self.cash is None else self.cash

    @property
    def right_total(self) -> int:
        """The sum of the amounts as they stand, less the charges."""
        return sum(line.amount for line in self.lines) - sum(charge.amount for charge in self.charges)

    def right_cash(self, terms: Terms) -> int:
        """The total as it stands, in the steps that the yard pays in cash; itself where it has none."""
        if terms.cash_increment is None:
            return self.total
        cash = round_cash(minor_as_decimal(self.total, self.currency), terms.cash_increment)
        return int(EXACT.multiply(cash, Decimal(minor_per_unit(self.currency))))


@dataclass(frozen=True, slots=True)
class Flaw:
    """Where a ticket does not add up: about "net" (in grams), "amount", "total" or "cash" (in minor units).

    `rule`: the way of rounding by which the amount would be right, where it is not the yard's.
    """

    about: str
    line: int | None
    stated: Decimal
    right: Decimal
    rule: Rounding | None = None


def exact(number: Decimal) -> Fraction:
    """A decimal as a fraction."""
    return Fraction(*number.as_integer_ratio())


def per_gram(rate: Rate, currency: str) -> Fraction:
    """Minor units for each gram."""
    return Fraction(*rate.ratio(minor_per_unit(currency)))


def to_minor(amount: Fraction, rule: Rounding) -> int:
    """An amount in whole minor units."""
    return TO_WHOLE[rule](amount.numerator, amount.denominator)


def right_amount(line: TicketLine, currency: str, rule: Rounding) -> int:
    """What a line should have come to, by its own weights and price."""
    return to_minor(exact(line.right_net) * per_gram(line.rate, currency), rule)


def flaws_of(ticket: Ticket, terms: Terms) -> tuple[Flaw, ...]:
    """All that does not add up, line by line and then below the line; empty where the ticket holds."""
    found = [
        flaw for number, line in enumerate(ticket.lines, 1) for flaw in _flaws(ticket, number, line, terms)
    ]
    if ticket.total != ticket.right_total:
        found.append(Flaw("total", None, Decimal(ticket.total), Decimal(ticket.right_total)))
    if ticket.cash is not None and ticket.cash != ticket.right_cash(terms):
        found.append(Flaw("cash", None, Decimal(ticket.cash), Decimal(ticket.right_cash(terms))))
    return tuple(found)


def _flaws(ticket: Ticket, number: int, line: TicketLine, terms: Terms) -> Iterator[Flaw]:
    if line.net != line.right_net:
        yield Flaw("net", number, line.net, line.right_net)
    comes_to = exact(line.net) * per_gram(line.rate, ticket.currency)
    right = to_minor(comes_to, terms.rounding)
    if line.amount != right:
        rule = next((rule for rule in Rounding if to_minor(comes_to, rule) == line.amount), None)
        yield Flaw("amount", number, Decimal(line.amount), Decimal(right), rule)
