"""The stream of events: every revision once and in order, whoever listens and however slowly."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from typing import Any

import pytest
from tests.api import World, only, price, problem_of
from tests.ledger.listening import district, listening, world

from gradewright.ledger import events as module
from gradewright.ledger.feed import Feed

__all__ = ["district", "world"]


async def eventually(holds: Callable[[], bool]) -> None:
    """Waits for something that is to become true."""
    async with asyncio.timeout(10):
        while not holds():  # noqa: ASYNC110 - anything may make it true
            await asyncio.sleep(0.005)


def told(text: str) -> list[dict[str, Any]]:
    """The data of every event."""
    return [
        json.loads(line.removeprefix("data: ")) for line in text.splitlines() if line.startswith("data: ")
    ]


async def test_a_posting_is_heard_of(world: World) -> None:
    """Who listens hears of a revision when it is written: its number as id, its instant, its entries."""
    before = await world.revision()
    async with listening(world.app) as listener:
        await listener.until(f"retry: 1000\nid: {before}\n\n")
        assert (listener.status, listener.headers["cache-control"]) == (200, "no-store")
        assert listener.headers["content-type"].startswith("text/event-stream")
        await world.post(price("copper-no2", "3.35"), price("copper-no1", "3.60"))
        text = await listener.until("data: ")
    assert f"id: {before + 1}\nevent: revision\ndata: " in text
    assert told(text) == [
        {"revision": before + 1, "recorded_at": "2026-05-04T09:12:00.000000Z", "entries": 2}
    ]


async def test_what_another_worker_writes_is_heard_of(world: World) -> None:
    """A revision that another worker wrote is told as well."""
    async with world.another() as other, listening(world.app) as listener:
        await listener.until("id: ")
        posting = await other.post(price("copper-no2", "3.35"))
        await listener.until(f"id: {posting['revision']}\nevent")


@pytest.mark.parametrize(
    ("query", "headers", "after"),
    [
        ("after=0", {}, 0),
        ("after=3", {}, 3),
        ("", {"last_event_id": "4"}, 4),
        ("after=1", {"last_event_id": "6"}, 6),
    ],
)
async def test_a_stream_goes_on_where_it_ended(
    world: World, query: str, headers: dict[str, str], after: int
) -> None:
    """Last-Event-ID, and after it `after`, says which revisions are told first: all since then."""
    newest = await world.revision()
    async with listening(world.app, query, **headers) as listener:
        await listener.until(f"id: {newest}\nevent")
        assert listener.ids == list(range(after + 1, newest + 1))
        counts = [each["entries"] for each in told(listener.text)]
    entries = (await world.get("/v1/ledger/entries", after=after))["entries"]
    assert counts == [
        sum(entry["revision"] == revision for entry in entries) for revision in range(after + 1, newest + 1)
    ]


async def test_an_id_that_cannot_be_is_refused(world: World) -> None:
    """A Last-Event-ID that no stream of this ledger has told is refused, and so is such an `after`."""
    for given in ["x", "-1", "1.5", "9" * 16, "99"]:
        response = await world.client.get("/v1/events", headers={"Last-Event-ID": given})
        fault = only(problem_of(response, "invalid-request"))
        assert (fault.header, fault.parameter) == ("Last-Event-ID", None)
        response = await world.client.get("/v1/events", params={"after": given})
        fault = only(problem_of(response, "invalid-request"))
        assert (fault.header, fault.parameter) == (None, "after")


async def test_only_a_stream_is_to_be_had(world: World) -> None:
    """Who does not accept text/event-stream is refused; HEAD ends at once."""
    for accept in ("application/json", "text/html"):
        response = await world.client.get("/v1/events", headers={"Accept": accept})
        assert only(problem_of(response, "not-acceptable")).header == "Accept"
    head = await world.client.head("/v1/events")
    assert (head.status_code, head.headers["content-type"].split(";")[0]) == (200, "text/event-stream")
    assert (await world.client.options("/v1/events")).headers["allow"] == "GET, HEAD, OPTIONS"


async def test_silence_is_broken(world: World) -> None:
    """While nothing is written, comments show that the stream is alive; no event is made up."""
    world.services.events.beat_seconds = 0.02
    async with listening(world.app) as listener:
        await listener.until(":\n\n:\n\n:\n\n")
        assert listener.ids == []


async def test_all_share_one_look(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """However many listen, the newest revision is asked for by one; none of them holds a connection."""
    asked = 0
    newest = world.services.database.newest

    async def counted(at_least: int = 0) -> Any:
        nonlocal asked
        asked += 1
        return await newest(at_least)

    async with asyncio.TaskGroup() as group:
        leave = asyncio.Event()
        seen: list[list[int]] = []

        async def listen() -> None:
            async with listening(world.app, "after=0") as listener:
                await listener.until("event")
                seen.append(listener.ids)
                await leave.wait()

        for _ in range(30):  # three times as many as there are connections
            group.create_task(listen())
        await eventually(lambda: len(seen) == 30)
        monkeypatch.setattr(world.services.database, "newest", counted)
        await asyncio.sleep(0.1)
        assert 0 < asked <= 6
        assert len(set(map(tuple, seen))) == 1
        leave.set()


async def test_a_slow_listener_holds_nobody_up(world: World) -> None:
    """One who takes nothing off the line is not waited for, and later gets everything, each once."""
    newest = await world.revision()
    async with listening(world.app) as slow, listening(world.app) as quick:
        await slow.until("id: ")
        await quick.until("id: ")
        slow.reading.clear()
        for amount in range(1, 6):
            await world.post(price("copper-no2", str(amount)))
            await quick.until(f"id: {newest + amount}\nevent")
        assert slow.ids == []
        slow.reading.set()
        await slow.until(f"id: {newest + 5}\nevent")
        assert slow.ids == quick.ids == list(range(newest + 1, newest + 6))


async def test_a_long_past_comes_in_steps(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who comes back after long is told of every revision, and only so many are read at once."""
    monkeypatch.setattr(module, "AT_ONCE", 2)
    newest, read = await world.revision(), []
    recorded = Feed.recorded

    async def counted(feed: Feed, after: int, upto: int) -> Any:
        read.append(upto - after)
        return await recorded(feed, after, upto)

    monkeypatch.setattr(Feed, "recorded", counted)
    async with listening(world.app, "after=0") as listener:
        await listener.until(f"id: {newest}\nevent")
        assert listener.ids == list(range(1, newest + 1))
    assert max(read) == 2
    assert sum(read) >= newest > 2


