"""Every point of a series is the price list of its day: of a region and of a yard, whatever was said."""

from __future__ import annotations

from collections.abc import AsyncIterator
from datetime import date, timedelta
from typing import Any

import pytest
from tests.api import World, empty_world, price, problem_of, settle, small_rulebook
from tests.conftest import KINDS
from tests.prices.test_held import of as posting_of
from tests.prices.test_histories import HELD, STANDING

GRADE = "copper-no2"
PLACES = {"region": "XO-KEL", "yard": "tern-row"}
PATHS = {"region": f"/v1/prices/XO-KEL/{GRADE}/series", "yard": f"/v1/yards/tern-row/prices/{GRADE}/series"}
FIGURES = ("low", "likely", "high")
BASIS = ("yards", "entries", "newest", "oldest", "thin")
REASON = {"reason": "as it was told at the gate"}


def judging(**pricing: Any) -> dict[str, Any]:
    """The small rulebook, with rules for what waits and for standing."""
    document = small_rulebook()
    document["pricing"] |= {"held": HELD, "standing": STANDING, **pricing}
    return document


async def told_by_lists(world: World, kind: str, days: list[str], **asked: Any) -> list[dict[str, Any]]:
    """What the price list of each day says of the grade from the place's own yards, as a point would."""
    found = []
    for on in days:
        line = await world.priced(GRADE, **{kind: PLACES[kind]}, on=on, **asked)
        own = line if line.get("basis", {}).get("kind") == kind else {}
        if "weight" not in asked and own.get("from_weight") is not None:
            own = {}  # only larger lots have that price
        none = {"yards": 0, "entries": 0, "thin": False}
        basis = own.get("basis", none)
        found.append({"on": on, **{n: own.get(n) for n in FIGURES}, **{n: basis.get(n) for n in BASIS}})
    return found


