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

Of two bins, of which a line of the one has some of the other (`core.moved`), each is split by itself, with
what moved at its own prices. Where E is not known, n (p - P) cannot be told apart: `grade_or_price`.
Besides: `missing`, bins that no line stands for; `unexpected`, lines that stand for no bin; `unpriced`,
groups with a bin of which no price was known; `arithmetic`, what the ticket says less what it should say by
its own figures; and `rounding`, what is left of fractions of the minor unit, and the step of cash. All of
them add up to the difference.

The order is that of the usual analysis of sales into quantity, mix and price, quantity first at standard
prices, in textbooks of management accounting; worked examples of some are in
`tests/checks/test_settlement_published.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from fractions import Fraction
from operator import add, attrgetter

from gradewright.core.linked import Bin, Linked, Moved
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
by method 3 it is told where what was posted of one waits, and what of a bin was accepted as a cheaper grade
that was brought too is no missing weight."""
METHOD = METHODS[-1]


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
        return sum(_amounts(self))

    def named(self) -> dict[str, int]:
        """Each by its name."""
        return dict(zip(PARTS, _amounts(self), strict=True))

    def __add__(self, other: Effects) -> Effects:
        return Effects(*map(add, _amounts(self), _amounts(other)))


PARTS = tuple(each.name for each in fields(Effects))
_amounts: Callable[[Effects], tuple[int, ...]] = attrgetter(*PARTS)


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


def settle(
    ticket: Ticket,
    bins: Sequence[Bin],
    groups: Sequence[Linked],
    expected: Mapping[str, Rate],
    terms: Terms,
    moved: Sequence[Moved] = (),
) -> Settlement:
    """The settlement of a ticket. `expected`: the posted price of each grade that was brought, or that lines
    were accepted as; where a grade has a bin with a price, that of the bin goes before it, but for how it was
    accepted. `terms`: how the yard rounds. `moved`: what of a bin is on lines of another one; the two are one
    group.
    """
    work = _Work(ticket, bins, expected, terms, moved)
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
        self,
        ticket: Ticket,
        bins: Sequence[Bin],
        expected: Mapping[str, Rate],
        terms: Terms,
        moved: Sequence[Moved],
    ) -> None:
        self.ticket = ticket
        self.bins = bins
        self.terms = terms
        self.moved = {frozenset({each.bin, each.into}): each for each in moved}
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
            effects = self._split(group) + Effects(arithmetic=wrong)
            effects += Effects(rounding=paid - expected - effects.total)
        return Group(group, expected, paid, effects)

    def accepted(self, group: Linked) -> list[Accepted]:
        """How the bins were accepted, where that can be told: one bin, or one line, or the weights tell, and
        all prices known.
        """
        bins, lines = self._of(group)
        if not bins or not lines:
            return []
        if (at := self.moved.get(frozenset(group.bins))) is not None:
            return self._as_moved(at)
        if len(bins) > 1 and len(lines) > 1:
            return []
        taken = [(line.grade, exact(line.right_net)) for line in lines]
        return [one for each in bins for one in self._accepted(each, taken)]

    def _as_moved(self, at: Moved) -> list[Accepted]:
        """Each of two bins by its own lines, and by what of the one is on those of the other."""
        lower = self.bins[at.into].grade
        found = []
        for place, lines, grams in ((at.bin, at.of_bin, at.grams), (at.into, at.of_into, -at.grams)):
            own = [self.ticket.lines[line] for line in lines]
            taken = [*((line.grade, exact(line.right_net)) for line in own), (lower, grams)]
            if sum(weight for _, weight in taken) > 0:
                found += self._accepted(self.bins[place], taken)
        return found

    def _accepted(self, each: Bin, taken: Sequence[tuple[str | None, Fraction]]) -> list[Accepted]:
        if each.grade is None or each.rate is None or each.rate.price <= 0:
            return []
        share = self._marked_down(each.grade, taken)
        return [] if share is None else [Accepted(each.grade, share)]

    def _marked_down(self, grade: str, taken: Sequence[tuple[str | None, Fraction]]) -> Fraction | None:
        """The share of a grade's price that it is less than; None where not all prices are known."""
        if all(lower == grade for lower, _ in taken):
            return Fraction(0)
        brought = self.posted.get(grade)
        worth = promised = Fraction(0)
        for lower, weight in taken:
            accepted = self.posted.get(lower or "")
            if accepted is None or brought is None or brought <= 0:
                return None
            worth, promised = worth + weight * accepted, promised + weight * brought
        return max(Fraction(0), 1 - worth / promised)

    def _of(self, group: Linked) -> tuple[list[Bin], list[TicketLine]]:
        return [self.bins[place] for place in group.bins], [self.ticket.lines[place] for place in group.lines]

    def _split(self, group: Linked) -> Effects:
        bins, lines = self._of(group)
        sold = [_sold(line, self.ticket.currency) for line in lines]
        at = self.moved.get(frozenset(group.bins))
        if at is None:
            return Effects(**{name: _whole(amount) for name, amount in self._parts(bins, sold).items()})
        # Each bin by itself, so that what moved differs by its own two prices and not by an average.
        line_of = dict(zip(group.lines, sold, strict=True))
        upper = [line_of[line] for line in at.of_bin] + _taken(line_of, at, at.grams)
        lower = [line_of[line] for line in at.of_into] + _taken(line_of, at, -at.grams)
        one, other = self._parts([self.bins[at.bin]], upper), self._parts([self.bins[at.into]], lower)
        return Effects(**{name: _whole(amount + other[name]) for name, amount in one.items()})

    def _parts(self, bins: Sequence[Bin], sold: Sequence[_Sold]) -> dict[str, Fraction]:
        weight = sum((exact(each.grams) for each in bins), Fraction(0))
        worth = sum((_worth(each, self.ticket.currency) for each in bins), Fraction(0))
        price = worth / weight
        on_scale = sum((each.scale for each in sold), Fraction(0))
        found = dict.fromkeys(("grade", "price", "grade_or_price"), Fraction(0))
        for each in sold:
            net, accepted = each.scale - each.deduction, self.expected.get(each.grade or "")
            if accepted is None:
                found["grade_or_price"] += net * (each.paid - price)
            else:
                found["grade"] += net * (accepted - price)
                found["price"] += net * (each.paid - accepted)
        deducted = sum((each.deduction for each in sold), Fraction(0))
        return {"weight": (on_scale - weight) * price, "deductions": -deducted * price, **found}


@dataclass(frozen=True, slots=True)
class _Sold:
    """What a line comes to, in grams and minor units for each; below zero what is told elsewhere."""

    grade: str | None
    scale: Fraction
    deduction: Fraction
    paid: Fraction


def _sold(line: TicketLine, currency: str) -> _Sold:
    return _Sold(line.grade, exact(line.scale), exact(line.deduction), per_gram(line.rate, currency))


def _taken(line_of: Mapping[int, _Sold], at: Moved, grams: Fraction) -> list[_Sold]:
    """So many grams of the lines that have some of another bin, of each by its weight; nothing of what was
    deducted, of which nobody knows from which it was.
    """
    whole = sum((line_of[line].scale for line in at.lines), Fraction(0))
    return [
        replace(line_of[line], scale=grams * line_of[line].scale / whole, deduction=Fraction(0))
        for line in at.lines
    ]


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
