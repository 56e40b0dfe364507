"""The ledger under many hands: gap-free, in order, each write done once."""

from __future__ import annotations

import asyncio
import random
from collections.abc import AsyncIterator
from contextlib import AsyncExitStack
from datetime import datetime, timedelta
from typing import Any

import httpx
import pytest
from sqlalchemy import func, select
from tests.api import REGIONS, YARDS, World, posting, price, problem_of, where

from gradewright.accounts.service import Role
from gradewright.db.ledger import RevisionRow
from gradewright.prices.models import EntryRow, PostingRow

PATH = "/v1/postings"
GOOD = posting(price("copper-no2", "3.35"))


@pytest.fixture
async def workers(world: World) -> AsyncIterator[list[World]]:
    """The workers of one service: several on PostgreSQL, one on the embedded default."""
    async with AsyncExitStack() as stack:
        others = 0 if world.services.database.embedded else 2
        yield [world, *[await stack.enter_async_context(world.another()) for _ in range(others)]]


async def logged(world: World) -> list[tuple[int, datetime]]:
    """All revisions with their instants, as the database has them."""
    async with world.services.database.read() as session:
        rows = await session.execute(
            select(RevisionRow.revision, RevisionRow.recorded_at).order_by(RevisionRow.revision)
        )
        return [(number, instant) for number, instant in rows]


async def count(world: World, row: type[Any]) -> int:
    """How many rows a table has."""
    async with world.services.database.read() as session:
        return await session.scalar(select(func.count()).select_from(row)) or 0


def bare(posting: Any) -> Any:
    """A posting without what became of its prices: a member's later one overtakes them."""
    prices = [{name: told for name, told in line.items() if name != "status"} for line in posting["prices"]]
    return {**posting, "prices": prices}


async def test_sixteen_posters_leave_no_gap(world: World, workers: list[World]) -> None:
    """Sixteen members post at once, some of them in vain, under a clock that jumps back and forth.

    Every answer has a revision of its own; together they are all the numbers that came; recorded_at never
    goes back; what was refused left nothing.
    """
    before = await world.revision()
    start = world.clock.now
    chance = random.Random(4)
    for worker in workers:
        worker.keys = {f"gull-{n}": await world.key(f"gull-{n}") for n in range(16)}

    async def post(number: int) -> list[httpx.Response]:
        answers = []
        for turn in range(4):
            world.clock.now = start + timedelta(seconds=chance.randint(-600, 600))
            body = posting(
                price("copper-no2" if (number + turn) % 4 else "coper-no2", f"3.{number:02}{turn}")
            )
            worker = workers[(number + turn) % len(workers)]
            answers.append(await worker.send(PATH, body, f"gull-{number}"))
        return answers

    answers = [answer for mine in await asyncio.gather(*map(post, range(16))) for answer in mine]
    stored = [answer.json() for answer in answers if answer.status_code == 201]
    assert [answer.status_code for answer in answers].count(422) == 16
    assert sorted(p["revision"] for p in stored) == list(range(before + 1, before + 49))
    log = await logged(world)
    assert [number for number, _ in log] == list(range(1, before + 49))
    assert [instant for _, instant in log] == sorted(instant for _, instant in log)
    assert (await count(world, PostingRow), await count(world, EntryRow)) == (48, 48)
    listed = (await world.get(PATH, limit=200))["postings"]
    told = sorted(stored, key=lambda p: -p["revision"])
    assert [bare(p) for p in listed] == [bare(p) for p in told]
    assert {line["status"] for p in listed for line in p["prices"]} == {"counts", "overtaken"}
    for answer in stored:
        assert dict(log)[answer["revision"]] == datetime.fromisoformat(answer["recorded_at"])


async def test_readers_see_whole_postings(world: World, workers: list[World]) -> None:
    """While postings of five prices come in, every list that is read has all five of each or none."""
    grades = ["copper-no1", "copper-no2", "copper-residue", "light-iron", "screws"]
    seen = []
    done = asyncio.Event()

    async def write() -> None:
        for number in range(12):
            await workers[-1].post(*(price(grade, f"{number + 1}.00") for grade in grades))
        done.set()

    async def read() -> None:
        while True:  # once more after the last: then at least the first and the last were seen
            last = done.is_set()
            found = await world.get("/v1/prices", region="XO-KEL")
            seen.append({line["likely"] for line in found["prices"]})
            if last:
                return
            await asyncio.sleep(0)

    workers[-1].keys = {"wren": await world.key("wren")}
    seen.append({line["likely"] for line in (await world.get("/v1/prices", region="XO-KEL"))["prices"]})
    await asyncio.gather(write(), read())
    assert all(len(prices) <= 1 for prices in seen)
    assert (seen[0], seen[-1]) == (set(), {"12.00"})


