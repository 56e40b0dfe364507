"""Hauls that cannot be planned as asked say why, and where."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest

from gradewright.core.errors import Refused
from gradewright.core.haul.best import best
from gradewright.core.haul.found import Told
from gradewright.core.haul.plan import Buyer, Step
from gradewright.hauls.bins import Bin
from gradewright.hauls.cheaper import refuse_dearer
from gradewright.hauls.solving import MOST_WAITING, Busy, Solving, Stopping
from tests.api import World, problem_of
from tests.core.haul.hauls import district, steps
from tests.hauls.asking import PATH, bin_of

COPPER = bin_of("copper-no1", "10 lb")
MANY = [bin_of("copper-no1", "1 lb", lots=30), bin_of("copper-no2", "1 lb", lots=11)]
REFUSED: list[tuple[dict[str, Any], str, list[str]]] = [
    ({"bins": [bin_of("nosuch", "x lb"), bin_of("copper-no1", "0 g")]}, "invalid-request",
     ["/bins/0/weight", "/bins/0/grade", "/bins/1/weight"]),
    ({"bins": [{**COPPER, "lower_to": ["light-iron", "nosuch"]}]}, "unknown-grade", ["/bins/0/lower_to/1"]),
    ({"bins": [bin_of("copper-no2", "9 lb", lower_to=["copper-light", "copper-bright"]), COPPER]},
     "invalid-request", ["/bins/0/lower_to/1"]),
    ({"bins": [COPPER, bin_of("light-iron", "9 lb", lower_to=["copper-no2", "brass-yellow"])]},
     "invalid-request", ["/bins/1/lower_to/0", "/bins/1/lower_to/1"]),
    ({"bins": MANY}, "invalid-request", ["/bins"]),
    ({"bins": [COPPER], "costs": {"trip": "1.005", "pile": "0.001"}}, "invalid-request",
     ["/costs/trip", "/costs/pile"]),
    ({"bins": [COPPER], "costs": {"stop_at": {"low-quay": "0.001", "ember-end": "1"}}}, "invalid-request",
     ["/costs/stop_at/low-quay", "/costs/stop_at/ember-end"]),
    ({"bins": [COPPER], "load": "5"}, "invalid-request", ["/load"]),
    ({"bins": [COPPER, COPPER], "load": "10 lb", "trips": 1}, "invalid-request", ["/trips"]),
    ({"bins": [COPPER], "region": None, "yards": ["low-quay", "nosuch"]}, "unknown-yard", ["/yards/1"]),
    ({"bins": [COPPER], "region": "XO-FEN"}, "currency-mismatch", ["/region"]),
    ({"valuation": "v-00"}, "invalid-request", ["/valuation"]),
    ({"bins": [COPPER], "known_at": 999999}, "invalid-request", ["/known_at"]),
    ({"bins": [COPPER], "rulebook": "1999.1"}, "no-rulebook-in-force", ["/rulebook"]),
]  # fmt: skip


@pytest.mark.parametrize(("asked", "kind", "pointers"), REFUSED)
async def test_faults_are_pointed_at(
    yards: World, asked: dict[str, Any], kind: str, pointers: list[str]
) -> None:
    """Each fault of a haul is told with its place, all of them at once."""
    body = {name: value for name, value in {"region": "XO-KEL", **asked}.items() if value is not None}
    problem = problem_of(await yards.send(PATH, body), kind)
    assert [error.pointer for error in problem.errors or ()] == [f"#{pointer}" for pointer in pointers]


@pytest.mark.parametrize(
    "asked",
    [
        {"region": "XO-KEL"},
        {"bins": [COPPER]},
        {"bins": [COPPER], "valuation": "v-00", "region": "XO-KEL"},
        {"bins": [COPPER], "region": "XO-KEL", "yards": ["low-quay"]},
        {"bins": [COPPER], "yards": ["low-quay", "low-quay"]},
    ],
)
async def test_one_thing_or_the_other(yards: World, asked: dict[str, Any]) -> None:
    """Bins or a valuation, a region or yards, each yard once: anything else is refused."""
    problem_of(await yards.send(PATH, asked), "invalid-request")


async def test_what_may_be_written_instead_of_a_dearer_grade(yards: World) -> None:
    """A grade that is above the bin's own, or that is paid more for wherever both are bought, is named as no
    cheaper one, with those below the bin's.
    """
    bins = [
        bin_of("copper-no2", "9 lb", lower_to=["copper-bright"]),
        bin_of("glass", "9 lb", lower_to=["lead-soft"]),
    ]
    above = problem_of(await yards.send(PATH, {"bins": bins, "region": "XO-KEL"}), "invalid-request")
    (error,) = above.errors or ()  # nobody prices glass or lead: whether one is cheaper cannot be told
    assert error.detail == (
        "Bare bright copper wire is above Copper No. 2, and no cheaper grade. Write some of copper-light, "
        "copper-breakage, or an empty list."
    )
    assert error.suggestions == ["copper-light", "copper-breakage"]
    bins = [bin_of("brass-yellow", "9 lb", lower_to=["copper-no1"])]
    asked = {"bins": bins, "yards": ["tern-row"]}
    (error,) = problem_of(await yards.send(PATH, asked), "invalid-request").errors or ()
    assert error.detail.startswith(
        "Every yard asked about that buys both pays more for Copper No. 1 than for"
    )
    low_quay = {**asked, "yards": ["low-quay"]}  # it buys no brass
    assert (await yards.send(PATH, low_quay)).status_code == 200


async def test_a_grade_that_not_all_pay_more_for_may_be_cheaper(yards: World) -> None:
    """Of two grades that are not above each other one yard pays more for the one, another for the other: a
    bin may go down. Where the latter is not asked about it may not.
    """
    grades = (await yards.services.rulebooks.get("2027.2")).rulebook.grades
    asked = [Bin("valves", ("brass-yellow", "copper-no1"), Decimal(4000), "4 kg", 1, ("copper-no1",))]
    dear = buying({"brass-yellow": steps((0, 200)), "copper-no1": steps((0, 370))})
    cheap = buying({"brass-yellow": steps((0, 200)), "copper-no1": steps((0, 190))})
    refuse_dearer(asked, [dear, cheap], grades)
    with pytest.raises(Refused, match="Every yard asked about that buys both pays more"):
        refuse_dearer(asked, [dear], grades)


def buying(prices: dict[str, tuple[Step, ...]]) -> Any:
    """A yard's offers, as far as they are looked at."""
    return SimpleNamespace(buyer=lambda: Buyer(prices))


