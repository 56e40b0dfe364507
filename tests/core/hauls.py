"""Random small hauls, and every plan of them, tried one by one."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from fractions import Fraction

from hypothesis import strategies as st

from gradewright.core.haul import Buyer, Costs, Haul, Lot, NoSuchPlan, Place, Plan, Reckoned, Step, reckon
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


def places(haul: Haul, lot: int) -> Iterator[Place]:
    """Everywhere a lot might be taken to."""
    for trip, buyer, grade in itertools.product(
        range(haul.trips), range(len(haul.buyers)), haul.lots[lot].grades
    ):
        yield Place(trip, buyer, grade)


def every(haul: Haul) -> Iterator[Reckoned]:
    """Every plan that can be made; where none may be held back, those in which all go that can."""
    choices: list[list[Place | None]] = [[None, *places(haul, lot)] for lot in range(len(haul.lots))]
    for plan in itertools.product(*choices):
        try:
            yield reckon(haul, plan)
        except NoSuchPlan:
            continue


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
