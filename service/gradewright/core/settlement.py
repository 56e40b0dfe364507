"""A scale ticket held against what was expected: where the difference comes from, to the minor unit.

What belongs together is a group: bins, as they were expected, and the lines of the ticket that stand for
them. Of a group, W is the expected weight and P the expected price (of several bins the average by weight).
Of each line, s is what the scale showed, d what was deducted, n = s - d, p the price that was paid, and E
the expected price of the grade that it was accepted as. Then what the lines should come to, sum n p,
differs from W P by

    weight       (sum s - W) P     at the expected price
    deductions   - sum d P         at the expected price; and the charges
    grade        sum n (E - P)     at the accepted weight and expected prices
    price        sum n (p - E)     at the accepted weight

Where E is not known, n (p - P) cannot be told apart: `grade_or_price`. Besides: `missing`, bins that no
line stands for; `unexpected`, lines that stand for no bin; `unpriced`, groups with a bin of which no price
was known; `arithmetic`, what the ticket says less what it should say by its own figures; and `rounding`,
what is left of fractions of the minor unit, and the step of cash. All of them add up to the difference.

The order is that of the usual analysis of sales into volume, mix and price, volume first at standard
prices, in textbooks of management accounting (from memory; no worked example with figures was found to hold
it against).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal
from fractions import Fraction

from gradewright.core.money import Rounding
from gradewright.core.rates import Rate
from gradewright.core.ticket import (
    Flaw,
    Ticket,
    TicketLine,
    exact,
    flaws_of,
    per_gram,
    right_amount,
    to_minor,
)
from gradewright.core.valued import Terms

METHODS = ("1", "2", "3")
"""The ways of settling: a change of any formula is a new one, so that what was kept can be repeated. By
method 2 bins without a price are not told to be paid as expected, and prices in two units may be the same;
by method 3 it is told where what was posted of one waits."""
METHOD = METHODS[-1]


@dataclass(frozen=True, slots=True)
class Bin:
    """What was expected to be sold as one: its weight, price and amount in minor units.

    `grade` is None where it was not known, `rate` and `amount` are where nobody has posted a price. `own`:
    its price is one that whoever sold it expected, and not one that was posted.
    """

    name: str
    grade: str | None
    grams: Decimal
    rate: Rate | None
    amount: int | None
    own: bool = False


@dataclass(frozen=True, slots=True)
class Effects:
    """Parts of a difference, in minor units."""

    weight: int = 0
    deductions: int = 0
    grade: int = 0
    price: int = 0
    grade_or_price: int = 0
    missing: int = 0
    unexpected: int = 0
    unpriced: int = 0
    rounding: int = 0
    arithmetic: int = 0

    @property
    def total(self) -> int:
        """All of them together."""
        return sum(getattr(self, each.name) for each in fields(self))

    def __add__(self, other: Effects) -> Effects:
        return Effects(*(getattr(self, e.name) + getattr(other, e.name) for e in fields(self)))


@dataclass(frozen=True, slots=True)
class Linked:
    """Bins and lines that belong together, by their places, from 0. One of the two may be empty."""

    bins: tuple[int, ...]
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """One such group, settled: amounts in minor units. `effects` add up to `paid` less `expected`."""

    linked: Linked
    expected: int
    paid: int
    effects: Effects


@dataclass(frozen=True, slots=True)
class Accepted:
    """How a bin was accepted: `share` is the part of its price that it was marked down by, 0 if none. Prices
    are those that were posted.
    """

    grade: str
    share: Fraction


@dataclass(frozen=True, slots=True)
class Settlement:
    """The whole answer, amounts in minor units: `effects` add up to `paid` less `expected`."""

    groups: tuple[Group, ...]
    expected: int
    paid: int
    effects: Effects
    flaws: tuple[Flaw, ...]
    accepted: tuple[Accepted, ...]

    @property
    def difference(self) -> int:
        """Paid less expected."""
        return self.paid - self.expected


def linked(
    grades: Sequence[str | None], bins: Sequence[Bin], by_hand: Mapping[int, Sequence[int]]
) -> list[Linked]:
    """The groups: a line goes to the bins named by hand, or else to the bin of its grade.

    `grades`: what the lines were accepted as. In the order of the bins, then the lines that stand for none.
    """
    of_grade = {each.grade: place for place, each in enumerate(bins) if each.grade is not None}
    home = list(range(len(bins)))  # the first bin of the group that each is in

    def first(place: int) -> int:
        while home[place] != place:
            place = home[place]
        return place

    goes_to: dict[int, int] = {}
    for line, grade in enumerate(grades):
        named = by_hand.get(line, ())
        meant = named or ([of_grade[grade]] if grade in of_grade else [])
        for place in meant:
            low, high = sorted((first(meant[0]), first(place)))
            home[high] = low
            goes_to[line] = place
    groups: dict[int, tuple[list[int], list[int]]] = {}
    for place in range(len(bins)):
        groups.setdefault(first(place), ([], []))[0].append(place)
    for line, place in goes_to.items():
        groups[first(place)][1].append(line)
    together = [Linked(tuple(places), tuple(lines)) for places, lines in groups.values()]
    return [*together, *(Linked((), (line,)) for line in range(len(grades)) if line not in goes_to)]


def settle(
    ticket: Ticket, bins: Sequence[Bin], groups: Sequence[Linked], expected: Mapping[str, Rate], terms: Terms
) -> Settlement:
    """The settlement of a ticket. `expected`: the posted price of each grade that was brought, or that lines
    were accepted as; where a grade has a bin with a price, that of the bin goes before it, but for how it was
    accepted. `terms`: how the yard rounds.
    """
    work = _Work(ticket, bins, expected, terms)
    done = tuple(work.settled(group) for group in groups)
    whole = sum((group.effects for group in done), _below_the_line(ticket, terms))
    total = sum(each.amount or 0 for each in bins)
    accepted = tuple(one for group in done for one in work.accepted(group.linked))
    found = Settlement(done, total, ticket.paid, whole, flaws_of(ticket, terms), accepted)
    if found.effects.total != found.difference:
        raise AssertionError("the parts of a settlement add up to its difference")
    return found


class _Work:
    """What the groups of one settlement share."""

    def __init__(
        self, ticket: Ticket, bins: Sequence[Bin], expected: Mapping[str, Rate], terms: Terms
    ) -> None:
        self.ticket = ticket
        self.bins = bins
        self.terms = terms
        posted = {
            **expected,
            **{each.grade: each.rate for each in bins if each.grade and each.rate and not each.own},
        }
        rates = {**posted, **{each.grade: each.rate for each in bins if each.grade and each.rate}}
        self.expected = {grade: per_gram(rate, ticket.currency) for grade, rate in rates.items()}
        self.posted = {grade: per_gram(rate, ticket.currency) for grade, rate in posted.items()}

    def settled(self, group: Linked) -> Group:
        """One group, with its difference split."""
        bins, lines = self._of(group)
        expected = sum(each.amount or 0 for each in bins)
        paid = sum(line.amount for line in lines)
        right = sum(right_amount(line, self.ticket.currency, self.terms.rounding) for line in lines)
        wrong = paid - right
        if not lines:
            effects = Effects(missing=-expected)
        elif not bins:
            effects = Effects(unexpected=right, arithmetic=wrong)
        elif any(each.rate is None for each in bins):
            effects = Effects(unpriced=right - expected, arithmetic=wrong)
        else:
            effects = self._split(bins, lines) + Effects(arithmetic=wrong)
            effects += Effects(rounding=paid - expected - effects.total)
        return Group(group, expected, paid, effects)

    def accepted(self, group: Linked) -> list[Accepted]:
        """How the bins were accepted, where that can be told: one bin, or one line, and all prices known."""
        bins, lines = self._of(group)
        if not bins or not lines or (len(bins) > 1 and len(lines) > 1):
            return []
        found = []
        for each in bins:
            if each.grade is not None and each.rate is not None and each.rate.price > 0:
                share = self._marked_down(each.grade, lines)
                found += [] if share is None else [Accepted(each.grade, share)]
        return found

    def _marked_down(self, grade: str, lines: Sequence[TicketLine]) -> Fraction | None:
        """The share of a grade's price that it is less than; None where not all prices are known."""
        if all(line.grade == grade for line in lines):
            return Fraction(0)
        brought = self.posted.get(grade)
        taken = promised = Fraction(0)
        for line in lines:
            accepted, weight = self.posted.get(line.grade or ""), exact(line.right_net)
            if accepted is None or brought is None or brought <= 0:
                return None
            taken, promised = taken + weight * accepted, promised + weight * brought
        return max(Fraction(0), 1 - taken / promised)

    def _of(self, group: Linked) -> tuple[list[Bin], list[TicketLine]]:
        return [self.bins[place] for place in group.bins], [self.ticket.lines[place] for place in group.lines]

    def _split(self, bins: Sequence[Bin], lines: Sequence[TicketLine]) -> Effects:
        currency = self.ticket.currency
        weight = sum((exact(each.grams) for each in bins), Fraction(0))
        worth = sum((_worth(each, currency) for each in bins), Fraction(0))
        price = worth / weight
        on_scale = sum((exact(line.scale) for line in lines), Fraction(0))
        deducted = sum((exact(line.deduction) for line in lines), Fraction(0))
        by_grade = by_price = by_either = Fraction(0)
        for line in lines:
            net, paid = exact(line.right_net), per_gram(line.rate, currency)
            accepted = self.expected.get(line.grade or "")
            if accepted is None:
                by_either += net * (paid - price)
            else:
                by_grade += net * (accepted - price)
                by_price += net * (paid - accepted)
        return Effects(
            weight=_whole((on_scale - weight) * price),
            deductions=_whole(-deducted * price),
            grade=_whole(by_grade),
            price=_whole(by_price),
            grade_or_price=_whole(by_either),
        )


def _below_the_line(ticket: Ticket, terms: Terms) -> Effects:
    """What is not in any line: charges, a sum that is wrong, and cash."""
    charged = sum(charge.amount for charge in ticket.charges)
    wrong = ticket.total - ticket.right_total
    if ticket.cash is None:
        return Effects(deductions=-charged, arithmetic=wrong)
    cash = ticket.right_cash(terms)
    return Effects(deductions=-charged, rounding=cash - ticket.total, arithmetic=wrong + ticket.cash - cash)


def _worth(each: Bin, currency: str) -> Fraction:
    if each.rate is None:
        raise AssertionError("only bins with a price are split")
    return exact(each.grams) * per_gram(each.rate, currency)


def _whole(amount: Fraction) -> int:
    return to_minor(amount, Rounding.HALF_EVEN)