async def test_bounds_in_words(yards: World) -> None:
    """What is beyond a bound is told with the bound, in words that say what to write."""
    asked = {
        "bins": [{**COPPER, "lots": 99}, {**COPPER, "lots": 0}],
        "yards": ["low-quay"] * 13,
        "seconds": 1,
    }
    problem = problem_of(await yards.send(PATH, asked), "invalid-request")
    assert [error.detail for error in problem.errors or ()] == [
        "write 40 or less",
        "write 1 or more",
        "there are 13 of these; give at most 12",
    ]


async def test_an_empty_region(yards: World) -> None:
    """A region without yards is refused, with what to do."""
    from gradewright.accounts.service import Role

    region = {"code": "XO-BAR", "name": "Bare", "parent": "XO", "currency": "USD", "unit": "lb"}
    assert (await yards.send("/v1/regions", region, "sedge", Role.MAINTAINER)).status_code == 201
    problem = problem_of(await yards.send(PATH, {"bins": [COPPER], "region": "XO-BAR"}), "invalid-request")
    assert "no yard" in problem.detail


async def test_too_many_wait() -> None:
    """Who comes when as many wait as may is told so; when they are through, the next is worked out."""
    solving = Solving()
    solving._waiting = MOST_WAITING
    with pytest.raises(Busy):
        await solving.of(lambda _: 1)
    solving._waiting = 0
    assert await solving.of(lambda _: 1) == 1
    solving.close()


async def test_the_service_stops() -> None:
    """A haul that is being worked out when the service is stopped ends soon, and its asker is told why."""
    solving = Solving()

    def work(stopped: Callable[[], bool]) -> Told:
        loop.call_soon_threadsafe(solving.close)
        return best(hard, 600, stopped)

    loop, hard = asyncio.get_running_loop(), district(2, 40, 12, load=300, trips=6)
    with pytest.raises(Stopping):
        await solving.of(work)
    solving.open()
    assert await solving.of(lambda stopped: stopped()) is False
    solving.close()
