"""Whatever a yard made of what was brought, by chance: all adds up, and what is suggested can be sent."""

from __future__ import annotations

import random
from collections.abc import AsyncIterator
from decimal import Decimal
from typing import Any

import pytest
from tests.api import World, empty_world
from tests.settlements.tickets import asking, line, open_yard, settled, ticket
from tests.valuations.market import shipped

from gradewright.settlements.told_schemas import SettlementOut

GRADES = [
    *("copper-bright", "copper-no1", "copper-no2", "copper-light", "wire-60", "wire-50", "brass-yellow"),
    *("aluminium-extrusion", "aluminium-sheet", "aluminium-cast", "aluminium-breakage", "stainless-18-8"),
    *("steel-heavy", "light-iron", "motors-copper"),
]
LABELS = {"copper-no1": "#1 Cu", "copper-no2": "#2 Cu"}
STEP = Decimal("0.5")


@pytest.fixture(scope="module")
async def settling(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The yard under a rulebook that ships."""
    async with empty_world(request, "sqlite") as made:
        await made.publish(shipped("2018.1"))
        yield await open_yard(made, furnish=True)


class Dice:
    """Draws what was brought, and what became of it at the yard."""

    def __init__(self, seed: int) -> None:
        self.draw = random.Random(seed)

    def price(self) -> Decimal:
        return Decimal(self.draw.randint(5, 400)) / 100

    def body(self) -> Any:
        prices = {grade: self.price() for grade in GRADES}
        brought = self.draw.sample(GRADES, self.draw.randint(1, 6))
        weights = {grade: STEP * self.draw.randint(2, 160) for grade in brought}
        on_ticket: dict[str, Decimal] = {}
        for grade, weight in weights.items():
            left = weight + self.draw.choice([0, 0, 0, STEP, -STEP, 2 * STEP])
            if self.draw.random() < 0.4:  # some or all of it is marked down, or up
                gone = left if self.draw.random() < 0.4 else STEP * (left // STEP // 2)
                lower = self.draw.choice(GRADES)
                on_ticket[lower] = on_ticket.get(lower, Decimal(0)) + gone
                left -= gone
            on_ticket[grade] = on_ticket.get(grade, Decimal(0)) + left
        lines = [self.line(grade, net, prices[grade]) for grade, net in on_ticket.items() if net > 0]
        self.draw.shuffle(lines)
        total = sum(Decimal(each["amount"]) for each in lines)
        sold = ticket(*lines, total=f"{total + self.draw.choice([0, 0, 1]):.2f}")
        bins: list[Any] = [{"grade": grade, "weight": f"{weight} lb"} for grade, weight in weights.items()]
        for each in bins:
            if self.draw.random() < 0.8:
                each["price"] = f"{prices[each['grade']]}"
        return {**asking(sold), "against": {"bins": bins}}

    def line(self, grade: str, net: Decimal, price: Decimal) -> Any:
        said = {} if grade in LABELS else {"grade": grade}
        if self.draw.random() < 0.1:
            said = {}
        more = {"deduction": f"{STEP} lb"} if self.draw.random() < 0.2 else {}
        label = LABELS.get(grade, grade)
        return line(label, f"{net}", f"{price}", f"{net * price:.2f}", **said, **more)


def as_written(meant: Any) -> list[Any]:
    """What is to be written under matches."""
    return [{name: told for name, told in each.items() if told is not None} for each in meant]


@pytest.mark.parametrize("seed", range(3))
async def test_what_is_suggested_can_be_sent(settling: World, seed: int) -> None:
    """Of many tickets: all parts add up, as documented; and whoever says of each line that it is what is
    suggested first, and of what may be marked down that it was, has no doubt left of those lines, and the
    same difference.
    """
    dice = Dice(seed)
    doubts = suggestions = 0
    for _ in range(40):
        asked = dice.body()
        found = await settled(settling, asked)
        SettlementOut.model_validate(found)
        assert sum(map(Decimal, found["effects"].values())) == Decimal(found["difference"])
        for group in found["groups"]:
            assert sum(map(Decimal, group["effects"].values())) == Decimal(group["difference"])
        unclear = found["unmatched"]["lines"]
        meant = [one["meant_together"] or one["meant"][:1] for one in unclear]
        matches = [match for one in meant for match in as_written(one)]
        taken = {match["line"] for match in matches}
        matches += [match for one in found["may_be_marked_down"] for match in as_written(one["meant"])]
        doubts, suggestions = doubts + len(found["may_be_marked_down"]), suggestions + len(taken)
        told = await settled(settling, {**asked, "matches": matches})
        assert told["difference"] == found["difference"]
        assert not {one["line"] for one in told["unmatched"]["lines"]} & taken
        assert {one["line"] for one in told["unmatched"]["lines"]} <= {one["line"] for one in unclear}
        assert not {n for one in told["may_be_marked_down"] for n in one["lines"]} & taken
    assert (doubts > 0, suggestions > 0) == (True, True)
