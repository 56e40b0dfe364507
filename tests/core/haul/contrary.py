"""Hauls about which HiGHS 1.16 contradicts itself where its presolve works on them, and others like them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import strategies as st

from gradewright.core.haul.plan import Buyer, Costs, Haul, Lot, Step
from gradewright.core.rates import Scale

KILOGRAM = Fraction(1000)
Prices = tuple[tuple[int, int], ...]


def bins(*each: tuple[Fraction | float, str]) -> tuple[Lot, ...]:
    """Bins by their kilograms and grades, a letter each."""
    return tuple(
        Lot(number, Fraction(weighs) * KILOGRAM, tuple(grades))
        for number, (weighs, grades) in enumerate(each)
    )


def yard(stop: int | None = None, /, under: int = 1, **prices: Prices) -> Buyer:
    """A yard by its prices of each grade, in cents for so many kilograms, each from so many kilograms on."""
    steps = {
        grade: tuple(Step(least * KILOGRAM, Scale(*[cents] * 3, 1000 * under)) for least, cents in known)
        for grade, known in prices.items()
    }
    return Buyer(steps, stop=stop)


CONTRARY: dict[str, Haul] = {
    "the first choice": Haul(
        bins((10, "bc"), (19, "c"), (25, "bc"), (13, "ab")),
        (
            yard(a=((33, 28),), b=((7, 22), (30, 27)), c=((0, -4), (59, 11))),
            yard(
                a=((0, 17), (11, 23), (21, 35)),
                b=((0, 9), (27, 25), (55, 36)),
                c=((0, 0), (46, 19), (52, 34)),
            ),
        ),
        Costs(14, 50, 10),
        48 * KILOGRAM,
        2,
        hold_back=True,
    ),
    "no choice at all": Haul(
        bins((15, "c"), (15, "bc"), (18, "c")),
        (
            yard(b=((0, 25),), c=((0, -3), (25, 6), (34, 20))),
            yard(27, 3, a=((0, -4), (41, 6)), b=((0, 30), (21, 34)), c=((0, 4), (47, 17))),
        ),
        Costs(142, 37, 12),
        trips=2,
    ),
    "one grade, prices that fall": Haul(
        bins((7, "a"), (16.5, "a"), (11, "a"), (24, "a")),
        (
            yard(31, a=((0, 1),)),
            yard(52, 3, a=((0, -3), (31, 16), (54, 9))),
            yard(None, 3, a=((0, 48), (42, 10), (58, 66))),
        ),
        Costs(72, 49, 14),
        hold_back=True,
    ),
    "one grade, all goes": Haul(
        bins((16, "a"), (14, "a"), (15.5, "a"), (20, "a")),
        (yard(a=((0, 5), (30, 17), (57, 28))), yard(None, 3, a=((0, -5), (45, 40)))),
        Costs(0, 20, 25),
        59 * KILOGRAM,
        2,
    ),
    "three yards, two trips": Haul(
        bins((11, "bc"), (20, "abc"), (5, "c"), (23, "a")),
        (
            yard(None, 3, b=((0, 32),)),
            yard(1, 3, a=((0, 15), (47, 15), (50, 31)), b=((0, 30), (51, 27)), c=((0, 16), (33, 40))),
            yard(None, 3, b=((0, 0), (35, 2)), c=((0, 18),)),
        ),
        Costs(29, 53, 23),
        trips=2,
        hold_back=True,
    ),
    "three yards, one trip": Haul(
        bins((12.5, "ab"), (7.5, "b"), (14, "ab"), (3.5, "a")),
        (
            yard(a=((0, 35), (22, 30), (28, 15)), b=((0, 20), (33, 36))),
            yard(31, b=((0, 26), (28, 25))),
            yard(31, a=((10, 27), (46, 16)), b=((0, 8), (35, -4))),
        ),
        Costs(68, 59, 8),
        hold_back=True,
    ),
}


@st.composite
def like_them(draw: st.DrawFn) -> Haul:
    """One of them with other weights, prices, from-weights and costs: a little, or somewhat."""
    haul = draw(st.sampled_from(list(CONTRARY.values())))
    little = st.integers(-draw(st.sampled_from([1, 4])), 4)
    lots = tuple(replace(lot, grams=max(KILOGRAM, lot.grams + draw(little) * KILOGRAM)) for lot in haul.lots)
    buyers = tuple(
        replace(buyer, steps={grade: _other(draw, known) for grade, known in buyer.steps.items()})
        for buyer in haul.buyers
    )
    costs = Costs(
        *(max(0, each + draw(little)) for each in (haul.costs.trip, haul.costs.stop, haul.costs.pile))
    )
    return replace(haul, lots=lots, buyers=buyers, costs=costs, hold_back=draw(st.booleans()))


def _other(draw: st.DrawFn, known: tuple[Step, ...]) -> tuple[Step, ...]:
    """Other prices, from other weights on that still rise."""
    found: list[Step] = []
    for step in known:
        least = step.from_grams + draw(st.integers(-1, 1)) * KILOGRAM * bool(step.from_grams)
        cents = step.scale.likely + draw(st.integers(-2, 2))
        above = found[-1].from_grams + KILOGRAM if found else Fraction(0)
        found.append(Step(max(least, above), step.scale._replace(low=cents, likely=cents, high=cents)))
    return tuple(found)
