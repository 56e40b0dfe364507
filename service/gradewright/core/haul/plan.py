"""A haul: which bins go to which yard, in which grade, on which trip, and what is left of it after the costs.

The pile that a yard weighs is all that comes to it in one grade on one trip: its weight decides on the price,
as in a valuation. Each lot is a line of the ticket, worked out exactly and rounded once by the yard's rule,
so that every plan leaves a whole number of minor units. `best` finds the plan; here it is reckoned.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.money import Rounding
from gradewright.core.rates import Amount, Payer, Scale


class NoSuchPlan(ValueError):
    """A plan that takes a lot where it cannot go."""


class Step(NamedTuple):
    """A price that holds for piles of so many grams or more, up to the next step."""

    from_grams: Fraction
    scale: Scale


@dataclass(frozen=True, slots=True)
class Buyer:
    """What a yard pays for each grade that it takes, by the weight of the pile, ascending; how it rounds;
    what a stop there costs, None where that is as much as at others.
    """

    steps: Mapping[str, tuple[Step, ...]]
    rounding: Rounding = Rounding.HALF_EVEN
    stop: int | None = None


@dataclass(frozen=True, slots=True)
class Lot:
    """What goes together or not at all: a bin, or one of the equal lots into which bin number `bin` may be
    taken apart. `grades`: in which it may be sold, its own first.
    """

    bin: int
    grams: Fraction
    grades: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Costs:
    """In minor units: each trip, each yard on a trip that has no cost of its own, each pile there beyond the
    first.
    """

    trip: int = 0
    stop: int = 0
    pile: int = 0


@dataclass(frozen=True, slots=True)
class Haul:
    """The question. `load`: the grams that one trip may carry; `trips`: the most of them; `hold_back`:
    whether a lot may stay that could go.
    """

    lots: tuple[Lot, ...]
    buyers: tuple[Buyer, ...]
    costs: Costs = Costs()
    load: Fraction | None = None
    trips: int = 1
    hold_back: bool = False

    def stop(self, buyer: int) -> int:
        """What a stop at a buyer costs."""
        own = self.buyers[buyer].stop
        return self.costs.stop if own is None else own


class Place(NamedTuple):
    """Where a lot goes: the trip, from 0, the number of the buyer, and the grade as which it is sold."""

    trip: int
    buyer: int
    grade: str


Plan = tuple[Place | None, ...]
"""A place for each lot; None for one that is kept."""


@dataclass(frozen=True, slots=True)
class Pile:
    """What a buyer weighs together: the numbers of the lots, their amounts, and the step that is reached."""

    place: Place
    lots: tuple[int, ...]
    grams: Fraction
    step: int
    amounts: tuple[Amount, ...]

    @property
    def amount(self) -> Amount:
        """The sum of its lines."""
        return _sum(self.amounts)


@dataclass(frozen=True, slots=True)
class Reckoned:
    """A plan, worked out: its piles by trip, buyer and grade, what is paid, and what that costs."""

    plan: Plan
    piles: tuple[Pile, ...]
    trips: int
    stops: int
    stop_costs: int
    extra_piles: int
    paid: Amount
    cost: int

    @property
    def worth(self) -> int:
        """What is likely left after the costs, in minor units."""
        return self.paid.likely - self.cost

    @property
    def buyers(self) -> frozenset[int]:
        """The buyers that it goes to."""
        return frozenset(pile.place.buyer for pile in self.piles)


def reckon(haul: Haul, plan: Plan) -> Reckoned:
    """The plan, worked out exactly. Raises `NoSuchPlan` where a lot cannot go as the plan says."""
    placed: dict[Place, list[int]] = {}
    loads: dict[int, Fraction] = {}
    for number, (lot, place) in enumerate(zip(haul.lots, plan, strict=True)):
        if place is None:
            continue
        if place.grade not in lot.grades or not 0 <= place.trip < haul.trips:
            raise NoSuchPlan(f"lot {number} cannot go as {place.grade} on trip {place.trip}")
        placed.setdefault(place, []).append(number)
        loads[place.trip] = loads.get(place.trip, Fraction(0)) + lot.grams
    if haul.load is not None and any(grams > haul.load for grams in loads.values()):
        raise NoSuchPlan("a trip carries more than it may")
    piles = tuple(_pile(haul, place, lots) for place, lots in sorted(placed.items()))
    stops = {(place.trip, place.buyer) for place in placed}
    costs, extra = haul.costs, len(piles) - len(stops)
    of_stops = sum(haul.stop(buyer) for _, buyer in stops)
    cost = costs.trip * len(loads) + of_stops + costs.pile * extra
    paid = _sum(pile.amount for pile in piles)
    return Reckoned(plan, piles, len(loads), len(stops), of_stops, extra, paid, cost)


def _pile(haul: Haul, place: Place, lots: list[int]) -> Pile:
    buyer = haul.buyers[place.buyer]
    grams = sum((haul.lots[lot].grams for lot in lots), Fraction(0))
    step = reached(buyer.steps.get(place.grade, ()), grams)
    if step is None:
        raise NoSuchPlan(f"buyer {place.buyer} has no price for {place.grade} of that weight")
    pay, scale = Payer(buyer.rounding).amount, buyer.steps[place.grade][step].scale
    amounts = tuple(pay(scale, haul.lots[lot].grams.as_integer_ratio()) for lot in lots)
    return Pile(place, tuple(lots), grams, step, amounts)


def heaviest(haul: Haul) -> dict[str, Fraction]:
    """The weight that one pile of each grade can come to."""
    found: dict[str, Fraction] = {}
    for lot in haul.lots:
        for grade in lot.grades:
            found[grade] = found.get(grade, Fraction(0)) + lot.grams
    return found if haul.load is None else {grade: min(grams, haul.load) for grade, grams in found.items()}


def can_go(haul: Haul, lot: int) -> bool:
    """Whether a lot can go anywhere: it is not too heavy, and some pile of it can have a price."""
    each, most = haul.lots[lot], heaviest(haul)
    if haul.load is not None and each.grams > haul.load:
        return False
    return any(
        steps[0].from_grams <= most[grade]
        for buyer in haul.buyers
        for grade in each.grades
        if (steps := buyer.steps.get(grade))
    )


def reached(steps: tuple[Step, ...], grams: Fraction) -> int | None:
    """The number of the highest step that a weight reaches; None where it reaches none."""
    found = None
    for number, step in enumerate(steps):
        if step.from_grams > grams:
            break
        found = number
    return found


def tidied(haul: Haul, plan: Plan) -> Plan:
    """The same plan with its trips numbered in the order of their first lots, and lots of one bin, which are
    all alike, in the order of their places; what is kept of a bin comes last.
    """
    first = dict.fromkeys(place.trip for place in plan if place is not None)
    number = {trip: count for count, trip in enumerate(first)}
    places = [None if place is None else place._replace(trip=number[place.trip]) for place in plan]
    of_bin: dict[int, list[int]] = {}
    for lot, each in enumerate(haul.lots):
        of_bin.setdefault(each.bin, []).append(lot)
    for lots in of_bin.values():
        ordered = sorted((places[lot] for lot in lots), key=lambda p: (p is None, p or ()))
        for lot, place in zip(lots, ordered, strict=True):
            places[lot] = place
    return tuple(places)


def _sum(amounts: Iterable[Amount]) -> Amount:
    """The amounts together."""
    low = likely = high = 0
    for amount in amounts:
        low, likely, high = low + amount.low, likely + amount.likely, high + amount.high
    return Amount(low, likely, high)
