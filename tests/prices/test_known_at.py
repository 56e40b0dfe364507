"""What was true on a day, as it was known at a revision or an instant."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from tests.api import YARDS, World, only, price, problem_of, small_rulebook, where

from gradewright.accounts.service import Role

FIRST = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)
SECOND = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
THIRD = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
A_MOMENT = timedelta(microseconds=1)


@pytest.fixture
async def history(world: World) -> World:
    """Three postings of one author at one yard; the third is about a day before the second.

    Recorded 1 May: 3.00 seen on 30 April. Recorded 2 May: 3.40 seen that day. Recorded 4 May: 3.20 seen
    on 1 May.
    """
    world.clock.now = FIRST
    await world.post(price("copper-no1", "3.00"), on="2026-04-30")
    world.clock.now = SECOND
    await world.post(price("copper-no1", "3.40"), on="2026-05-02")
    world.clock.now = THIRD
    await world.post(price("copper-no1", "3.20"), on="2026-05-01")
    return world


@pytest.fixture
def clock(clock: Any) -> Any:
    """The district was made before anything was posted."""
    clock.now = FIRST - timedelta(hours=1)
    return clock


CASES = [
    # on, postings known then (counted from the end of the history), the price
    pytest.param("2026-05-04", 3, "3.40", id="the newest day wins, not the latest word"),
    pytest.param("2026-05-02", 3, "3.40", id="on the day itself"),
    pytest.param("2026-05-01", 3, "3.20", id="a backdated posting is known now"),
    pytest.param("2026-05-01", 2, "3.00", id="and was not known before it came"),
    pytest.param("2026-05-01", 1, "3.00", id="nor before that"),
    pytest.param("2026-05-04", 2, "3.40", id="a later posting was known from its revision on"),
    pytest.param("2026-05-04", 1, "3.00", id="and not before"),
    pytest.param("2026-04-30", 3, "3.00", id="the first day"),
    pytest.param("2026-04-29", 3, None, id="the day before the first"),
    pytest.param("2026-05-04", 0, None, id="known before the first posting"),
    pytest.param("2026-04-30", 0, None, id="the first day, known before the first posting"),
]


@pytest.mark.parametrize(("on", "postings", "likely"), CASES)
async def test_on_a_day_as_known_at_a_revision(
    history: World, on: str, postings: int, likely: str | None
) -> None:
    """The table of days against revisions; the answer names the revision that was asked for."""
    known_at = await history.revision() - 3 + postings
    found = await history.get("/v1/prices", region="XO-KEL", grade="copper-no1", on=on, known_at=known_at)
    assert found["known_at"] == known_at
    assert [line["likely"] for line in found["prices"]] == ([likely] if likely else [])


INSTANTS = [
    pytest.param(FIRST - A_MOMENT, 0, id="a moment before the first posting"),
    pytest.param(FIRST, 1, id="at the instant of the first"),
    pytest.param(SECOND - A_MOMENT, 1, id="a moment before the second"),
    pytest.param(SECOND, 2, id="at the instant of the second"),
    pytest.param(THIRD - A_MOMENT, 2, id="a moment before the third"),
    pytest.param(THIRD + timedelta(days=9), 3, id="in the future"),
]


@pytest.mark.parametrize(("instant", "postings"), INSTANTS)
@pytest.mark.parametrize("hours", [0, 14, -9.5])
async def test_an_instant_is_a_revision(
    history: World, instant: datetime, postings: int, hours: float
) -> None:
    """An instant, in whatever zone, means the newest revision recorded by then: the answers are the same."""
    local = instant.astimezone(UTC) + timedelta(hours=hours)
    sign, minutes = "-" if hours < 0 else "+", int(abs(hours) * 60)
    text = f"{local.replace(tzinfo=None).isoformat()}{sign}{minutes // 60:02}:{minutes % 60:02}"
    by_instant = await history.get("/v1/prices", region="XO-KEL", known_at=text)
    by_number = await history.get(
        "/v1/prices", region="XO-KEL", known_at=await history.revision() - 3 + postings
    )
    assert by_instant == by_number


async def test_an_instant_without_its_zone_is_shown_one_with_it(history: World) -> None:
    """Neither a revision nor an instant: the example is of what was meant, an instant with its zone."""
    response = await history.client.get("/v1/prices?region=XO-KEL&known_at=2026-05-01T08:00:00")
    fault = only(problem_of(response, "invalid-request"))
    assert fault.parameter == "known_at"
    assert fault.detail == (
        "write a revision of the ledger (312), or an instant with its zone as in RFC 3339, "
        'such as "2026-05-04T09:12:00Z"'
    )


async def test_before_the_region_was_made(history: World) -> None:
    """As known at an instant before the district was made, there is no such region."""
    assert (await history.get("/v1/prices", region="XO-KEL", known_at=3))["known_at"] == 3
    response = await history.client.get("/v1/prices?region=XO-KEL&known_at=1")
    assert where(problem_of(response, "unknown-region")) == ["region"]
    response = await history.client.get("/v1/prices?yard=low-quay&known_at=1")
    problem_of(response, "unknown-region")


async def test_before_any_rulebook_was_published(history: World) -> None:
    """As known at an instant before the first rulebook was published, there is none to answer by."""
    for known_at in ("2026-05-01T07:59:59Z", "0"):
        response = await history.client.get(f"/v1/prices?region=XO-KEL&known_at={known_at}")
        assert where(problem_of(response, "no-rulebook-in-force")) == ["known_at"]


async def test_a_rulebook_that_came_later_does_not_answer_for_before(history: World) -> None:
    """As known at a revision, prices and valuations go by the rulebook that was published by then."""
    known_at = await history.revision()
    asked = {"region": "XO-KEL", "on": "2026-05-04", "known_at": known_at}
    valued = {**asked, "parts": [{"name": "pipe", "weight": "1 lb", "grade": "copper-no1"}]}
    series = {"from_": "2026-05-01", "to": "2026-05-04", "step": "day", "known_at": known_at}

    async def answers() -> list[Any]:
        listed = await history.get("/v1/prices", **asked)
        points = await history.get("/v1/prices/XO-KEL/copper-no1/series", **series)
        return [listed, points, (await history.send("/v1/valuations", valued)).json()]

    before = await answers()
    await history.publish(small_rulebook(version="2026.1", effective_from="2026-05-02"))
    assert await answers() == before
    newest = await history.get("/v1/prices", region="XO-KEL", on="2026-05-04")
    assert (before[0]["rulebook"], newest["rulebook"]) == ("2020.1", "2026.1")


async def test_how_long_a_price_counts_is_by_the_rulebook_known_then(history: World) -> None:
    """A price of three days ago is "stale" by a version that came later; as known before that, it counts."""
    known_at = await history.revision()
    (first,) = (await history.get("/v1/postings", region="XO-KEL", limit=100))["postings"][-1:]
    short = small_rulebook(version="2026.1", effective_from="2026-05-02")
    short["pricing"] |= {"stale_after": 1}
    await history.publish(short)
    headers = await history.key("wren")
    path = f"/v1/postings/{first['id']}"
    shown = {}
    for asked in ({}, {"known_at": str(known_at - 2)}):
        found = (await history.client.get(path, params=asked, headers=headers)).json()
        shown[asked.get("known_at")] = [line["status"] for line in found["prices"]]
    assert shown == {None: ["stale"], str(known_at - 2): ["counts"]}


async def test_an_old_answer_stays_as_it_was(history: World) -> None:
    """The list as known at a revision is the same after later postings, also by another worker's memory."""
    known_at = await history.revision() - 1
    asked = {"region": "XO-KEL", "on": "2026-05-04", "known_at": known_at}
    before = await history.get("/v1/prices", **asked)
    await history.post(price("copper-no1", "9.00"), on="2026-05-03", who="teal")
    await history.post(price("copper-no1", "9.00"), on="2026-05-01", yard="tern-row", who="teal")
    assert await history.get("/v1/prices", **asked) == before
    async with history.another() as worker:
        assert await worker.get("/v1/prices", **asked) == before


