"""A posting, and what waits, as of another day: what was seen long ago waits there, or counts there."""

from __future__ import annotations

import random
from collections import Counter
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from tests.api import World, only, price, problem_of, settle
from tests.prices.test_held import REASON, market
from tests.prices.test_histories import NEWEST, rulebook
from tests.prices.uploading import dry_run, uploaded

from gradewright.accounts.service import Role

__all__ = ["market"]

PRICES = ("3.30", "3.35", "3.28", "3.41", "3.10", "3.75", "2.20", "7.30", "33.0")
THEN = "2026-05-02"
"""A day on which six members had spoken of three yards; prices count for twenty days."""


@pytest.fixture
async def late(market: World) -> tuple[World, str]:
    """Seven weeks later shrike posts a right price and a wrong one of that day: the world, the posting."""
    market.clock.now = datetime(2026, 6, 20, 9, tzinfo=UTC)
    lines = [price("copper-no1", "3.60"), price("copper-no2", "33.0")]
    made = await market.post(*lines, who="shrike", yard="cinder-lane", on=THEN)
    return market, str(made["id"])


async def stands(world: World, posting: str, who: str = "shrike", **asked: Any) -> dict[str, Any]:
    """A posting as somebody sees it."""
    role = Role.MAINTAINER if who == "sedge" else Role.MEMBER
    headers = await world.key(who, role)
    found = await world.client.get(f"/v1/postings/{posting}", params=asked, headers=headers)
    assert found.status_code == 200, found.text
    body: dict[str, Any] = found.json()
    return body


async def waiting(world: World, who: str = "sedge", **asked: Any) -> list[tuple[str, int]]:
    """What waits in the region, by posting and line, as somebody is told."""
    role = Role.MAINTAINER if who == "sedge" else Role.MEMBER
    query = {"region": "XO-KEL", **asked}
    found = await world.client.get("/v1/held-prices", params=query, headers=await world.key(who, role))
    assert found.status_code == 200, found.text
    return [(each["id"], line["line"]) for each in found.json()["postings"] for line in each["prices"]]


def said(posting: dict[str, Any]) -> list[str]:
    """The status of each of its lines."""
    return [line["status"] for line in posting["prices"]]


async def test_it_waits_on_its_own_day(late: tuple[World, str]) -> None:
    """Today it is too old; in the list of its day the wrong price waits, with its figures, for those who may
    see it, and the list is that of the others."""
    world, posting = late
    assert said(await stands(world, posting)) == ["stale", "stale"]
    for who in ("shrike", "sedge"):
        then = await stands(world, posting, who, on=THEN)
        assert said(then) == ["counts", "held"]
        why = then["prices"][1]["held"]
        assert (why["because"], why["median"], why["yards"]) == ("far-off", "7.275255", 2)
    other = await stands(world, posting, "wren", on=THEN)
    assert (said(other), other["withheld"]) == (["counts"], 1)
    listed = await world.priced("copper-no2", yard="cinder-lane", on=THEN)
    assert listed["likely"] == "7.407532"  # 3.36 USD/lb, which shrike had posted in time
    assert said(await stands(world, posting, on="2026-06-19")) == ["stale", "stale"]


async def test_what_waits_on_a_day_is_listed(late: tuple[World, str]) -> None:
    """For maintainers all of it, for members their own; nothing of it waits today."""
    world, posting = late
    assert await waiting(world) == []
    for who, found in (("sedge", [(posting, 2)]), ("shrike", [(posting, 2)]), ("wren", [])):
        assert await waiting(world, who, on=THEN) == found
    assert await waiting(world, on="2026-05-01") == []  # it was not seen yet
    assert await waiting(world, on="1999-01-01") == []  # no rulebook was in force


async def test_words_let_it_go_on_its_day(late: tuple[World, str]) -> None:
    """A second member confirms it: it counts in the list of its day, and as known before still waits."""
    world, posting = late
    known_at = await world.revision()
    answer = await world.send(f"/v1/postings/{posting}/confirmation", {**REASON, "lines": [2]}, "heron")
    assert answer.status_code == 201, answer.text
    assert said(await stands(world, posting, on=THEN)) == ["counts", "counts"]
    assert await waiting(world, on=THEN) == []
    assert said(await stands(world, posting, on=THEN, known_at=known_at)) == ["counts", "held"]
    assert await waiting(world, on=THEN, known_at=known_at) == [(posting, 2)]


