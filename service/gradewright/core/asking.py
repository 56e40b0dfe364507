"""What to find out next about a part that is not decided yet.

Of the attributes that are not known, the one whose answer narrows the spread of price between the grades
still possible by the most per minute of testing. Every distinguishable answer that the part can still give
counts alike.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from decimal import Decimal
from typing import NamedTuple

from gradewright.core.decimals import ROUNDING
from gradewright.core.decision import Axis
from gradewright.core.grading import Grader, Reading
from gradewright.core.observations import Attribute

Worth = Mapping[str, Decimal]
NOTHING = Decimal(0)
SOONEST = Decimal("0.05")  # minutes: looking is never free, so that two free looks can be compared


class Spread(NamedTuple):
    """How far apart the possible outcomes are: in price, and in the number of grades less one."""

    price: Decimal
    grades: int


class Asker:
    """Chooses tests by one set of prices, and remembers what it has worked out: lists ask alike questions."""

    def __init__(self, grader: Grader, worth: Worth) -> None:
        """`worth` has a price per kilogram for the grades that have one; no price counts as nothing."""
        self._grader = grader
        self._index = grader.index
        bits: dict[str, int] = {}
        for number, rule in enumerate(grader.rulebook.rules, start=grader.index.first_rule):
            bits[rule.grade] = bits.get(rule.grade, 0) | 1 << number
        # Each grade's rules, cheapest first: the first and the last that are possible are the spread.
        priced = ((worth.get(grade, NOTHING), rules) for grade, rules in bits.items())
        self._by_price = sorted(priced, key=lambda pair: pair[0])
        self._spreads: dict[tuple[int, bool], Spread] = {}
        self._chosen: dict[tuple[int, int, frozenset[str]], Attribute | None] = {}

    def next_test(self, reading: Reading, skip: Collection[str] = ()) -> Attribute | None:
        """The attribute to look at next, or None if none can change the outcome.

        `skip` names what nobody can tell about this part.
        """
        relevant = reading.possible & (self._index.rule_bits | self._index.impossible_bits)
        key = (relevant, reading.known, frozenset(skip))
        if key not in self._chosen:
            self._chosen[key] = self._choose(reading, key[2])
        return self._chosen[key]

    def _choose(self, reading: Reading, skip: frozenset[str]) -> Attribute | None:
        now = self._spread(reading.possible, reading.known)
        best: tuple[tuple[Decimal, Decimal], Attribute] | None = None
        for axis in self._open_axes(reading):
            if axis.attribute.name in skip:
                continue
            gain = self._gain(reading, axis, now)
            if gain is not None and (best is None or gain > best[0]):
                best = (gain, axis.attribute)
        return best[1] if best is not None else None

    def _open_axes(self, reading: Reading) -> Iterator[Axis]:
        """The unknown attributes that tell at least two possible rules apart, in the document's order."""
        rules = reading.possible & (self._index.rule_bits | self._index.impossible_bits)
        for axis in self._index.axes.values():
            if not reading.known & axis.bit and len({rules & mask for mask in axis.masks}) > 1:
                yield axis

    def _gain(self, reading: Reading, axis: Axis, now: Spread) -> tuple[Decimal, Decimal] | None:
        """By how much an answer narrows the spread on average, per minute; None if there is one only."""
        known = reading.known | axis.bit
        can_be = self._grader.completions.can_be
        branches = [branch for mask in axis.masks if can_be(branch := reading.possible & mask, known)]
        if len(set(branches)) < 2:
            return None
        price, grades = NOTHING, 0
        for branch in branches:
            left = self._spread(branch, known)
            price, grades = ROUNDING.add(price, left.price), grades + left.grades
        count = len(branches)
        minutes = ROUNDING.multiply(max(axis.attribute.minutes, SOONEST), Decimal(count))
        narrowed = ROUNDING.subtract(ROUNDING.multiply(now.price, Decimal(count)), price)
        fewer = Decimal(now.grades * count - grades)
        return ROUNDING.divide(narrowed, minutes), ROUNDING.divide(fewer, minutes)

    def _spread(self, possible: int, known: int) -> Spread:
        """The spread among what may still be reached: the possible rules down to the first certain one."""
        rules = possible & self._index.rule_bits
        certain = rules & self._index.settled(known)
        if certain:
            rules &= ((certain & -certain) << 1) - 1
        key = (rules, not certain)
        found = self._spreads.get(key)
        if found is None:
            prices = [price for price, bits in self._by_price if rules & bits]
            if not certain:  # it may also come out as nothing that the rulebook knows
                prices = sorted((*prices, NOTHING))
            found = Spread(ROUNDING.subtract(prices[-1], prices[0]), len(prices) - 1)
            self._spreads[key] = found
        return found


def next_test(grader: Grader, reading: Reading, worth: Worth, skip: Collection[str] = ()) -> Attribute | None:
    """`Asker.next_test` for one part."""
    return Asker(grader, worth).next_test(reading, skip)
