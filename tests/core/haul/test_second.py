"""The best of another choice of yards, where the work is too little to prove it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from tests.core.haul.hauls import POUND, Tried, district, must_go, steps, tried

from gradewright.core.haul.best import best
from gradewright.core.haul.found import Told
from gradewright.core.haul.plan import Buyer, Haul, Lot, Place, Plan, reckon
from gradewright.core.haul.solver import Guard


@pytest.fixture(scope="module", params=[(1, True), (2, False)], ids=["held-back", "all-goes"])
def found(request: pytest.FixtureRequest) -> tuple[Haul, Told]:
    """Forty bins for three yards, 400 lb to a trip, in less work than proves anything."""
    seed, hold_back = request.param
    haul = replace(district(seed, 40, 3, load=400, trips=5), hold_back=hold_back)
    return haul, best(haul, 1.0)


def beside(haul: Haul, first: Plan) -> Iterator[Tried]:
    """The plans that differ from the first in one lot, or leave out a yard, and so in where they go."""
    buyers, must = reckon(haul, first).buyers, must_go(haul)
    for left_out in buyers if haul.hold_back else ():
        plan = tuple(None if at is None or at.buyer == left_out else at for at in first)
        if (rest := tried(haul, plan)) is not None:
            yield rest
    for lot, each in enumerate(haul.lots):
        at = first[lot]
        trips = range(haul.trips) if at is None else (at.trip,)
        to: list[Place | None] = [None] if lot not in must or haul.hold_back else []
        to += [Place(t, buyer, grade) for t in trips for buyer in range(3) for grade in each.grades]
        for place in to:
            found = tried(haul, (*first[:lot], place, *first[lot + 1 :]))
            if found is not None and found.buyers != buyers:
                yield found


def test_it_is_no_worse_than_what_lies_beside_the_best(found: tuple[Haul, Told]) -> None:
    """Whatever one lot of the best plan, or leaving out one of its yards, can do to make another choice of
    yards, the second choice leaves as much.
    """
    haul, told = found
    near = [each.worth for each in beside(haul, told.best.plan)]
    assert near
    assert told.second is not None
    assert told.second.worth >= max(near)
    assert reckon(haul, told.second.plan).buyers != reckon(haul, told.best.plan).buyers
    assert reckon(haul, told.second.plan).worth == told.second.worth


def test_it_is_not_said_to_leave_more_than_any_plan(found: tuple[Haul, Told]) -> None:
    """Neither is proved; still no plan of another choice leaves more than the bound of all."""
    _, told = found
    assert told.second is not None
    assert not told.best.proved
    assert not told.second.proved
    assert told.second.worth <= told.second.bound <= told.best.bound


def test_the_same_is_found_again(found: tuple[Haul, Told], monkeypatch: pytest.MonkeyPatch) -> None:
    """The work that is counted decides what is found: without any clock to end it, it is the same."""
    monkeypatch.setattr("gradewright.core.haul.best.Guard", lambda *_, **more: Guard(**more))
    haul, _ = found
    first, again = (best(haul, 0.5) for _ in range(2))
    assert not first.by_clock
    assert again == first


def test_a_yard_is_left_out_without_any_work() -> None:
    """All that goes to one of two yards goes to the other, where it is paid less, or stays, where it is paid
    nothing: found without a search, and not called the best.
    """
    rich = Buyer({"tin": steps((0, 12)), "zinc": steps((0, 30))})
    poor = Buyer({"tin": steps((0, 10)), "lead": steps((0, 50))})
    lots = (Lot(0, 10 * POUND, ("tin",)), Lot(1, POUND, ("zinc",)), Lot(2, POUND, ("lead",)))
    haul = Haul(lots, (rich, poor), hold_back=True)
    told = best(haul, 0)
    assert told.second is not None
    assert (told.best.worth, told.second.worth) == (200, 150)
    assert told.second.plan == (Place(0, 1, "tin"), None, Place(0, 1, "lead"))
    assert not told.second.proved
