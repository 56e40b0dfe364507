"""A search ends after so much work, and only else by the clock or by whoever stops it."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from tests.core.haul.hauls import POUND, district, steps
from tests.core.haul.large import times

from gradewright.core.haul.best import best
from gradewright.core.haul.model import Model
from gradewright.core.haul.plan import Buyer, Haul, Lot
from gradewright.core.haul.solver import Guard


@pytest.fixture(scope="module")
def hard() -> Haul:
    """Forty bins for three yards, 400 lb to a trip: far from proved in the work that is allowed below."""
    return replace(district(1, 40, 3, load=400, trips=3), hold_back=True)


def test_the_same_work_finds_the_same(hard: Haul) -> None:
    """Ended by its work, without a clock, a search has the same plan, the same bound and the same count."""
    found = []
    for _ in range(2):
        model = Model(hard, guard=Guard())
        found.append(model.most(model.worth(), 0.5))
        assert not model.guard.ended
    first, again = found
    assert (first.finished, first.plan is not None) == (False, True)
    assert first == again
    assert 0.5 <= first.seconds < 1


def test_more_work_finds_no_less(hard: Haul) -> None:
    """What is found in less work is on the way to what is found in more: bounds only fall, worths rise."""
    model = Model(hard)
    little, much = (model.most(model.worth(), seconds) for seconds in (0.5, 1.0))
    assert much.seconds > little.seconds
    assert much.bound <= little.bound


def test_a_clock_that_is_over_is_told(hard: Haul) -> None:
    """Where the clock or whoever stops it ends a search, and not its work, guard and answer say so."""
    for guard in (Guard(1e-6), Guard(stopped=lambda: True)):
        model = Model(hard, guard=guard)
        assert not model.most(model.worth(), 600).finished
        assert guard.ended
    assert best(hard, 60, lambda: True).by_clock
    small = Haul((Lot(0, 5 * POUND, ("tin",)),), (Buyer({"tin": steps((0, 20))}),))
    assert not best(small, 60).by_clock


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_forty_bins_and_twelve_yards_are_proved(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """In as much work as five seconds are, whatever a clock says: the same on every machine."""
    monkeypatch.setattr("gradewright.core.haul.best.Guard", lambda *_, **more: Guard(**more))
    told = best(district(seed, 40, 12), 5)
    assert told.best.proved
    assert not told.by_clock


@pytest.mark.parametrize("seed", [1, 2, 8])
def test_forty_bins_and_twelve_yards_are_proved_at_large_amounts(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In as much work, all that is told, where amounts are a hundred million times as large and a bit off."""
    monkeypatch.setattr("gradewright.core.haul.best.Guard", lambda *_, **more: Guard(**more))
    told = best(times(district(seed, 40, 12), 10**8, random.Random(seed)), 5)
    assert told.best.worth > 10**12
    assert told.best.proved
    assert told.second is not None
    assert told.second.proved
    assert all(goes is None or goes.proved for goes in told.goes_from.values())
