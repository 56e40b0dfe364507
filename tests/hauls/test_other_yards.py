"""What is said of the best of another choice of yards: figures that are proved, and bounds as bounds."""

from __future__ import annotations

import pytest

from gradewright.core.haul.found import Best, Told
from gradewright.hauls.other_yards import found_less, none_found

GOING = "Going to Low Quay"
BY_FOUND = "leaves 20 less, by the best plan found; "


def said(first: tuple[int, int], second: tuple[int, int], method: str = "2") -> str:
    """The sentence on a first and a second choice, each with its worth and its bound."""
    best, other = (Best((), *each) for each in (first, second))
    return found_less(GOING, Told(best, other, True, {}, False), other, str, method)


@pytest.mark.parametrize(
    ("first", "second", "says"),
    [
        ((900, 900), (880, 880), "leaves 20 less."),
        ((900, 900), (900, 900), "leaves the same."),
        (
            (900, 900),
            (880, 895),
            BY_FOUND + "the best of any other choice of yards leaves between 5 and 20 less.",
        ),
        (
            (900, 950),
            (880, 900),
            BY_FOUND + "the best of any other choice of yards leaves between 0 and 20 less.",
        ),
        (
            (900, 950),
            (880, 930),
            BY_FOUND + "of any other choice of yards none leaves more than 30 above what this plan leaves.",
        ),
        (
            (900, 950),
            (900, 950),
            "leaves the same, by the best plan found; of any other choice of yards none leaves more than 50 "
            "above what this plan leaves.",
        ),
    ],
)
def test_a_bound_is_told_as_one(first: tuple[int, int], second: tuple[int, int], says: str) -> None:
    """Only what is proved is one figure; else it lies between what is proved and what was found."""
    assert said(first, second) == f"{GOING} {says}"


def test_by_method_1_it_was_a_figure_or_less() -> None:
    """What was kept by method 1 is told in its words."""
    assert said((900, 900), (880, 895), "1") == f"{GOING} leaves 20 less, or less than that."
    assert said((900, 900), (880, 880), "1") == f"{GOING} leaves 20 less."
    assert (
        none_found(Told(Best((), 1, 1), None, False, {}, False), "1") == "None was found in the time given."
    )


@pytest.mark.parametrize(("by_clock", "within"), [(True, "time"), (False, "work")])
def test_none_found_is_not_none(by_clock: bool, within: str) -> None:
    """That none was found is told with what ended the search, and not as if there were none."""
    first = Best((), 900, 950)
    told = none_found(Told(first, None, False, {}, by_clock), "2")
    assert told == f"No plan for another choice of yards was found in the {within} given. There may be one."
    assert none_found(Told(first, None, True, {}, by_clock), "2") == "There is no other choice of yards."
