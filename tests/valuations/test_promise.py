"""A valuation is a pure function of its request and its pins: asked again, it is the same, byte for byte."""

from __future__ import annotations

import asyncio
import copy
import hashlib
import json
from collections.abc import AsyncIterator
from typing import Any

import httpx
import pytest
from sqlalchemy import select
from tests.api import KINDS, YARDS, World, copied_url, empty_world, fresh_url, price, world_over
from tests.valuations.market import TODAY, VERSIONS, open_market, request_for, shipped

from gradewright.accounts.service import Role
from gradewright.db.replays import ReplayRow
from gradewright.valuations.models import ValuationRow
from gradewright.valuations.schemas import ValuationOut

PATH = "/v1/valuations"


@pytest.fixture(scope="module", params=KINDS)
async def opened(request: pytest.FixtureRequest) -> AsyncIterator[str]:
    """The URL of a database with the market in it, to which nobody is connected; tests work on copies."""
    with fresh_url(request, request.param) as url:
        async with world_over(url) as world:
            await open_market(world)
        yield url


@pytest.fixture
async def market(request: pytest.FixtureRequest, opened: str) -> AsyncIterator[World]:
    """The rulebooks that ship and half a year of prices: the test runs once on each kind of database."""
    with copied_url(request, opened) as url:
        async with world_over(url) as world:
            world.clock.now = TODAY
            yield world


async def kept(world: World, **changes: Any) -> httpx.Response:
    """A valuation of the worked examples, kept."""
    response = await world.send(PATH, request_for(keep=True, **changes))
    assert response.status_code == 201, response.text
    return response


async def both_ways(world: World, valuation: str) -> set[bytes]:
    """What a kept valuation is when it is read and when it is replayed."""
    read = await world.client.get(f"{PATH}/{valuation}")
    replayed = await world.client.post(f"{PATH}/{valuation}/replay")
    for answer in (read, replayed):
        assert answer.status_code == 200, answer.text
        assert answer.headers["valuation-id"] == valuation
    return {read.content, replayed.content}


async def test_kept_read_and_replayed_it_is_the_same(market: World) -> None:
    """Kept or not, read or replayed, an answer has the same bytes; the headers say where it is kept."""
    first = await kept(market)
    valuation = first.headers["valuation-id"]
    assert first.headers["location"] == f"{PATH}/{valuation}"
    assert await both_ways(market, valuation) == {first.content}
    not_kept = await market.send(PATH, request_for())
    assert (not_kept.status_code, not_kept.content) == (200, first.content)
    assert "valuation-id" not in not_kept.headers


async def test_asked_again_with_its_pins_it_is_the_same(market: World) -> None:
    """A client that names the pins of an answer gets that answer, also after the ledger has moved."""
    first = await kept(market)
    await market.post(price("copper-no1", "99"), price("light-iron", "9"), who="teal")
    pins = first.json()["pins"]
    again = await market.send(
        PATH,
        request_for(on=first.json()["on"], known_at=pins["revision"], rulebook=pins["rulebook"]),
    )
    assert again.content == first.content
    assert (await market.send(PATH, request_for())).content != first.content


async def test_later_postings_change_nothing_in_it(market: World) -> None:
    """Postings about today and about days long past come later: read or replayed, it is the same."""
    first = await kept(market)
    grades = list(shipped("2018.1")["grades"])[:60]
    for on, yard in (("2026-05-04", "low-quay"), ("2026-03-01", "tern-row"), ("2026-05-04", "far-gate")):
        await market.post(*(price(grade, "77.77") for grade in grades), on=on, yard=yard, who="teal")
    market.later(days=40)
    assert await both_ways(market, first.headers["valuation-id"]) == {first.content}
    fresh = await market.send(PATH, request_for(on="2026-05-04"))
    assert fresh.json()["totals"] != first.json()["totals"]


async def test_a_later_rulebook_changes_nothing_in_it(market: World) -> None:
    """A version published later, in force on the same day, grades new requests and not the kept one."""
    first = await kept(market)
    newer = copy.deepcopy(shipped("2018.1"))
    newer.update(version="2026.1", effective_from="2026-01-01")
    newer["pricing"]["thin_margin"] = "20 %"
    await market.publish(newer)
    assert await both_ways(market, first.headers["valuation-id"]) == {first.content}
    fresh = (await market.send(PATH, request_for(on="2026-05-04"))).json()
    assert fresh["pins"]["rulebook"] == "2026.1"
    assert fresh["totals"]["low"] != first.json()["totals"]["low"]


async def test_a_larger_district_changes_nothing_in_it(market: World) -> None:
    """A yard added later, with prices about the same day, is not in the kept answer."""
    first = await kept(market)
    new = {**YARDS[2], "slug": "new-wharf"}
    assert (await market.send("/v1/yards", new, "sedge", Role.MAINTAINER)).status_code == 201
    await market.post(price("copper-no1", "88"), price("light-iron", "8"), yard="new-wharf")
    assert await both_ways(market, first.headers["valuation-id"]) == {first.content}


async def test_a_restart_changes_nothing_in_it(market: World) -> None:
    """Another worker, or this one started again, reads and replays the same bytes."""
    first = await kept(market, yard="tern-row", region=None)
    await market.post(price("copper-no1", "99"), yard="tern-row")
    async with market.another() as restarted:
        assert await both_ways(restarted, first.headers["valuation-id"]) == {first.content}


