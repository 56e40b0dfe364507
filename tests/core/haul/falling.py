"""Hauls of yards that pay less from a weight on, light enough for every whole gram to be tried."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st
from tests.core.haul.contrary import KILOGRAM, bins, yard
from tests.core.haul.hauls import GRADES

from gradewright.core.haul.plan import Buyer, Costs, Haul, Lot, Step
from gradewright.core.money import Rounding
from gradewright.core.rates import Scale

HUMP = Haul(
    bins((2, "ab"), (40, "ab"), (32, "a"), (16, "b")),
    (yard(a=((10, 77), (37, 86), (56, 22)), b=((0, 75), (32, 66), (54, 20))),),
    Costs(135, 47, 23),
    hold_back=True,
)
"""What a pile of 72 kg is paid is less than at the first step, and not than at the one after it."""
ON_THE_LINE = Haul(
    bins((8, "a"), (3, "ba"), (13, "ca"), (9, "da")),
    (yard(a=((0, 22), (20, 25), (25, 22))),),
    Costs(98, 37, 29),
    29 * KILOGRAM,
    hold_back=True,
)
"""Some of the bins weigh exactly as much as takes the lower price."""


@st.composite
def falling(draw: st.DrawFn, times: int = 1) -> Haul:
    """Up to four lots of a few grams, for one or two yards whose prices rise and fall from a weight on as
    they will; amounts `times` as large.
    """
    grades = GRADES[: draw(st.integers(1, 3))]
    buyers = tuple(
        Buyer(
            {grade: _steps(draw, times) for grade in grades if draw(st.integers(0, 4))},
            draw(st.sampled_from(list(Rounding))),
            draw(st.sampled_from([None, None, 0, 45 * times])),
        )
        for _ in range(draw(st.integers(1, 2)))
    )
    lots = tuple(
        Lot(number, Fraction(draw(st.integers(2, 40)), 2), grades[draw(st.integers(0, len(grades) - 1)) :])
        for number in range(draw(st.integers(1, 4)))
    )
    costs = Costs(*(draw(st.integers(0, most)) * times for most in (150, 60, 30)))
    load = draw(st.sampled_from([None, None, Fraction(30), Fraction(45)]))
    return Haul(lots, buyers, costs, load, 1, draw(st.booleans()))


def _steps(draw: st.DrawFn, times: int) -> tuple[Step, ...]:
    from_grams = draw(st.lists(st.integers(1, 40), unique=True, min_size=1, max_size=3).map(sorted))
    from_grams[0] *= draw(st.sampled_from([0, 0, 1]))
    prices = [draw(st.integers(-5, 40)) * times + draw(st.integers(0, 3)) * (times > 1) for _ in from_grams]
    under = draw(st.sampled_from([1, 3]))
    return tuple(
        Step(Fraction(grams), Scale(price, price, price, under))
        for grams, price in zip(from_grams, prices, strict=True)
    )
