"""What each part of a device, and what is left over of it, is paid as it is.

Each place of a grade is a lot of its own: a part as heavy as it is, what is left over as heavy as it is once
all parts are off; or as heavy as the lot that was named for that grade, where that is more. So a price does
not depend on the plan, and no plan rests on a better one for piles that only another plan would make: sold
whole, a device is never a lot lighter than it is, and what is in it none that is heavier. What the piles of
the plans truly reach is told beside that (`piles`, `together`).

Up to method 4 a grade had one price in the whole of an answer, that for the heaviest single part of it.

A part that is undecided counts as the cheapest of what it can still be, and as the dearest at its high end. A
part that nobody pays for, or whose price nobody knows, counts as nothing, and is named.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.grading import Undecided
from gradewright.core.money import minor_per_unit
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.teardown.tree import NOTHING, Node, Opening, Pay, Span, Tree
from gradewright.core.units import parse_mass
from gradewright.core.valuation import value
from gradewright.core.valued import Line, Terms
from gradewright.core.valued import Part as ValuedPart
from gradewright.rulebooks.service import Version
from gradewright.teardowns.given import PIECE_BY_PIECE
from gradewright.teardowns.lots import NO_LOT, Lots, in_milligrams, left_grams
from gradewright.teardowns.reading import Left, Part

VALUED_BY = "3"
"""The method of valuing by which what a part can still be is told: part of the method of teardowns."""
NOTHING_KNOWN = "nothing was observed of it and no grade named: look at it, or name what a yard takes it as"
NOTHING_LEFT = "nobody said what is left over is taken as: name its grade, or what it costs to be rid of it"


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
        lots: Lots,
        *,
        waiting: bool,
    ) -> None:
        """`waiting`: of a grade without a price it is told where what was posted of it waits."""
        self.version, self.prices, self.lots = version, prices, lots
        self._waiting = waiting
        self.minor = minor_per_unit(prices.currency)
        self._undecided = self._look(parts, terms)
        self._offer_all(parts)

    def _offer_all(self, parts: Sequence[Part]) -> None:
        self._paid: dict[tuple[str, int], Paid] = {}
        self._behind: dict[str, tuple[str, Price]] = {}
        left = left_grams(parts)
        self.offers = tuple(self._offer(part, left[part.number]) for part in parts)

    def in_lots(self, floors: Mapping[str, Decimal]) -> Pricing:
        """The same with no lot of these grades lighter than that, nor than it was."""
        other, named = copy(self), self.lots.floors
        heavier = {grade: max(lot, named.get(grade, NO_LOT)) for grade, lot in floors.items()}
        other.lots = Lots({**named, **heavier}, own=self.lots.own)
        other._offer_all([offer.part for offer in self.offers])
        return other

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

    def of(self, grade: str, grams: Fraction = NOTHING) -> Paid:
        """What a grade is paid here, in a place that weighs so much."""
        price = self.prices.price(grade, self.lots.of(grade, grams))
        found = self._paid.get((grade, id(price)))
        if found is None:
            if price is None:
                found = Paid(None, None, self.prices.why_unpriced(grade, waiting=self._waiting))
            else:
                name = self.lots.price_name(grade, price)
                self._behind[name] = grade, price
                found = Paid(Pay(each_gram(price), price=name), price)
            self._paid[grade, id(price)] = found
        return found

    def behind(self, name: str) -> tuple[str, Price]:
        """The grade and the price behind the name of a price that can move."""
        return self._behind[name]

    def counted(self, grade: str) -> list[Paid]:
        """What a grade is paid in this answer, for the lightest lot first."""
        return sorted((paid for (one, _), paid in self._paid.items() if one == grade), key=_from)

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

    def _offer(self, part: Part, left_over: Fraction) -> Offer:
        line = self._undecided.get(part.number)
        left = None
        if part.given.opens is not None:
            left = (
                Paid(None, None, NOTHING_LEFT)
                if part.left is None
                else self._left(part.left, part.pieces, left_over)
            )
        if line is not None:
            least, dearest, at_best = self._ends(part, line)
            return Offer(part, Paid(least, None, line.unpriced), left, line, dearest, at_best)
        whole = (
            Paid(None, None, NOTHING_KNOWN) if part.grade is None else self.of(part.grade, part.grams.likely)
        )
        return Offer(part, whole, left, None)

    def _left(self, left: Left, pieces: int, grams: Fraction) -> Paid:
        if left.grade is not None:
            return self.of(left.grade, grams)
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


def _from(paid: Paid) -> Decimal:
    written = None if paid.price is None else paid.price.shown.from_weight
    return Decimal(0) if written is None else parse_mass(written).grams


def each_gram(price: Price) -> Span:
    """A price in minor units for each gram."""
    low, likely, high, under = price.scale
    return Span(Fraction(low, under), Fraction(likely, under), Fraction(high, under))