@pytest.mark.parametrize(
    "place", [{"region": "XO-KEL"}, {"region": "XO-FEN"}, *({"yard": y["slug"]} for y in YARDS[:4])]
)
@pytest.mark.parametrize("version", VERSIONS)
async def test_the_digest_is_anyones_to_check(everywhere: World, place: dict[str, str], version: str) -> None:
    """The answer is canonical JSON, as documented, and pins.sha256 is that of it without that member."""
    body = request_for(version, rulebook=version, **{"region": None, **place})
    content = (await everywhere.send(PATH, body)).content
    ValuationOut.model_validate_json(content)
    answer = json.loads(content)
    assert canonical(answer) == content
    sha256 = answer["pins"].pop("sha256")
    assert hashlib.sha256(canonical(answer)).hexdigest() == sha256
    assert answer["pins"] == {"rulebook": version, "revision": await everywhere.revision(), "method": "8"}


def canonical(value: Any) -> bytes:
    """Canonical JSON as any client can write it."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


@pytest.fixture(scope="module", params=KINDS)
async def everywhere(request: pytest.FixtureRequest) -> Any:
    """The market, for tests that only read."""
    async with empty_world(request, request.param) as world:
        yield await open_market(world)


async def test_both_databases_answer_the_same(request: pytest.FixtureRequest) -> None:
    """The same history on SQLite and on PostgreSQL: every answer has the same bytes."""
    answers: dict[str, list[bytes]] = {}
    for kind in KINDS:
        async with empty_world(request, kind) as world:
            await open_market(world)
            revision = await world.revision()
            asked: list[dict[str, Any]] = [
                request_for(),
                request_for(region=None, yard="cinder-lane"),
                request_for(region=None, yard="tern-row"),
                request_for(region="XO-FEN"),
                request_for("2017.1", on="2018-01-31"),
                *(request_for(known_at=known_at) for known_at in range(revision - 20, revision, 4)),
            ]
            answers[kind] = [(await world.send(PATH, body)).content for body in asked]
            answers[kind] += [
                (await world.client.get(f"/v1/prices?region=XO-KEL&known_at={known_at}")).content
                for known_at in range(revision - 20, revision + 1, 4)
            ]
    assert answers["sqlite"] == answers["postgresql"]
    assert len(set(answers["sqlite"])) == len(answers["sqlite"])


async def test_valuing_while_prices_come_in(market: World) -> None:
    """Valuations kept while others post are replayed with the same bytes; each names its own revision."""
    await market.key("teal")

    async def post() -> None:
        for number in range(12):
            await market.post(price("copper-no1", f"5.{number:02}"), price("light-iron", "0.09"), who="teal")

    async def value() -> list[httpx.Response]:
        return [await kept(market, parts=request_for()["parts"][:20]) for _ in range(6)]

    _, *several = await asyncio.gather(post(), *(value() for _ in range(3)))
    valuations = [answer for answers in several if answers for answer in answers]
    assert len({answer.json()["pins"]["revision"] for answer in valuations}) > 1
    for answer in valuations:
        assert await both_ways(market, answer.headers["valuation-id"]) == {answer.content}


async def test_long_lists_at_once_are_answered_as_alone(everywhere: World) -> None:
    """Lists of hundreds of parts under three rulebooks, valued side by side, twice each, by one worker."""
    asked = [
        {**request_for(version, rulebook=version), **place}
        for version in VERSIONS
        for place in ({}, {"region": None, "yard": "cinder-lane"})
    ]
    alone = [(await everywhere.send(PATH, body)).content for body in asked]
    async with everywhere.another() as fresh:
        together = await asyncio.gather(*(fresh.send(PATH, body) for body in asked * 2))
    assert [answer.content for answer in together] == alone * 2
    assert len(set(alone)) == len(alone)


async def test_the_same_key_keeps_one(market: World) -> None:
    """A kept valuation sent again under its key has the same id."""
    body = request_for(keep=True, parts=request_for()["parts"][:3])
    first = await market.send(PATH, body, Idempotency_Key="v-1")
    await market.post(price("copper-no1", "99"))
    again = await market.send(PATH, body, Idempotency_Key="v-1")
    assert (again.status_code, again.content) == (201, first.content)
    assert again.headers["valuation-id"] == first.headers["valuation-id"]
    assert again.headers["idempotency-replayed"] == "true"


async def test_strangers_share_no_keys(market: World) -> None:
    """Two without an account who hit on the same key are both served."""
    body = request_for(keep=True, parts=request_for()["parts"][:3])
    other = {**body, "on": "2026-05-03"}
    one = await market.send(PATH, body, Idempotency_Key="1")
    two = await market.send(PATH, other, Idempotency_Key="1")
    assert (one.status_code, two.status_code) == (201, 201)
    assert one.headers["valuation-id"] != two.headers["valuation-id"]


async def test_keeping_takes_little_room(market: World) -> None:
    """A list of vague parts has a long answer that repeats itself: it is kept in a tenth of its size."""
    parts = [{"name": f"part {n}", "weight": "1 kg", "observed": {"metal": "steel"}} for n in range(40)]
    kept = await market.send(PATH, request_for(keep=True, parts=parts), Idempotency_Key="room")
    assert kept.status_code == 201
    async with market.services.database.read() as session:
        answer = await session.scalar(select(ValuationRow.answer))
        replay = await session.scalar(select(ReplayRow.body))
    assert answer is not None
    assert replay is not None
    assert 10 * max(len(answer), len(replay)) < len(kept.content)