async def test_who_leaves_leaves_nothing_behind(world: World) -> None:
    """When the last listener has gone, nobody looks at the ledger any more, and nothing runs on."""
    events = world.services.events
    before = len(asyncio.all_tasks())
    for _ in range(3):
        async with listening(world.app, "after=0") as one, listening(world.app) as other:
            await one.until("event")
            await other.until("id: ")
            assert (events.listeners, events.polling) == (2, True)
    await eventually(lambda: not events.polling)
    assert events.listeners == 0
    await eventually(lambda: len(asyncio.all_tasks()) == before)


async def test_a_stream_ends_with_the_service(world: World) -> None:
    """When the service is told to stop, streams end as an answer does, and nobody new is let in."""
    async with listening(world.app) as listener:
        await listener.until("id: ")
        world.services.events.close()
        await eventually(lambda: listener.over)
    problem_of(await world.client.get("/v1/events"), "unavailable")


async def test_a_stream_ends_by_itself_after_a_while(world: World) -> None:
    """After its longest time a stream ends cleanly, for the client to come back."""
    world.services.events.longest_seconds = 0.05
    async with listening(world.app, "after=0") as listener:
        await eventually(lambda: listener.over)
        assert listener.ids[-1] == await world.revision()


async def test_there_is_room_for_so_many(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """One listener too many is told to come later or to poll."""
    monkeypatch.setattr(module, "MOST_LISTENERS", 1)
    async with listening(world.app) as listener:
        await listener.until("id: ")
        assert "poll" in problem_of(await world.client.get("/v1/events"), "unavailable").detail


async def test_a_fault_of_the_database_ends_streams(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the ledger cannot be looked at, streams end instead of being silent as if nothing was written."""

    async def broken(at_least: int = 0) -> Any:
        raise OSError("gone")

    async with listening(world.app) as listener:
        await listener.until("id: ")
        monkeypatch.setattr(world.services.database, "newest", broken)
        await eventually(lambda: listener.over)
