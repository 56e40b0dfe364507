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
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import cached_property

from gradewright.core.grading import Undecided
from gradewright.core.money import minor_per_unit
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.teardown.tree import NOTHING, Node, Opening, Pay, Span, Tier, Tiers, Tree
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
    is undecided. `tiers`, `left_tiers`, `dearest_tiers`: what each would be paid in other lots.
    """

    part: Part
    whole: Paid
    left: Paid | None
    line: Line | None
    dearest: Pay | None = None
    at_best: str | None = None
    tiers: Tiers = ()
    left_tiers: Tiers = ()
    dearest_tiers: Tiers = ()


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
        stepping: bool,
    ) -> None:
        """`waiting`: of a grade without a price it is told where what was posted of it waits. `stepping`:
        what places would be paid in other lots is looked at too.
        """
        self.version, self.prices, self.lots = version, prices, lots
        self._waiting, self._stepping = waiting, stepping
        self.minor = minor_per_unit(prices.currency)
        self._undecided = self._look(parts, terms)
        self._paid: dict[tuple[str, int], Paid] = {}
        self._behind: dict[str, tuple[str, Price]] = {}
        self._known: dict[tuple[str, int], Paid] = {}
        self._fractions: dict[Decimal, Fraction] = {}
        self.left_grams = left_grams(parts)
        self._weights: dict[tuple[int, bool], Decimal] = {}
        self._floored: dict[str, Price | None] = {}
        self._tiers: dict[tuple[str, Decimal], Tiers] = {}
        self._ends_by_lot: dict[tuple[str, ...], tuple[Tiers, Tiers]] = {}
        self.offers = list(map(self._offer, parts))

    def in_lots(self, floors: Mapping[str, Decimal], like: Pricing | None = None) -> Pricing:
        """The same with no lot of these grades lighter than that, nor than it was. `like`: another one of
        such, made into this; that takes less work where fewer lots are others.
        """
        named, near = self.lots.floors, like or self
        heavier = {grade: max(lot, named.get(grade, NO_LOT)) for grade, lot in floors.items()}
        lots = Lots({**named, **heavier}, own=self.lots.own)
        return near._otherwise(lots)

    def _otherwise(self, lots: Lots) -> Pricing:
        """The same in other lots."""
        other, was = copy(self), self.lots.floors
        other.lots = lots
        price = self.prices.price
        floors = {
            grade
            for grade in {*was, *lots.floors}
            # Where both lots have one price, what is between them has it too.
            if price(grade, was.get(grade, NO_LOT)) is not price(grade, lots.floors.get(grade, NO_LOT))
        }
        # What is known of a price, and what places weigh, is shared: lots change neither.
        other._paid = {key: paid for key, paid in self._paid.items() if key[0] not in floors}
        other._behind = {name: found for name, found in self._behind.items() if found[0] not in floors}
        other.offers, other._floored, changed = list(self.offers), {}, {}
        for number, offer in enumerate(self.offers):
            part, whole, left = offer.part, offer.whole, offer.left
            tiers, left_tiers = offer.tiers, offer.left_tiers
            if part.grade is not None and part.grade in floors:
                whole, tiers = other._whole(part), other.tiers(part.grade)
            if part.left is not None and part.left.grade is not None and part.left.grade in floors:
                left, left_tiers = other._left(part, part.left), other.tiers(part.left.grade)
            if whole is not offer.whole or left is not offer.left:
                now = replace(offer, whole=whole, left=left, tiers=tiers, left_tiers=left_tiers)
                other.offers[number], changed[number] = now, _paid_so(self.tree.nodes[number], now)
        other.tree = self.tree.paid(changed)
        return other

    @cached_property
    def tree(self) -> Tree:
        """The device as the core takes it."""
        return Tree(tuple(map(self._node, self.offers)))

    def _node(self, offer: Offer) -> Node:
        part, given = offer.part, offer.part.given
        minutes = NOTHING if given.minutes is None else self._fraction(given.minutes) * part.pieces
        opening = self._opening(offer)
        must = given.must_come_off
        return Node(part.inside, part.grams, offer.whole.pay, opening, minutes, must, offer.tiers)

    def _fraction(self, figure: Decimal) -> Fraction:
        """A figure of the request; of most there are few different ones."""
        found = self._fractions.get(figure)
        if found is None:
            found = self._fractions[figure] = Fraction(figure)
        return found

    def of(self, grade: str, grams: Fraction = NOTHING) -> Paid:
        """What a grade is paid here, in a place that weighs so much."""
        price = self.prices.for_any_lot(grade)
        if price is None:
            price = self.prices.price(grade, self.lots.of(grade, in_milligrams(grams)))
        return self._as_paid(grade, price)

    def _at(self, part: Part, grade: str, grams: Fraction, *, left: bool = False) -> Paid:
        """The same of a part, or of what is left over of it."""
        price = self.prices.for_any_lot(grade)
        if price is None:
            place = part.number, left
            weighs = self._weights.get(place)
            if weighs is None:
                weighs = self._weights[place] = in_milligrams(grams)
            price = self._in_a_lot(grade, weighs)
        return self._as_paid(grade, price)

    def _in_a_lot(self, grade: str, weighs: Decimal) -> Price | None:
        """The price of a place; that of the least lot is looked for once."""
        floor = self.lots.floors.get(grade, NO_LOT)
        if self.lots.own and weighs > floor:
            return self.prices.price(grade, weighs)
        if grade not in self._floored:
            self._floored[grade] = self.prices.price(grade, floor)
        return self._floored[grade]

    def tiers(self, grade: str) -> Tiers:
        """What a grade is paid here by how heavy a lot is, where that is not one price."""
        key = grade, self.lots.floors.get(grade, NO_LOT)
        found = self._tiers.get(key)
        if found is None:
            found = self._tiers[key] = self._tiers_from(*key) if self._stepping else ()
        return found

    def _tiers_from(self, grade: str, floor: Decimal) -> Tiers:
        steps = [step for step in self.prices.steps(grade) if step > floor]
        prices = [(lot, self.prices.price(grade, max(lot, floor))) for lot in (NO_LOT, *steps)]
        tiers = (Tier(Fraction(lot), self._shown(grade, price).pay) for lot, price in prices)
        return tuple(tiers) if steps else ()

    def _shown(self, grade: str, price: Price | None) -> Paid:
        """A price, told once; what a price is is the same in any lots."""
        key = grade, id(price)
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = self._show(grade, price)
        return found

    def _as_paid(self, grade: str, price: Price | None) -> Paid:
        key = grade, id(price)
        found = self._paid.get(key)
        if found is None:
            found = self._paid[key] = self._shown(grade, price)
            if price is not None:
                self._behind[self.lots.price_name(grade, price)] = grade, price
        return found

    def _show(self, grade: str, price: Price | None) -> Paid:
        if price is None:
            return Paid(None, None, self.prices.why_unpriced(grade, waiting=self._waiting))
        return Paid(Pay(each_gram(price), price=self.lots.price_name(grade, price)), price)

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
            minutes=self._fraction(opens.minutes) * part.pieces,
            one_by_one=opens.how == PIECE_BY_PIECE,
            left=None if offer.left is None else offer.left.pay,
            left_grams=None if part.left is None else part.left.grams,
            cost=self._fraction(opens.cost) * (self.minor * part.pieces),
            tiers=offer.left_tiers,
        )

    def _offer(self, part: Part) -> Offer:
        line = self._undecided.get(part.number)
        left: Paid | None = None
        left_tiers: Tiers = ()
        if part.given.opens is not None:
            left = Paid(None, None, NOTHING_LEFT) if part.left is None else self._left(part, part.left)
            if part.left is not None and part.left.grade is not None:
                left_tiers = self.tiers(part.left.grade)
        if line is None:
            tiers = () if part.grade is None else self.tiers(part.grade)
            return Offer(part, self._whole(part), left, None, tiers=tiers, left_tiers=left_tiers)
        grades = self._may_be(part, line)
        least, dearest, at_best = self._ends(grades, in_milligrams(part.grams.likely))
        tiers, dear = self._ends_in_lots(grades)
        whole = Paid(least, None, line.unpriced)
        return Offer(part, whole, left, line, dearest, at_best, tiers, left_tiers, dear)

    def _whole(self, part: Part) -> Paid:
        if part.grade is None:
            return Paid(None, None, NOTHING_KNOWN)
        return self._at(part, part.grade, part.grams.likely)

    def _left(self, part: Part, left: Left) -> Paid:
        if left.grade is not None:
            return self._at(part, left.grade, self.left_grams[part.number], left=True)
        charge = left.given.charge
        if charge is None:
            return Paid(None, None, NOTHING_LEFT)
        minor = -Fraction(charge) * self.minor
        if left.per_grams is None:
            return Paid(Pay(fixed=Span.exactly(minor * part.pieces)))
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

    def _may_be(self, part: Part, line: Line) -> tuple[str, ...]:
        """The grades that an undecided part can be of; none where it may be of no grade at all."""
        outcome = part.description.outcome if part.description is not None else None
        if not isinstance(outcome, Undecided) or outcome.may_be_ungraded:
            return ()
        return tuple(candidate.grade for candidate in line.candidates)

    def _ends(self, grades: Sequence[str], lot: Decimal) -> tuple[Pay | None, Pay | None, str | None]:
        """What a part that can be of these grades is paid in a lot as the cheapest, and as the dearest, that
        it can be, each up to the highest price of all; and which grade the dearest is. None where one has no
        price.
        """
        found = {grade: self.prices.price(grade, lot) for grade in grades}
        each = {grade: each_gram(price) for grade, price in found.items() if price is not None}
        if not each or len(each) < len(found):
            return None, None, None
        lows, likelies, highs = zip(*each.values(), strict=True)
        at_best = max(each, key=lambda grade: each[grade].likely)
        least, most = (Pay(Span(min(lows), end(likelies), max(highs))) for end in (min, max))
        return least, most, at_best

    def _ends_in_lots(self, grades: tuple[str, ...]) -> tuple[Tiers, Tiers]:
        """Both by how heavy a lot is, where that is not one price."""
        found = self._ends_by_lot.get(grades)
        if found is None:
            steps = {step for grade in grades for step in self.prices.steps(grade)} if self._stepping else ()
            lots = (NO_LOT, *sorted(steps)) if steps else ()
            least, most = [], []
            for lot in lots:
                cheap, dear, _ = self._ends(grades, lot)
                least.append(Tier(Fraction(lot), cheap))
                most.append(Tier(Fraction(lot), dear))
            found = self._ends_by_lot[grades] = tuple(least), tuple(most)
        return found


def _paid_so(node: Node, offer: Offer) -> Node:
    """The same node, paid as it is offered."""
    opening = node.opening
    if opening is not None:
        left = None if offer.left is None else offer.left.pay
        opening = Opening(
            opening.minutes, opening.one_by_one, left, opening.left_grams, opening.cost, offer.left_tiers
        )
    return Node(node.inside, node.grams, offer.whole.pay, opening, node.minutes, node.must, offer.tiers)


def _from(paid: Paid) -> Decimal:
    written = None if paid.price is None else paid.price.shown.from_weight
    return Decimal(0) if written is None else parse_mass(written).grams


def each_gram(price: Price) -> Span:
    """A price in minor units for each gram."""
    low, likely, high, under = price.scale
    return Span(Fraction(low, under), Fraction(likely, under), Fraction(high, under))
