"""Hauls too large to try every plan, held against another solver: CBC 2.10.3, as PuLP 3.3 brings it.

The programme is written once more, as plainly as can be: no way is left out, no row is there to be quicker.
"""

from __future__ import annotations

from dataclasses import replace

import pulp
import pytest
from tests.core.haul.hauls import POUND, district

from gradewright.core.haul.best import best
from gradewright.core.haul.plan import Haul
from gradewright.core.rates import Payer

MINUTES = 20
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning:pulp")  # of its next major version


def most(haul: Haul) -> int:
    """What the best plan leaves, as CBC finds it; prices must rise with the weight."""
    model = pulp.LpProblem("haul", pulp.LpMaximize)

    def yes(*name: object) -> pulp.LpVariable:
        return pulp.LpVariable("_".join(str(each).replace("-", "x") for each in name), cat="Binary")

    worth, loads = [], {trip: [] for trip in range(haul.trips)}
    goes: dict[int, list[pulp.LpVariable]] = {lot: [] for lot in range(len(haul.lots))}
    for trip in range(haul.trips):
        made = yes("trip", trip)
        worth.append(-haul.costs.trip * made)
        for number, buyer in enumerate(haul.buyers):
            stop = yes("stop", trip, number)
            model += stop <= made
            own = haul.costs.stop if buyer.stop is None else buyer.stop
            worth.append((haul.costs.pile - own) * stop)
            piles = []
            for grade, steps in buyer.steps.items():
                taken = [lot for lot, each in enumerate(haul.lots) if grade in each.grades]
                for count, step in enumerate(steps):
                    pile = yes("pile", trip, number, grade, count)
                    model += pile <= stop
                    piles.append(pile)
                    ways = []
                    for lot in taken:
                        way = yes("way", trip, number, grade, count, lot)
                        model += way <= pile
                        grams = haul.lots[lot].grams
                        paid = Payer(buyer.rounding).amount(step.scale, grams.as_integer_ratio()).likely
                        worth.append(paid * way)
                        goes[lot].append(way)
                        ways.append(int(grams / POUND) * way)
                    loads[trip] += ways
                    model += pulp.lpSum(ways) >= max(1, int(step.from_grams / POUND)) * pile
            worth.append(-haul.costs.pile * pulp.lpSum(piles))
            model += pulp.lpSum(piles) >= stop
    for ways in goes.values():
        if ways:
            model += pulp.lpSum(ways) <= 1 if haul.hold_back else pulp.lpSum(ways) == 1
    if haul.load is not None:
        for ways in loads.values():
            model += pulp.lpSum(ways) <= int(haul.load / POUND)
    model += pulp.lpSum(worth)
    status = model.solve(pulp.PULP_CBC_CMD(msg=False, gapRel=0, gapAbs=0.5, timeLimit=MINUTES * 60))
    assert pulp.LpStatus[status] == "Optimal"
    return round(pulp.value(model.objective))


def agree(haul: Haul) -> None:
    """Both leave the same, and both say that nothing leaves more."""
    told = best(haul, MINUTES * 60)
    assert told.best.proved
    assert told.best.worth == most(haul)


@pytest.mark.parametrize("seed", [1, 2])
def test_twelve_bins_at_four_yards(seed: int) -> None:
    """Of a haul of 12 bins and 4 yards another solver finds a plan that leaves the same, and none better."""
    agree(district(seed, 12, 4))


def test_stops_that_cost_what_each_yard_says() -> None:
    """The same where some yards have a stop cost of their own: none at all, or ten times the common one."""
    haul = district(3, 12, 4)
    buyers = (replace(each, stop=[None, 0, None, 3000][n]) for n, each in enumerate(haul.buyers))
    agree(replace(haul, buyers=tuple(buyers)))


@pytest.mark.campaign
@pytest.mark.parametrize("seed", range(20))
def test_forty_bins_at_twelve_yards(seed: int) -> None:
    """The same of 40 bins and 12 yards."""
    agree(district(seed, 40, 12))


@pytest.mark.campaign
@pytest.mark.parametrize("seed", range(6))
def test_ten_bins_on_two_trips(seed: int) -> None:
    """The same of 10 bins and 3 yards where a trip carries 200 lb, on up to three trips."""
    agree(district(seed, 10, 3, load=200, trips=3))
