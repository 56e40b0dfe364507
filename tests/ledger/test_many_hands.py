"""Many post at once: a reader who follows meanwhile misses nothing, gets nothing twice, and all in order."""

from __future__ import annotations

import asyncio
import json
from typing import Any
from uuid import uuid4

from tests.api import YARDS, World, posting, price

from gradewright.accounts.service import Role

HANDS = ("wren", "rook", "dunlin")
EACH = 10
GRADES = ("copper-no1", "copper-no2")


async def follow(world: World, after: str, done: asyncio.Event) -> list[dict[str, Any]]:
    """The entries after a position, read page by page until all is done and nothing is left."""
    found: list[dict[str, Any]] = []
    while True:
        last = done.is_set()
        page = await world.get("/v1/ledger/entries", after=after, limit=5)
        found += page["entries"]
        after = page["upto"]
        if page["next"] is None:
            if last:
                return found
            await asyncio.sleep(0.005)


async def test_a_reader_sees_all_that_was_acknowledged_once_and_in_order(world: World) -> None:
    """Three post at two workers, with keys and without; revisions and numbers have no gap."""
    begin = await world.revision()
    for who in HANDS:
        await world.key(who)
    acknowledged: dict[str, int] = {}
    done = asyncio.Event()

    async def hand(at: World, place: int, who: str) -> None:
        for number in range(EACH):
            prices = [price(grade, f"{place + 1}.{number}") for grade in GRADES]
            key = {"Idempotency_Key": str(uuid4())} if number % 2 else {}
            response = await at.send("/v1/postings", posting(*prices), who, **key)
            assert response.status_code == 201, response.text
            acknowledged[response.json()["id"]] = response.json()["revision"]

    async with world.another() as other:
        reading = asyncio.create_task(follow(other, str(begin), done))
        hands = zip((world, world, other), range(3), HANDS, strict=True)
        await asyncio.gather(*(hand(*each) for each in hands))
        done.set()
        found = await reading
    places = [(entry["revision"], entry["line"]) for entry in found]
    count = len(HANDS) * EACH
    assert places == [(begin + 1 + step, line) for step in range(count) for line in (1, 2)]
    assert [entry["number"] - found[0]["number"] for entry in found] == list(range(2 * count))
    assert {entry["posting"]: entry["revision"] for entry in found} == acknowledged


async def test_one_key_is_one_posting_however_many_wait_with_it(world: World) -> None:
    """Repetitions of a request among other postings, all at once: one is stored, the others get its words."""
    await world.key("wren")
    await world.key("rook")
    begin, body = await world.revision(), posting(price("copper-no1", "3.10"))
    others = [posting(price("copper-no2", f"2.{number}")) for number in range(6)]
    answers = await asyncio.gather(
        *(world.send("/v1/postings", body, "wren", Idempotency_Key="k") for _ in range(6)),
        *(world.send("/v1/postings", one, "rook", Idempotency_Key=str(n)) for n, one in enumerate(others)),
    )
    assert {answer.status_code for answer in answers} == {201}
    assert len({answer.content for answer in answers[:6]}) == 1
    assert sum("idempotency-replayed" not in answer.headers for answer in answers[:6]) == 1
    assert await world.revision() == begin + 7
    mismatched = await world.send("/v1/postings", others[0], "wren", Idempotency_Key="k")
    assert json.loads(mismatched.content)["type"] == "/problems/idempotency-mismatch"


async def test_a_repeated_key_answers_what_would_be_refused_by_now(world: World) -> None:
    """Its day is in the future by a clock set back: refused under a new key, answered again under its own."""
    body = posting(price("copper-no1", "3.10"))
    first = await world.send("/v1/postings", body, "wren", Idempotency_Key="k")
    world.later(days=-10)
    refused = await world.send("/v1/postings", body, "wren", Idempotency_Key="m")
    again = await world.send("/v1/postings", body, "wren", Idempotency_Key="k")
    assert (first.status_code, refused.status_code) == (201, 422)
    assert (again.status_code, again.content) == (201, first.content)
    assert again.headers["idempotency-replayed"] == "true"


async def test_what_another_worker_adds_between_postings_is_seen(world: World) -> None:
    """A worker that only posted since still hears of a yard that was added among its own revisions."""
    await world.post(price("copper-no1", "3.10"))
    async with world.another() as other:
        await world.post(price("copper-no1", "3.20"))
        yard = {**YARDS[0], "slug": "new-yard", "name": "New Yard"}
        added = await other.send("/v1/yards", yard, "sedge", Role.MAINTAINER)
        assert added.status_code == 201, added.text
        before = await world.revision()
        await world.post(price("copper-no1", "3.30"))
        assert (await world.post(price("copper-no1", "3.40"), yard="new-yard"))["revision"] == before + 2
