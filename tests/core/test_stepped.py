"""The largest step that a scale may have by what it showed; no honest ticket is called marked down."""

from __future__ import annotations

import random
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.core.test_moved import looked
from tests.core.test_settlement import LB, PRICES, a_bin, a_line, a_ticket

from gradewright.core.recovery.measured import HALF, step_of
from gradewright.core.stepped import coarsest
from gradewright.core.units import parse_mass
from gradewright.core.weighed import Halves


def grams(text: str) -> Fraction:
    """A weight as it is written, in grams."""
    return Fraction(parse_mass(text).grams)


def step(*texts: str) -> Fraction:
    """The largest step by some loads."""
    shown = [grams(text) for text in texts]
    return coarsest(shown, shown, [step_of(text, lambda text: parse_mass(text).grams) for text in texts])


LARGEST = {
    "tenths that are halves": (("74.5 lb", "49.5 lb"), "0.5 lb"),
    "tenths that are whole pounds": (("74.0 lb", "49.0 lb"), "1 lb"),
    "tenths": (("74.5 lb", "49.3 lb"), "0.1 lb"),
    "fifths": (("74.4 lb", "49.8 lb"), "0.2 lb"),
    "twos": (("74 lb", "52 lb"), "2 lb"),
    "whole pounds": (("74 lb", "51 lb"), "1 lb"),
    "quarters": (("7.25 lb", "5.5 lb"), "4 oz"),
    "fives of a hundredth, which are no quarters": (("7.25 lb", "5.5 lb", "5.05 lb"), "0.05 lb"),
    "pounds and ounces": (("7 lb 8 oz", "5 lb 8 oz", "3 lb"), "8 oz"),
    "a fraction": (("7-1/4 lb", "5-3/4 lb"), "4 oz"),
    "half an ounce": (("7.5 oz", "12 oz"), "0.5 oz"),
    "kilograms are not halved further than to fives": (("7.25 kg", "5.75 kg"), "0.05 kg"),
    "half kilograms": (("7.50 kg", "5.00 kg"), "0.5 kg"),
    "a third of the lightest load at most": (("100 lb", "50 lb", "10 lb"), "2 lb"),
    "nothing was on the scale": (("100.0 lb", "0.0 lb"), "20 lb"),
    "two units": (("7.5 kg", "20 lb"), "0.1 kg"),
}


@pytest.mark.parametrize("case", LARGEST)
def test_the_largest_step_that_is_left_open(case: str) -> None:
    """Of all that was shown, in the unit that it was written in."""
    texts, expected = LARGEST[case]
    assert step(*texts) == grams(expected)


def test_of_a_tare_nobody_says_that_it_is_a_load() -> None:
    """A drum of 2 lb was weighed by whole pounds; a load of 2 lb would not have been. Of nothing there is no
    step but that of the digits.
    """
    shown, loads = [grams("40 lb"), grams("60 lb"), grams("2 lb")], [grams("40 lb"), grams("60 lb")]
    assert coarsest(shown, loads, [grams("1 lb")]) == grams("2 lb")
    assert coarsest(shown, shown, [grams("0.1 lb")]) == grams("0.5 lb")
    assert coarsest([], [], [grams("0.1 lb")]) == grams("0.1 lb")


@given(
    st.lists(st.integers(1, 400), min_size=1, max_size=5), st.sampled_from(["0.1", "0.2", "0.5", "1", "2"])
)
def test_the_true_step_is_never_above_it(steps: list[int], of: str) -> None:
    """Whatever a scale with a usual step showed of loads of three steps and more, printed in tenths: what is
    found is no less than its step, and all that it showed is a multiple of it.
    """
    loads = [Decimal(of) * (2 + each) for each in steps]
    found = step(*(f"{load:.1f} lb" for load in loads))
    assert found >= grams(f"{of} lb")
    assert not [load for load in loads if grams(f"{load:.1f} lb") % found]


SCALES = [
    ("0.5", "1", 10, 80),
    ("0.1", "0.5", 5, 30),
    ("0.1", "1", 3, 30),
    ("0.5", "2", 50, 400),
    ("0.1", "0.1", 5, 60),
]
TENTH = Fraction(LB) / 10


def scales(own: Sequence[Decimal], yard: Sequence[Decimal], *, as_printed: bool) -> Halves:
    """Of weights in pounds that are written in tenths."""
    half = TENTH * HALF
    if as_printed:
        return Halves(half, half)
    on_own, on_yard = ([Fraction(each) * Fraction(LB) for each in of] for of in (own, yard))
    most = [coarsest(of, of, [TENTH]) * HALF for of in (on_yard, on_own)]
    return Halves(half, half, *most)


class Dice:
    """Two bins, weighed at home and at the yard with an error of a tenth of a per cent."""

    def __init__(self, seed: int) -> None:
        self.draw = random.Random(seed)

    def told(self, own: str, yard: str, low: int, high: int, *, down: bool) -> tuple[int, int]:
        """How often it is told as certain that some was marked down, as scales print and as they may be."""
        true = [self.draw.uniform(low, high) for _ in range(2)]
        brought = [self.shown(each, own) for each in true]
        gone = min(true[0], self.draw.uniform(5, 60)) if down else 0.0
        on_ticket = [self.shown(each, yard) for each in (true[0] - gone, true[1] + gone)]
        there = [each for each in on_ticket if each]
        grades = ("brass", "irony-brass")
        lines = (
            a_line(grade, f"{each:.1f}", PRICES[grade])
            for grade, each in zip(grades, on_ticket, strict=True)
            if each
        )
        ticket = a_ticket(*lines)
        bins = [a_bin(grade, f"{each:.1f}") for grade, each in zip(grades, brought, strict=True)]
        before, now = (
            looked(ticket, *bins, halves=scales(brought, there, as_printed=as_printed))[1]
            for as_printed in (True, False)
        )
        return len(before), len(now)

    def shown(self, true: float, step: str) -> Decimal:
        """What a scale shows."""
        weighed = true * (1 + self.draw.gauss(0, 0.001))
        return Decimal(step) * round(weighed / float(step))


@pytest.mark.parametrize("seed", range(2))
def test_no_honest_ticket_is_told_as_marked_down(seed: int) -> None:
    """Nothing moved on any of 1,000 tickets, by scales that print tenths and weigh coarser: none is told as
    certain. As if they were as fine as they print, some are.
    """
    dice = Dice(seed)
    told = [dice.told(*each, down=False) for each in SCALES for _ in range(200)]
    before, now = map(sum, zip(*told, strict=True))
    assert (before > 20, now) == (True, 0)


def test_what_was_marked_down_is_told_as_before() -> None:
    """On 500 tickets 5 lb and more were marked down: as many are told as before, but for one in a hundred."""
    dice = Dice(2)
    told = [dice.told(*each, down=True) for each in SCALES for _ in range(100)]
    before, now = map(sum, zip(*told, strict=True))
    assert before > 250
    assert before * 99 / 100 <= now <= before
