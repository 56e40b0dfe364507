"""A scale ticket held against what was expected: where the difference comes from, to the minor unit.

What belongs together is a group: bins, as they were expected, and the lines of the ticket that stand for
them. W is what was expected of a bin, and B its expected price. Of each line, s is what the scale showed, d
what was deducted, n = s - d, p the price that was paid, P the expected price of what it is, and E that of
the grade that it was accepted as. Then what the lines should come to, sum n p, differs from sum W B by

    weight       sum s P - sum W B   at the expected price
    deductions   - sum d P           at the expected price; and the charges
    grade        sum n (E - P)       at the accepted weight and expected prices
    price        sum n (p - E)       at the accepted weight

P is B where a line stands for one bin. Of lines that stand for several, it is the average of what they have
of each (`core.filled`); by methods 1 to 3 it was that of all bins of the group, by weight, for every line of
it. Of two bins, of which a line of the one has some of the other (`core.moved`), each is split by itself,
with what moved at its own prices. Where E is not known, n (p - P) cannot be told apart: `grade_or_price`.
Besides: `missing`, bins that no line stands for; `unexpected`, lines that stand for no bin; `unpriced`,
groups with a bin of which no price was known; `arithmetic`, what the ticket says less what it should say by
its own figures; and `rounding`, what is left of fractions of the minor unit, and the step of cash. All of
them add up to the difference.

The order is that of the usual analysis of sales into quantity, mix and price, quantity first at standard
prices, in textbooks of management accounting; worked examples of some are in
`tests/checks/test_settlement_published.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradewright.core.accepted import Accepted, Accepting, MarkedDown
from gradewright.core.divided import divided
from gradewright.core.effects import Effects
from gradewright.core.filled import Together, filled
from gradewright.core.linked import Bin, Linked, Moved
from gradewright.core.money import Rounding
from gradewright.core.rates import Rate
from gradewright.core.sold import Sold, as_moved, parts, prices_of, sold
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

METHODS = ("1", "2", "3", "4", "5", "6")
"""The ways of settling: a change of any formula is a new one, so that what was kept can be repeated. By
method 2 bins without a price are not told to be paid as expected, and prices in two units may be the same;
by method 3 it is told where what was posted of one waits, and what of a bin was accepted as a cheaper grade
that was brought too is no missing weight; by method 4 bins of one group are each split at their own price,
and what may have been marked down to a grade that was not brought is told; by method 5 what two scales may
differ by is never told to have been marked down, also where both bins are off by the same, and what lines
have of a dearer bin by hand is told as marked down; and that a valuation is for another day or place; by
method 6 nothing is told to have been marked down that scales leave open which may be coarser than they print,
and the weights of a valuation are as fine as they were written, and what lines of several bins have of each
is told with what it can be; a line may be of some of the bins that are short, and it is asked whether what
was deducted of one is on the line of another."""
METHOD = METHODS[-1]
SHARES_ARE_SURE = frozenset({"1", "2", "3", "4", "5"})
"""The methods that took one way to divide lines among several bins for the only one."""
AT_THE_AVERAGE = frozenset({"1", "2", "3"})
"""The methods by which all bins of a group had their average price."""


@dataclass(frozen=True, slots=True)
class Group:
    """One such group, settled: amounts in minor units. `effects` add up to `paid` less `expected`."""

    linked: Linked
    expected: int
    paid: int
    effects: Effects


@dataclass(frozen=True, slots=True)
class Settlement:
    """The whole answer, amounts in minor units: `effects` add up to `paid` less `expected`. `marked_down`:
    what lines of another grade have of the bins that they stand for, or may have, but for what has moved.
    """

    groups: tuple[Group, ...]
    expected: int
    paid: int
    effects: Effects
    flaws: tuple[Flaw, ...]
    accepted: tuple[Accepted, ...]
    marked_down: tuple[MarkedDown, ...]

    @property
    def difference(self) -> int:
        """Paid less expected."""
        return self.paid - self.expected


def settle(
    ticket: Ticket,
    bins: Sequence[Bin],
    groups: Sequence[Linked],
    stands: Mapping[int, frozenset[int]],
    expected: Mapping[str, Rate],
    terms: Terms,
    moved: Sequence[Moved] = (),
    *,
    average: bool = False,
    shares_are_sure: bool = False,
) -> Settlement:
    """The settlement of a ticket. `stands`: the bins of each line. `expected`: the posted price of each grade
    that was brought, or that lines were accepted as; where a grade has a bin with a price, that of the bin
    goes before it, but for how it was accepted. `terms`: how the yard rounds. `moved`: what of a bin is on
    lines of another one; the two are one group. `average`: all lines of a group are of its average price;
    `shares_are_sure`: of each bin is on lines of several what one way of dividing them says.
    """
    work = _Work(ticket, bins, stands, expected, terms, moved, average, shares_are_sure)
    done = tuple(work.settled(group) for group in groups)
    whole = sum((group.effects for group in done), _below_the_line(ticket, terms))
    total = sum(each.amount or 0 for each in bins)
    accepted = tuple(one for group in done for one in work.accepted(group.linked))
    down = tuple(one for group in done for one in work.marked_down(group.linked))
    found = Settlement(done, total, ticket.paid, whole, flaws_of(ticket, terms), accepted, down)
    if found.effects.total != found.difference:
        raise AssertionError("the parts of a settlement add up to its difference")
    return found


class _Work:
    """What the groups of one settlement share."""

    def __init__(
        self,
        ticket: Ticket,
        bins: Sequence[Bin],
        stands: Mapping[int, frozenset[int]],
        expected: Mapping[str, Rate],
        terms: Terms,
        moved: Sequence[Moved],
        average: bool,
        shares_are_sure: bool,
    ) -> None:
        self.ticket = ticket
        self.bins = bins
        self.stands = stands
        self.terms = terms
        self.moved = {frozenset({each.bin, each.into}): each for each in moved}
        self.average = average
        self.shares_are_sure = shares_are_sure
        posted = {
            **expected,
            **{each.grade: each.rate for each in bins if each.grade and each.rate and not each.own},
        }
        rates = {**posted, **{each.grade: each.rate for each in bins if each.grade and each.rate}}
        self.expected = {grade: per_gram(rate, ticket.currency) for grade, rate in rates.items()}
        paid = {grade: per_gram(rate, ticket.currency) for grade, rate in posted.items()}
        self.accepting = Accepting(bins, ticket.lines, paid)

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

    def accepted(self, group: Linked) -> Iterable[Accepted]:
        """How the bins were accepted."""
        if not group.bins or not group.lines:
            return []
        if (at := self.moved.get(frozenset(group.bins))) is not None:
            return self.accepting.as_moved(at)
        unsure = {self.bins[one.bin].grade for one in self.marked_down(group) if not one.certain}
        return (
            Accepted(one.grade, None) if one.grade in unsure else one
            for each in self._together(group)
            for one in self.accepting.together(each)
        )

    def marked_down(self, group: Linked) -> Iterable[MarkedDown]:
        """What was accepted as a grade that is paid less, or may have been, where nothing has moved."""
        if not group.bins or not group.lines or frozenset(group.bins) in self.moved:
            return []
        if self.shares_are_sure:
            return (one for each in self._together(group) for one in self.accepting.marked_down(each))
        lines = {line: self.ticket.lines[line] for line in group.lines}
        return divided(self.bins, lines, self.stands, self._together(group), self.accepting)

    def _of(self, group: Linked) -> tuple[list[Bin], list[TicketLine]]:
        return [self.bins[place] for place in group.bins], [self.ticket.lines[place] for place in group.lines]

    def _together(self, group: Linked) -> list[Together]:
        brought = {place: exact(self.bins[place].grams) for place in group.bins}
        lines = {line: (exact(self.ticket.lines[line].scale), self.stands[line]) for line in group.lines}
        return filled(brought, lines)

    def _split(self, group: Linked) -> Effects:
        currency = self.ticket.currency
        price = {place: _price(self.bins[place], currency) for place in group.bins}
        worth = sum((exact(self.bins[place].grams) * each for place, each in price.items()), Fraction(0))
        lines = {line: self.ticket.lines[line] for line in group.lines}
        of: Iterable[Sold]
        if (at := self.moved.get(frozenset(group.bins))) is not None:
            of = as_moved(at, lines, currency, price[at.bin], price[at.into])
        elif self.average:
            weight = sum(exact(self.bins[place].grams) for place in group.bins)
            of = [sold(line, currency, worth / weight) for line in lines.values()]
        else:
            each = prices_of(self._together(group), lines, price)
            of = [sold(line, currency, each[place]) for place, line in lines.items()]
        split = parts(worth, of, self.expected)
        return Effects(**{name: to_minor(amount, Rounding.HALF_EVEN) for name, amount in split.items()})


def _below_the_line(ticket: Ticket, terms: Terms) -> Effects:
    """What is not in any line: charges, a sum that is wrong, and cash."""
    charged = sum(charge.amount for charge in ticket.charges)
    wrong = ticket.total - ticket.right_total
    if ticket.cash is None:
        return Effects(deductions=-charged, arithmetic=wrong)
    cash = ticket.right_cash(terms)
    return Effects(deductions=-charged, rounding=cash - ticket.total, arithmetic=wrong + ticket.cash - cash)


def _price(each: Bin, currency: str) -> Fraction:
    if each.rate is None:
        raise AssertionError("only bins with a price are split")
    return per_gram(each.rate, currency)
