"""Hauls of amounts beyond what a float of the solver tells apart, and such as differ by one unit there."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random

from hypothesis import strategies as st
from tests.core.haul.contrary import KILOGRAM, bins, yard
from tests.core.haul.hauls import POUND, hauls

from gradewright.core.haul.plan import Buyer, Costs, Haul, Step

RUPIAH = 100
ONE_BIN = Haul(
    bins((120, "a")),
    (yard(a=((0, 118_000 * RUPIAH),)), yard(a=((0, 117_000 * RUPIAH), (100, 121_000 * RUPIAH)))),
    Costs(100_000 * RUPIAH, 50_000 * RUPIAH),
    hold_back=True,
)
"""Some 900 dollars' worth of copper, in a currency of two digits and small units: 1,437 million of them."""


@st.composite
def large_hauls(draw: st.DrawFn, most: int = 3) -> Haul:
    """A random small haul at amounts some ten or hundred million times as large, each a few units off."""
    larger = draw(st.sampled_from([10**6, 10**8, 10**9]))
    return times(draw(hauls(most)), larger, draw(st.randoms(use_true_random=False)))


def times(haul: Haul, larger: int, chance: Random) -> Haul:
    """A haul of pounds at amounts so many times as large; what is paid for a pound up to three units off."""
    costs = Costs(*(each * larger for each in (haul.costs.trip, haul.costs.stop, haul.costs.pile)))
    return replace(haul, buyers=tuple(_larger(each, larger, chance) for each in haul.buyers), costs=costs)


def _larger(buyer: Buyer, larger: int, chance: Random) -> Buyer:
    def paid(step: Step) -> Step:
        off = chance.randint(-3, 3) / POUND * step.scale.under
        return step._replace(scale=step.scale._replace(likely=step.scale.likely * larger + round(off)))

    stop = None if buyer.stop is None else buyer.stop * larger
    return replace(
        buyer, steps={grade: tuple(map(paid, known)) for grade, known in buyer.steps.items()}, stop=stop
    )


@st.composite
def by_one(draw: st.DrawFn) -> Haul:
    """Bins for yards that pay ten thousand million for a thousand kilograms, a unit more or less; a pile or a
    stop more costs one or two units, or none.
    """
    cents = st.integers(10**10, 10**10 + 3)
    buyers = tuple(
        yard(
            draw(st.sampled_from([None, 0, 1, 2])),
            1000,
            **{
                grade: tuple((least, draw(cents)) for least in draw(st.sampled_from([(0,), (0, 2500)])))
                for grade in "ab"
                if draw(st.integers(0, 3))
            },
        )
        for _ in range(draw(st.integers(1, 2)))
    )
    lots = bins(
        *(
            (Fraction(draw(st.integers(1000 * 9, 1000 * 9 + 3)), 9), draw(st.sampled_from(["a", "b", "ab"])))
            for _ in range(draw(st.integers(1, 3)))
        )
    )
    costs = Costs(*(draw(st.integers(0, 2)) for _ in range(3)))
    load = draw(st.sampled_from([None, 2_000 * KILOGRAM, Fraction(18_001, 9) * KILOGRAM]))
    return Haul(lots, buyers, costs, load, draw(st.integers(1, 2)), draw(st.booleans()))