async def test_a_worker_sees_what_another_has_posted(world: World, workers: list[World]) -> None:
    """A price posted through one worker is in the next list that any other gives."""
    for worker in workers:
        await worker.get("/v1/prices", region="XO-KEL")
    await world.post(price("copper-no1", "4.00"))
    for worker in workers:
        assert (await worker.priced("copper-no1", region="XO-KEL"))["likely"] == "4.00"


async def test_the_same_key_and_body_is_done_once(world: World) -> None:
    """Sent again, a posting is answered as the first time, byte for byte, and stored once."""
    first = await world.send(PATH, GOOD, "wren", Idempotency_Key="k-1")
    world.later(hours=3)
    again = await world.send(PATH, GOOD, "wren", Idempotency_Key="k-1")
    assert (first.status_code, again.status_code) == (201, 201)
    assert again.content == first.content
    assert again.headers["location"] == first.headers["location"]
    assert again.headers["idempotency-replayed"] == "true"
    assert "idempotency-replayed" not in first.headers
    assert await count(world, PostingRow) == 1


async def test_the_same_key_sent_at_once_is_done_once(world: World, workers: list[World]) -> None:
    """Nine requests with one key at the same moment: one is done, all nine have its answer."""
    headers = await world.key("wren")
    for worker in workers:
        worker.keys = {"wren": headers}
    answers = await asyncio.gather(
        *(workers[n % len(workers)].send(PATH, GOOD, "wren", Idempotency_Key="k-2") for n in range(9))
    )
    assert {answer.status_code for answer in answers} == {201}
    assert len({answer.content for answer in answers}) == 1
    assert [answer.headers.get("idempotency-replayed") for answer in answers].count("true") == 8
    assert await count(world, PostingRow) == 1


async def test_the_same_key_for_another_body_is_refused(world: World) -> None:
    """A key stands for one request: with another body, or for another operation, it is refused."""
    await world.send(PATH, GOOD, "wren", Idempotency_Key="k-3")
    other = await world.send(PATH, posting(price("copper-no2", "3.36")), "wren", Idempotency_Key="k-3")
    assert where(problem_of(other, "idempotency-mismatch")) == ["Idempotency-Key"]
    assert await count(world, PostingRow) == 1
    again = await world.send(PATH, GOOD, "wren", Idempotency_Key="k-3")
    assert again.headers["idempotency-replayed"] == "true"


async def test_a_key_is_an_accounts_own(world: World) -> None:
    """Two accounts may choose the same key for different requests."""
    await world.send(PATH, GOOD, "wren", Idempotency_Key="k-4")
    other = await world.send(PATH, posting(price("copper-no2", "9")), "teal", Idempotency_Key="k-4")
    assert (other.status_code, other.json()["author"]) == (201, "teal")


async def test_a_refused_request_leaves_its_key_free(world: World) -> None:
    """A request that was refused can be mended and sent again under its key."""
    bad = await world.send(PATH, posting(price("coper-no2", "3")), "wren", Idempotency_Key="k-5")
    problem_of(bad, "unknown-grade")
    good = await world.send(PATH, GOOD, "wren", Idempotency_Key="k-5")
    assert good.status_code == 201
    assert "idempotency-replayed" not in good.headers


async def test_a_key_is_remembered_over_a_restart(world: World) -> None:
    """After a restart the answer still stands under its key."""
    first = await world.send(PATH, GOOD, "wren", Idempotency_Key="k-6")
    async with world.another() as restarted:
        again = await restarted.send(PATH, GOOD, "wren", Idempotency_Key="k-6")
    assert (again.content, again.headers["idempotency-replayed"]) == (first.content, "true")


async def test_a_key_used_without_a_right_to_it_says_nothing(world: World) -> None:
    """Without a valid key of an account the kept answer is not given."""
    await world.send(PATH, GOOD, "wren", Idempotency_Key="k-7")
    problem_of(await world.send(PATH, GOOD, Idempotency_Key="k-7"), "unauthorized")


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("/v1/regions", {**REGIONS[1], "code": "XO-NEW", "name": "New"}),
        ("/v1/yards", {**YARDS[0], "slug": "new-wharf"}),
    ],
)
async def test_one_name_made_by_many_at_once_is_made_once(
    world: World, workers: list[World], path: str, body: dict[str, Any]
) -> None:
    """Eight maintainers add the same region or yard at once: one does, seven hear of a conflict."""
    headers = await world.key("sedge", Role.MAINTAINER)
    for worker in workers:
        worker.keys = {"sedge": headers}
    answers = await asyncio.gather(*(workers[n % len(workers)].send(path, body, "sedge") for n in range(8)))
    assert sorted(answer.status_code for answer in answers) == [201] + [409] * 7
    for answer in answers:
        if answer.status_code != 201:
            problem_of(answer, "conflict")
    assert [number for number, _ in await logged(world)] == list(range(1, await world.revision() + 1))