async def test_it_is_by_the_rulebook_of_that_day(late: tuple[World, str]) -> None:
    """A later version by which nothing waits, and prices count for longer, is not that day's."""
    world, posting = late
    patient = rulebook()
    patient |= {"version": "2026.2", "effective_from": "2026-06-01"}
    patient["pricing"] |= {"stale_after": 90}
    del patient["pricing"]["held"], patient["pricing"]["standing"]
    await world.publish(patient)
    assert said(await stands(world, posting)) == ["counts", "counts"]
    assert said(await stands(world, posting, on=THEN)) == ["counts", "held"]
    assert (await waiting(world), await waiting(world, on=THEN)) == ([], [(posting, 2)])


async def test_a_day_before_it_was_seen_is_refused(late: tuple[World, str]) -> None:
    """It stands nowhere then: the fault is in `on`."""
    world, posting = late
    found = await world.client.get(f"/v1/postings/{posting}", params={"on": "2026-05-01"})
    fault = only(problem_of(found, "invalid-request"))
    assert (fault.parameter, fault.detail) == (
        "on",
        f"{posting} was seen on 2026-05-02: on 2026-05-01 it stands nowhere yet.",
    )


async def test_tomorrows_price_is_told_as_of_tomorrow(market: World) -> None:
    """A yard may be a day ahead: what was seen there stands as it does on that day, alone and in a page."""
    market.later(hours=11)  # evening in Greenwich, and morning of the next day elsewhere
    lines = [price("copper-no1", "3.60"), price("copper-no2", "33.0")]
    made = await market.post(*lines, who="shrike", yard="cinder-lane", on="2026-05-05")
    of_today = await market.post(price("copper-no2", "3.31"), who="plover", yard="tern-row")
    assert said(await stands(market, made["id"])) == ["counts", "held"]
    assert said(await stands(market, made["id"], known_at=made["revision"])) == ["counts", "held"]
    headers = await market.key("sedge", Role.MAINTAINER)
    page = (await market.client.get("/v1/postings", params={"limit": "2"}, headers=headers)).json()
    told = {each["id"]: said(each) for each in page["postings"]}
    assert told == {made["id"]: ["counts", "held"], of_today["id"]: ["counts"]}


KINDS_OF_DAY = (0, 0, 6, 6, 15, 30)
"""So many days ago; prices count for twenty."""


@pytest.mark.parametrize("held", [{}, NEWEST], ids=["plain", "newest"])
async def test_a_list_tells_what_its_posting_tells(
    world_without_rulebook: World, held: dict[str, Any]
) -> None:
    """Of lists drawn by chance, of any day, by old hands and newcomers: what a dry run says would wait, what
    the stored list says does, and what its posting says are the same; on its own day where it does not count
    today."""
    world, draw = world_without_rulebook, random.Random(5)
    await world.publish(rulebook(**held))
    await settle(world)
    met: Counter[tuple[str, bool, bool]] = Counter()
    for number in range(80):
        world.later(days=draw.choice((0, 1, 3)))
        who = draw.choice(("wren", "dunlin", "siskin", "plover", f"new-{number}"))
        yard, ago = draw.choice(("low-quay", "tern-row", "cinder-lane")), draw.choice(KINDS_OF_DAY)
        on = (world.clock().date() - timedelta(days=ago)).isoformat()
        rows = f"grade,price,per\ncopper-no2,{draw.choice(PRICES)},lb\ncopper-no1,{draw.choice(PRICES)},lb\n"
        sent = {"who": who, "yard": yard, "observed_on": on}
        tried, kept = await dry_run(world, rows, **sent), await uploaded(world, rows, **sent)
        today = said(await stands(world, kept["posting"], "sedge", known_at=kept["revision"]))
        then = said(await stands(world, kept["posting"], "sedge", known_at=kept["revision"], on=on))
        waits = [
            (own if now in {"stale", "overtaken"} else now) == "held"
            for now, own in zip(today, then, strict=True)
        ]
        for told in (tried, kept):
            assert [line["held"] is not None for line in told["lines"]] == waits, (number, today, then)
        met.update((how, each, ago > 20) for how, each in zip(today, waits, strict=True))
    wanted = {("overtaken", waits, False) for waits in (True, False)}
    wanted |= {("stale", waits, True) for waits in (True, False)}
    assert met.keys() >= {*wanted, ("held", True, False), ("counts", False, False)}, met


async def test_an_old_list_is_judged_on_its_day(late: tuple[World, str]) -> None:
    """Before a whole list of long ago is stored it is told what of it would wait in the lists of its day."""
    world, _ = late
    rows = "grade,price,per\ncopper-no2,34.0,lb\ncopper-no1,3.60,lb\n"
    found = await dry_run(world, rows, who="wren", yard="low-quay", observed_on=THEN)
    assert [line["held"] is not None for line in found["lines"]] == [True, False]
    assert found["lines"][0]["held"]["because"] == "far-off"