def as_listed(points: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The points, without what a price list does not say."""
    return [{name: point[name] for name in ("on", *FIGURES, *BASIS)} for point in points]


@pytest.fixture(scope="module", params=KINDS)
async def market(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """Three yards and six members over six weeks: a price that waits, one taken back, one for larger lots."""
    async with empty_world(request, request.param) as world:
        yield await traded(world)


async def traded(world: World) -> World:
    """The district with that in it."""
    await world.publish(judging(held={**HELD, "enough_yards": 2}))
    await settle(world)
    for who, yard, amount, on in (
        ("wren", "low-quay", "3.30", "2026-04-01"),
        ("dunlin", "low-quay", "3.40", "2026-04-03"),
        ("siskin", "tern-row", "3.22", "2026-04-08"),
        ("shrike", "tern-row", "3.35", "2026-04-10"),
        ("avocet", "cinder-lane", "3.27", "2026-04-12"),
        ("siskin", "tern-row", "3.45", "2026-04-22"),
    ):
        await world.post(price(GRADE, amount), who=who, yard=yard, on=on)
    lots = (price(GRADE, "3.25"), price(GRADE, "3.60", from_weight="100 lb"))
    await world.post(*lots, who="plover", yard="tern-row", on="2026-04-15")
    wrong = await world.post(price(GRADE, "33.0"), who="shrike", yard="tern-row", on="2026-04-20")
    assert (await posting_of(world, wrong["id"], "shrike"))["prices"][0]["status"] == "held"
    slip = await world.post(price(GRADE, "3.05"), who="avocet", yard="cinder-lane", on="2026-04-25")
    taken = await world.send(f"/v1/postings/{slip['id']}/withdrawal", REASON, "avocet")
    assert taken.status_code == 201, taken.text
    return world


@pytest.mark.parametrize("weight", [None, "150 lb"])
@pytest.mark.parametrize("kind", PLACES)
async def test_each_point_is_the_list_of_its_day(market: World, kind: str, weight: str | None) -> None:
    """Low, likely, high and what they rest on are those of the list of the day, the last one included; with
    the price that waits, the one taken back and the one for larger lots, also for a lot that has it.
    """
    asked = {} if weight is None else {"weight": weight}
    span = {"from_": "2026-04-19", "to": "2026-05-04", "step": "day"}
    found = await market.get(PATHS[kind], **span, **asked)
    points = found["points"]
    assert as_listed(points) == await told_by_lists(market, kind, [point["on"] for point in points], **asked)
    assert points[-1]["on"] == "2026-05-04"
    figures = {point[name] for point in points for name in FIGURES}
    assert len(figures) > 3
    assert not figures & {"33.0", "3.05"}
    assert found["weight"] == weight


async def test_a_lot_changes_a_series(market: World) -> None:
    """The price for larger lots is in the series of such a lot, and in no other."""
    usual = await market.get(PATHS["yard"], to="2026-04-16", from_="2026-04-15", step="day")
    larger = await market.get(PATHS["yard"], to="2026-04-16", from_="2026-04-15", step="day", weight="100 lb")
    assert {point["high"] for point in usual["points"]} != {point["high"] for point in larger["points"]}
    refused = await market.client.get(PATHS["yard"], params={"weight": "a ton"})
    assert [error.parameter for error in problem_of(refused, "invalid-request").errors] == ["weight"]


@pytest.mark.parametrize("kind", PLACES)
async def test_each_point_as_known_at_a_revision(market: World, kind: str) -> None:
    """Before each of the last writes and after it, the series is that of the lists known at that revision."""
    newest = await market.revision()
    days = {"from_": "2026-04-14", "to": "2026-05-04", "step": "week"}
    seen = []
    for known_at in range(newest - 4, newest + 1):
        found = await market.get(PATHS[kind], known_at=known_at, **days)
        assert found["known_at"] == known_at
        points = as_listed(found["points"])
        expected = await told_by_lists(market, kind, [p["on"] for p in points], known_at=known_at)
        assert points == expected
        seen.append(points)
    assert seen[0] != seen[1]  # a price for any lot came
    if kind == "region":
        assert seen[3] != seen[4]  # one of another yard was taken back


async def two_rulebooks(world: World) -> World:
    """A second version from 1 April on: prices are stale sooner, and two yards are enough."""
    await world.publish(small_rulebook())
    await settle(world)
    for who, yard, amount, on in (
        ("wren", "low-quay", "3.30", "2026-01-10"),
        ("dunlin", "tern-row", "3.40", "2026-03-12"),
        ("shrike", "tern-row", "3.00", "2026-04-02"),
        ("avocet", "cinder-lane", "3.27", "2026-04-20"),
    ):
        await world.post(price(GRADE, amount), who=who, yard=yard, on=on)
    world.later(hours=1)
    later = judging(stale_after=20, thin_below=2, thin_margin="25 %")
    await world.publish({**later, "version": "2026.1", "effective_from": "2026-04-01"})
    return world


async def test_each_point_is_by_the_rulebook_of_its_day(world_without_rulebook: World) -> None:
    """Where a span has days of two versions each point is by its own, as the day's price list is, and tells
    which; the series tells that of its last day. As known before the second was published all are by the
    first.
    """
    world = await two_rulebooks(world_without_rulebook)
    span = {"from_": "2026-03-28", "to": "2026-04-04", "step": "day"}
    for kind in PLACES:
        found = await world.get(PATHS[kind], **span)
        points = found["points"]
        assert as_listed(points) == await told_by_lists(world, kind, [point["on"] for point in points])
        turn = date(2026, 4, 1)
        expected = ["2026.1" if date.fromisoformat(p["on"]) >= turn else "2020.1" for p in points]
        assert [point["rulebook"] for point in points] == expected
        assert found["rulebook"] == "2026.1"
    by_day = {point["on"]: point["entries"] for point in (await world.get(PATHS["region"], **span))["points"]}
    assert (by_day["2026-03-31"], by_day["2026-04-01"]) == (2, 1)  # January's is stale by the second

    known = await world.revision() - 1
    before = await world.get(PATHS["region"], **span, known_at=known)
    assert {point["rulebook"] for point in before["points"]} == {"2020.1"}
    days = [point["on"] for point in before["points"]]
    assert as_listed(before["points"]) == await told_by_lists(world, "region", days, known_at=known)


async def test_days_before_any_rulebook_have_no_point(world: World) -> None:
    """A series can begin before the first version, where a price list is refused: there it has no price."""
    await world.post(price(GRADE, "3.30"), on="2020-01-01")
    asked = {"from_": "2019-12-30", "to": "2020-01-02", "step": "day"}
    points = (await world.get(PATHS["region"], **asked))["points"]
    assert [(point["likely"], point["rulebook"]) for point in points] == [
        (None, None), (None, None), ("3.30", "2020.1"), ("3.30", "2020.1"),
    ]  # fmt: skip
    refused = await world.client.get("/v1/prices", params={"region": "XO-KEL", "on": "2019-12-31"})
    problem_of(refused, "no-rulebook-in-force")


async def test_days_on_which_a_grade_was_none_have_no_point(world: World) -> None:
    """A grade that an older version does not have has no price on that version's days."""
    document = small_rulebook()
    document["grades"]["brass"] = {
        "name": "Brass", "family": "copper", "describes": "Yellow.", "by_name_only": True,
    }  # fmt: skip
    await world.publish({**document, "version": "2026.1", "effective_from": "2026-05-02"})
    await world.post(price("brass", "1.90"), on="2026-05-02")
    path, span = "/v1/prices/XO-KEL/brass/series", {"from_": "2026-04-30", "step": "day"}
    points = (await world.get(path, **span))["points"]
    assert [point["likely"] for point in points] == [None, None, "1.90", "1.90", "1.90"]
    to_before = date(2026, 5, 2) - timedelta(days=1)
    problem_of(await world.client.get(path, params={"to": str(to_before)}), "unknown-grade", 404)
