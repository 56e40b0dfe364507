"""Random small hauls, and every plan of them, tried one by one.

What a plan comes to is worked out here once more, to hold what `core/haul/plan` reckons against something.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from hypothesis import strategies as st

from gradewright.core.haul.plan import Buyer, Costs, Haul, Lot, Place, Plan, Step
from gradewright.core.money import Rounding
from gradewright.core.rates import Scale

POUND = Fraction("453.59237")
GRADES = ("a", "b", "c")


def paying(cents: int | Fraction, grams: Fraction = POUND) -> Scale:
    """A price of so many cents for a weight; low and high are a tenth off."""
    rate = Fraction(cents) / grams
    return Scale(rate.numerator * 9, rate.numerator * 10, rate.numerator * 11, rate.denominator * 10)


def steps(*prices: tuple[int, int]) -> tuple[Step, ...]:
    """Prices in cents a pound, each from so many pounds on."""
    return tuple(Step(pounds * POUND, paying(cents)) for pounds, cents in prices)


@st.composite
def hauls(draw: st.DrawFn, most: int = 4) -> Haul:
    """Up to `most` lots of three grades, two yards, prices that rise or fall from a weight on, any costs."""
    buyers = tuple(
        Buyer(
            {grade: _steps(draw) for grade in GRADES if draw(st.integers(0, 3))},
            draw(st.sampled_from(list(Rounding))),
            draw(st.sampled_from([None, None, 0, 50, 300])),
        )
        for _ in range(draw(st.integers(1, 2)))
    )
    lots = tuple(
        Lot(number, draw(st.integers(1, 12)) * POUND / draw(st.sampled_from([1, 1, 3])), _grades(draw))
        for number in range(draw(st.integers(1, most)))
    )
    costs = Costs(*(draw(st.sampled_from([0, 0, 30, 100, 400])) for _ in range(3)))
    load = draw(st.sampled_from([None, None, 12 * POUND, 8 * POUND]))
    return Haul(lots, buyers, costs, load, draw(st.integers(1, 2)), draw(st.booleans()))


def _steps(draw: st.DrawFn) -> tuple[Step, ...]:
    base = draw(st.integers(-5, 60))
    first = draw(st.sampled_from([0, 0, 0, 4]))
    more = draw(st.sampled_from([(), (), (6,), (6, 10)]))
    prices = [(first, base)]
    for pounds in more:
        prices.append((pounds, prices[-1][1] + draw(st.integers(-4, 20))))
    return steps(*prices)


def _grades(draw: st.DrawFn) -> tuple[str, ...]:
    return GRADES[draw(st.integers(0, 2)) :]


@dataclass(frozen=True)
class Tried:
    """A plan, worked out here once more: what is paid (low, likely, high), what it costs and asks for."""

    plan: Plan
    paid: tuple[int, int, int]
    cost: int
    trips: int
    stops: int
    down: int
    piles: int
    buyers: frozenset[int]

    @property
    def worth(self) -> int:
        """What is likely left."""
        return self.paid[1] - self.cost


def tried(haul: Haul, plan: Plan) -> Tried | None:
    """The plan worked out by the definitions alone, with nothing of the code that is tested; None where a
    trip carries more than it may or a pile has no price.
    """
    weights: dict[tuple[int, int, str], Fraction] = {}
    carried: dict[int, Fraction] = {}
    down = 0
    for lot, place in zip(haul.lots, plan, strict=True):
        if place is not None:
            trip, buyer, grade = place
            weights[trip, buyer, grade] = weights.get((trip, buyer, grade), Fraction(0)) + lot.grams
            carried[trip] = carried.get(trip, Fraction(0)) + lot.grams
            down += grade != lot.grades[0]
    if haul.load is not None and any(weight > haul.load for weight in carried.values()):
        return None
    paid = [0, 0, 0]
    for lot, place in zip(haul.lots, plan, strict=True):
        if place is None:
            continue
        trip, number, grade = place
        buyer = haul.buyers[number]
        pile = weights[trip, number, grade]
        held = [step for step in buyer.steps.get(grade, ()) if step.from_grams <= pile]
        if not held:
            return None
        rates = max(held, key=lambda step: step.from_grams).scale
        for which in range(3):
            paid[which] += _rounded(Fraction(rates[which], rates.under) * lot.grams, buyer.rounding)
    stops = {(trip, buyer) for trip, buyer, _ in weights}
    cost = haul.costs.trip * len(carried)
    for stop in stops:
        own = haul.buyers[stop[1]].stop
        cost += haul.costs.stop if own is None else own
        cost += haul.costs.pile * (sum(place[:2] == stop for place in weights) - 1)
    buyers = frozenset(buyer for _, buyer in stops)
    low, likely, high = paid
    return Tried(plan, (low, likely, high), cost, len(carried), len(stops), down, len(weights), buyers)


def _rounded(amount: Fraction, rule: Rounding) -> int:
    """An amount as a whole number: the nearest ones are tried."""
    below = amount.numerator // amount.denominator
    near = [below] if amount == below else [below, below + 1]
    if rule is Rounding.DOWN:
        return min(near, key=abs)
    closest = min(abs(amount - each) for each in near)
    ties = [each for each in near if abs(amount - each) == closest]
    if len(ties) == 1:
        return ties[0]
    return max(ties, key=abs) if rule is Rounding.HALF_UP else next(each for each in ties if each % 2 == 0)


def plans(haul: Haul) -> Iterator[Plan]:
    """Every way to take each lot anywhere or nowhere, also such that cannot be."""
    trips, buyers = range(haul.trips), range(len(haul.buyers))
    choices: list[list[Place | None]] = [
        [None, *(Place(*place) for place in itertools.product(trips, buyers, lot.grades))]
        for lot in haul.lots
    ]
    return itertools.product(*choices)


def every(haul: Haul) -> Iterator[Tried]:
    """Every plan that can be made, whatever stays."""
    return (found for plan in plans(haul) if (found := tried(haul, plan)) is not None)


def must_go(haul: Haul) -> frozenset[int]:
    """The lots that a trip can carry and that are priced in a pile of all that may be sold as one grade, or
    of as much of it as a trip carries.
    """
    load = haul.load if haul.load is not None else sum((each.grams for each in haul.lots), Fraction(0))

    def priced(buyer: Buyer, grade: str) -> bool:
        pile = min(load, sum((each.grams for each in haul.lots if grade in each.grades), Fraction(0)))
        return any(step.from_grams <= pile for step in buyer.steps.get(grade, ()))

    return frozenset(
        number
        for number, lot in enumerate(haul.lots)
        if lot.grams <= load and any(priced(buyer, grade) for buyer in haul.buyers for grade in lot.grades)
    )


def allowed(haul: Haul, plan: Plan, must: frozenset[int]) -> bool:
    """Whether a plan takes what must go."""
    return haul.hold_back or all(plan[lot] is not None for lot in must)


def district(seed: int, bins: int, yards: int, *, load: int | None = None, trips: int = 1) -> Haul:
    """A haul of many bins: families of five grades, each worth 85 % of the one before, of which a yard buys
    about half; better prices from 100 lb and 500 lb on for some; whole pounds.
    """
    chance = random.Random(seed)
    families = [[f"f{family}-{grade}" for grade in range(5)] for family in range(max(2, bins // 3))]
    guide = {
        slug: price * Fraction(85, 100) ** grade
        for family in families
        for price in [chance.choice((20, 50, 80, 150, 300, 380))]
        for grade, slug in enumerate(family)
    }
    buyers = []
    for _ in range(yards):
        level = chance.randint(88, 108)
        bought = {}
        for slug, price in guide.items():
            if chance.random() < 0.45:
                continue
            cents = round(price * level * chance.randint(93, 107) / 10_000)
            known = [(0, cents)]
            known += [(100, cents + cents // 20)] if chance.random() < 0.35 else []
            known += [(500, cents + cents // 10)] if chance.random() < 0.1 else []
            bought[slug] = steps(*known)
        buyers.append(Buyer(bought, chance.choice(list(Rounding))))
    lots = []
    for number in range(bins):
        grades = chance.choice(families)[chance.randrange(3) :]
        lots.append(Lot(number, chance.choice((2, 5, 8, 12, 20, 30, 45, 60, 90)) * POUND, tuple(grades)))
    carries = None if load is None else load * POUND
    return Haul(tuple(lots), tuple(buyers), Costs(1200, 300, 60), carries, trips, hold_back=seed % 2 == 0)