async def test_the_newest_list_is_the_list_at_the_newest_revision(history: World) -> None:
    """What is kept in memory for today is what the ledger gives for the revision that it names."""
    for place in ({"region": "XO-KEL"}, {"region": "XO"}, {"yard": "tern-row"}, {"yard": "low-quay"}):
        newest = await history.get("/v1/prices", **place)
        assert await history.get("/v1/prices", **place, known_at=newest["known_at"]) == newest


async def test_a_yard_that_came_later_is_not_in_an_old_list(world: World) -> None:
    """A yard counts in lists as known from its own revision on, whatever day its prices are about."""
    await world.post(price("copper-no1", "3.00"), on="2026-05-01")
    before = await world.revision()
    await world.send("/v1/yards", {**YARDS[2], "slug": "new-wharf"}, "sedge", Role.MAINTAINER)
    await world.post(price("copper-no1", "6.00"), on="2026-04-30", yard="new-wharf")
    now = await world.priced("copper-no1", region="XO-KEL", on="2026-05-01")
    then = await world.priced("copper-no1", region="XO-KEL", on="2026-05-01", known_at=before)
    assert (now["basis"]["yards"], then["basis"]["yards"]) == (2, 1)
    response = await world.client.get(f"/v1/prices?yard=new-wharf&known_at={before}")
    assert where(problem_of(response, "unknown-yard")) == ["yard"]
