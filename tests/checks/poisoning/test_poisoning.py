"""The likely price against liars, by the simulation: through the real service, with the shipped rulebook.

A short course of it runs with the tests; all of it, with its table, by

    pytest tests/checks/poisoning -m campaign -s

which takes a quarter of an hour of a processor and prints what stands in tests/checks/poisoning/FIGURES.md.
"""

from __future__ import annotations

from collections.abc import Callable
from statistics import fmean

import pytest
from tests.checks.poisoning.market import (
    APART,
    CUNNING,
    GRADES,
    HONEST_ONLY,
    LIMITED,
    MADE_UP,
    STRATEGIES,
    Market,
    Strategy,
)
from tests.checks.poisoning.play import Course, play

SEEDS = (1, 2, 3)
LIMITS = {0.30: 0.03, 0.45: 0.07}
JUMP = 1.15
MakeUrl = Callable[..., str]


@pytest.mark.parametrize("kind", ["sqlite"])
@pytest.mark.parametrize("strategy", [STRATEGIES[0], STRATEGIES[3]], ids=str)
async def test_a_short_course(strategy: Strategy, kind: str, make_url: MakeUrl) -> None:
    """With 30 % liars the likely price stays within 3 % of the true one, in the mean of the fortnight and on
    its worst day: one seed, one share."""
    course = await play(make_url(kind), Market(strategy, 0.30, seed=1))
    assert course.error() <= LIMITS[0.30]
    assert course.worst_day() <= LIMITS[0.30]


async def test_an_honest_jump_is_followed(make_url: MakeUrl) -> None:
    """All yards move 15 % in a day, members see it at their next visit, within a week: so does the list."""
    course = await play(make_url("sqlite"), Market(HONEST_ONLY, 0, seed=1, jump=JUMP))
    assert course.of_day(0) > 0.10
    assert course.of_day(7) <= 0.03
    assert course.of_day(14) <= 0.03


@pytest.mark.campaign
@pytest.mark.parametrize("strategy", [*STRATEGIES, *MADE_UP, *(APART if LIMITED else ()), CUNNING], ids=str)
async def test_error_by_share_of_liars(strategy: Strategy, make_url: MakeUrl) -> None:
    """In the mean of the fortnight and of three courses at most 3 % at 30 % liars and 7 % at 45 %, but where
    they lie about one grade alone; and no day of any course worse than the strategy's worst."""
    grades = GRADES[: strategy.grades]
    for share in (0.0, 0.15, 0.30, 0.45):
        courses = [await play(make_url("sqlite"), Market(strategy, share, seed)) for seed in SEEDS]
        error = fmean(course.error(grades) for course in courses)
        worst = max(course.worst_day(grades) for course in courses)
        each = " ".join(f"{course.error(grades):.1%}" for course in courses)
        print(f"| {strategy.name} | {share:.0%} | {error:.1%} | {each} | {worst:.1%} |")
        assert worst <= strategy.worst[share > 0.30], f"{strategy.name}: {worst:.1%} on a day at {share:.0%}"
        if strategy is not CUNNING:
            assert error <= LIMITS.get(share, 0.03), f"{strategy.name}: {error:.1%} at {share:.0%} liars"


@pytest.mark.campaign
@pytest.mark.parametrize("strategy", [*STRATEGIES[:3], STRATEGIES[4], MADE_UP[0], MADE_UP[3]], ids=str)
async def test_one_author_moves_nothing(strategy: Strategy, make_url: MakeUrl) -> None:
    """One liar among 24: the likely price is as it would be without anything from them, but for 1.5 %."""
    moved = []
    for seed in SEEDS:
        market = Market(strategy, 1 / 24, seed)
        with_one = await play(make_url("sqlite"), market)
        again = Market(strategy, 1 / 24, seed)
        _, [liar] = again.authors()
        without = await play(make_url("sqlite"), Market(strategy, 1 / 24, seed), without=frozenset([liar]))
        moved += _apart(with_one, without)
    print(f"| one author: {strategy.name} | {fmean(moved):.2%} | {max(moved):.1%} |")
    assert fmean(moved) <= 0.015


@pytest.mark.campaign
async def test_a_jump_day_by_day(make_url: MakeUrl) -> None:
    """The course of an honest jump of 15 %, by day."""
    courses = [await play(make_url("sqlite"), Market(HONEST_ONLY, 0, seed, jump=JUMP)) for seed in SEEDS]
    by_day = [fmean(course.of_day(day) for course in courses) for day in range(len(courses[0].off))]
    print("| days after | " + " | ".join(str(day) for day in range(len(by_day))) + " |")
    print("| error | " + " | ".join(f"{error:.0%}" for error in by_day) + " |")
    assert by_day[7] <= 0.03


def _apart(one: Course, other: Course) -> list[float]:
    return [
        abs((1 + off[grade]) / (1 + without[grade]) - 1)
        for off, without in zip(one.off, other.off, strict=True)
        for grade in GRADES
    ]
