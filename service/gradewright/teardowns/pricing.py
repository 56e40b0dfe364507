"""What each part of a device, and what is left over of it, is paid as it is.

A grade has one price in the whole of an answer: that for the lot that was named for it, else for a lot as
heavy as the heaviest single part of that grade, or as what is left over once all parts are off. So no plan
rests on a better price for piles that only another plan would make; where the plan's own pile reaches one,
its answer says so.

A part that is undecided counts as the cheapest of what it can still be, and as the dearest at its high end. A
part that nobody pays for, or whose price nobody knows, counts as nothing, and is named.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.decimals import ROUNDING
from gradewright.core.grading import Undecided
from gradewright.core.money import minor_per_unit
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.teardown.tree import Node, Opening, Pay, Span, Tree
from gradewright.core.valuation import value
from gradewright.core.valued import Line, Terms
from gradewright.core.valued import Part as ValuedPart
from gradewright.rulebooks.service import Version
from gradewright.teardowns.given import PIECE_BY_PIECE
from gradewright.teardowns.reading import Left, Part

VALUED_BY = "3"
"""The method of valuing by which what a part can still be is told: part of the method of teardowns."""
NOTHING_KNOWN = "nothing was observed of it and no grade named: look at it, or name what a yard takes it as"
NOTHING_LEFT = "nobody said what is left over is taken as: name its grade, or what it costs to be rid of it"
MILLIGRAMS = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Paid:
    """What something is paid (None: nobody knows), the price behind it, and why it has none."""

    pay: Pay | None
    price: Price | None = None
    unpriced: str | None = None


@dataclass(frozen=True, slots=True)
class Offer:
    """A part with what it is paid as it is, and what is left over of it. `line`: where it has no grade. What
    it is paid where it is the dearest that it can be, `dearest`, and what it is then, `at_best`, are of what
    is undecided.
    """

    part: Part
    whole: Paid
    left: Paid | None
    line: Line | None
    dearest: Pay | None = None
    at_best: str | None = None


class Pricing:
    """The prices of one answer."""

    def __init__(
        self,
        version: Version,
        prices: PriceList,
        terms: Terms,
        parts: Sequence[Part],
        lots: Mapping[str, Decimal],
        *,
        waiting: bool,
        less_parts: bool,
    ) -> None:
        """`waiting`: of a grade without a price it is told where what was posted of it waits. `less_parts`:
        what is left over and was not weighed is a lot as heavy as the piece less its parts, not as all of it.
        """
        self.version, self.prices = version, prices
        self._waiting = waiting
        self.minor = minor_per_unit(prices.currency)
        self._undecided = self._look(parts, terms)
        self._lots = self._heaviest(parts, less_parts=less_parts) | dict(lots)
        self._paid: dict[str, Paid] = {}
        self.offers = tuple(map(self._offer, parts))

    def tree(self) -> Tree:
        """The device as the core takes it."""
        nodes = []
        for offer in self.offers:
            part = offer.part
            given = part.given
            minutes = Fraction(0 if given.minutes is None else given.minutes) * part.pieces
            opening = self._opening(offer)
            nodes.append(
                Node(part.inside, part.grams, offer.whole.pay, opening, minutes, given.must_come_off)
            )
        return Tree(tuple(nodes))

    def of(self, grade: str) -> Paid:
        """What a grade is paid here."""
        found = self._paid.get(grade)
        if found is None:
            price = self.prices.price(grade, self._lots.get(grade, Decimal(0)))
            if price is None:
                found = Paid(None, None, self.prices.why_unpriced(grade, waiting=self._waiting))
            else:
                found = Paid(Pay(each_gram(price), price=grade), price)
            self._paid[grade] = found
        return found

    def _opening(self, offer: Offer) -> Opening | None:
        part, opens = offer.part, offer.part.given.opens
        if opens is None:
            return None
        return Opening(
            minutes=Fraction(opens.minutes) * part.pieces,
            one_by_one=opens.how == PIECE_BY_PIECE,
            left=None if offer.left is None else offer.left.pay,
            left_grams=None if part.left is None else part.left.grams,
            cost=Fraction(opens.cost) * self.minor * part.pieces,
        )

    def _offer(self, part: Part) -> Offer:
        line = self._undecided.get(part.number)
        left = None
        if part.given.opens is not None:
            left = Paid(None, None, NOTHING_LEFT) if part.left is None else self._left(part.left, part.pieces)
        if line is not None:
            least, dearest, at_best = self._ends(part, line)
            return Offer(part, Paid(least, None, line.unpriced), left, line, dearest, at_best)
        whole = Paid(None, None, NOTHING_KNOWN) if part.grade is None else self.of(part.grade)
        return Offer(part, whole, left, None)

    def _left(self, left: Left, pieces: int) -> Paid:
        if left.grade is not None:
            return self.of(left.grade)
        charge = left.given.charge
        if charge is None:
            return Paid(None, None, NOTHING_LEFT)
        minor = -Fraction(charge) * self.minor
        if left.per_grams is None:
            return Paid(Pay(fixed=Span.exactly(minor * pieces)))
        return Paid(Pay(Span.exactly(minor / left.per_grams)))

    def _look(self, parts: Sequence[Part], terms: Terms) -> dict[int, Line]:
        """What the parts without a grade can still be, and what to find out next of them."""
        vague = [part for part in parts if part.description is not None and part.grade is None]
        if not vague:
            return {}
        valued = [
            ValuedPart(part.given.name, part.pieces, grams, grams.as_integer_ratio(), None, part.description)
            for part in vague
            for grams in [in_milligrams(part.grams.likely)]
        ]
        lines = value(valued, self.version.grader, self.prices, terms, VALUED_BY).lines
        return {part.number: line for part, line in zip(vague, lines, strict=True)}

    def _ends(self, part: Part, line: Line) -> tuple[Pay | None, Pay | None, str | None]:
        """What an undecided part is paid as the cheapest, and as the dearest, that it can be, each up to the
        highest price of all; and which grade the dearest is. None where it may be nothing at all.
        """
        outcome = part.description.outcome if part.description is not None else None
        if not isinstance(outcome, Undecided) or outcome.may_be_ungraded:
            return None, None, None
        lot = in_milligrams(part.grams.likely)
        found = {candidate.grade: self.prices.price(candidate.grade, lot) for candidate in line.candidates}
        each = {grade: each_gram(price) for grade, price in found.items() if price is not None}
        if len(each) < len(found):
            return None, None, None
        lows, likelies, highs = zip(*each.values(), strict=True)
        at_best = max(each, key=lambda grade: each[grade].likely)
        least, most = (Pay(Span(min(lows), end(likelies), max(highs))) for end in (min, max))
        return least, most, at_best

    @staticmethod
    def _heaviest(parts: Sequence[Part], *, less_parts: bool) -> dict[str, Decimal]:
        found: dict[str, Fraction] = {}
        inner = dict.fromkeys((part.number for part in parts), Fraction(0))
        for part in parts if less_parts else ():
            if part.inside is not None:
                inner[part.inside] += part.grams.likely
        for part in parts:
            if part.grade is not None:
                found[part.grade] = max(found.get(part.grade, Fraction(0)), part.grams.likely)
            left = part.left
            if left is not None and left.grade is not None:
                grams = part.grams.likely - inner[part.number]
                if left.grams is not None:
                    grams = left.grams.likely
                found[left.grade] = max(found.get(left.grade, Fraction(0)), grams)
        return {grade: in_milligrams(grams) for grade, grams in found.items()}


def each_gram(price: Price) -> Span:
    """A price in minor units for each gram."""
    low, likely, high, under = price.scale
    return Span(Fraction(low, under), Fraction(likely, under), Fraction(high, under))


def in_milligrams(grams: Fraction) -> Decimal:
    """A weight as a decimal: exact where it has an end, else to the milligram."""
    exact = ROUNDING.divide(Decimal(grams.numerator), Decimal(grams.denominator))
    if Fraction(exact) == grams:
        return exact
    return exact.quantize(MILLIGRAMS, context=ROUNDING)
