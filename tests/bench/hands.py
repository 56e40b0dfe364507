"""Sixteen people who post at once, over HTTP or in one process with the service, and a reader who follows."""

from __future__ import annotations

import asyncio
import contextlib
import json
import random
import time
from datetime import timedelta
from itertools import count
from typing import Any

from gradewright.accounts.service import Role
from gradewright.asgi import Services, create_app
from gradewright.prices.posting_schemas import PostingIn
from gradewright.settings import Settings
from tests.bench import history, load

AUTHORS = [f"hand-{number:02}" for number in range(16)]
BODIES = 200
LOOKS_AGAIN = 0.1  # seconds, where there was nothing new
PAGE = 1000


async def bodies(services: Services) -> list[dict[str, Any]]:
    """Postings at the yards of the small history: ten prices each, no two of one grade."""
    draw = random.Random("postings")
    day = (history.END + timedelta(days=1)).date()
    grades = list((await services.rulebooks.in_force(day)).rulebook.grades)
    yards = history.yards(history.TEN_THOUSAND)
    return [
        {
            "yard": yards[number % len(yards)].slug,
            "observed_on": day.isoformat(),
            "evidence": "sign",
            "prices": [
                {"grade": grade, "price": f"{draw.randint(5, 900) / 100}", "currency": "USD", "per": "lb"}
                for grade in draw.sample(grades, history.PRICES)
            ],
        }
        for number in range(BODIES)
    ]


def services_over(url: str) -> Services:
    """The service's parts over a database, without HTTP."""
    found: Services = create_app(Settings(database_url=url)).state["services"]
    return found


async def keys(services: Services) -> list[str]:
    """A key for each author, whose accounts are made."""
    return [await services.accounts.make_key(author, Role.MEMBER, "bench", history.END) for author in AUTHORS]


class Hands:
    """Clients of one service over HTTP: each waits for its answer before it posts again."""

    def __init__(self, port: int, requests: list[dict[str, Any]], keys: list[str]) -> None:
        self.acknowledged: dict[str, int] = {}
        self._port = port
        self._bodies = [json.dumps(body).encode() for body in requests]
        self._keys = keys
        self._reader = Reader(port)
        self._numbers = count()

    async def round(self, seconds: float, *, keyed: bool = False) -> float:
        """Postings acknowledged per second; the reader has read them all when this ends."""
        await self._reader.catch_up()
        before, started = len(self.acknowledged), time.perf_counter()
        reading = asyncio.create_task(self._reader.follow())
        clients = (self._client(place, started + seconds, keyed=keyed) for place in range(len(self._keys)))
        await asyncio.gather(*clients)
        rate = (len(self.acknowledged) - before) / (time.perf_counter() - started)
        self._reader.stop.set()
        await reading
        await self._reader.catch_up()
        assert self._reader.postings.items() >= self.acknowledged.items()
        return rate

    async def _client(self, place: int, until: float, *, keyed: bool) -> None:
        reader, writer = await asyncio.open_connection("127.0.0.1", self._port)
        while time.perf_counter() < until:
            number = next(self._numbers)
            fields = [f"Authorization: Bearer {self._keys[place]}"]
            if keyed:
                fields.append(f"Idempotency-Key: number-{number}")
            writer.write(load.post("/v1/postings", self._bodies[number % BODIES], *fields))
            status, answer = await load.answer(reader)
            assert status == 201, answer[:500]
            stored = json.loads(answer)
            self.acknowledged[stored["id"]] = stored["revision"]
        writer.close()


class Reader:
    """Follows the ledger by `GET /v1/ledger/entries?after=`; asserts that it is complete and in order."""

    def __init__(self, port: int) -> None:
        self.postings: dict[str, int] = {}
        self.stop = asyncio.Event()
        self._port = port
        self._upto = "0"
        self._last = (0, 0)  # the revision and line of the last entry
        self._number = -1
        self._lines: dict[str, int] = {}

    async def follow(self) -> None:
        """Reads what is new, until told to stop."""
        self.stop.clear()
        while not self.stop.is_set():
            await self.catch_up()
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self.stop.wait(), LOOKS_AGAIN)

    async def catch_up(self) -> None:
        """Reads up to the newest revision."""
        reader, writer = await asyncio.open_connection("127.0.0.1", self._port)
        more = True
        while more:
            writer.write(load.get(f"/v1/ledger/entries?after={self._upto}&limit={PAGE}"))
            status, answer = await load.answer(reader)
            assert status == 200, answer[:500]
            page = json.loads(answer)
            for entry in page["entries"]:
                self._heard(entry)
            self._upto, more = page["upto"], page["next"] is not None
        writer.close()

    def _heard(self, entry: dict[str, Any]) -> None:
        assert entry["number"] == self._number + 1, "a gap, or something twice"
        self._number += 1
        revision, line = self._last
        here = (entry["revision"], entry["line"])
        # A revision that brings no entry is not heard of here; one of many has all its lines in a row.
        assert here == (revision, line + 1) or (here[0] > revision and here[1] == 1), "out of order"
        self._last = here
        if entry["kind"] == "price":
            posting = entry["posting"]
            self._lines[posting] = self._lines.get(posting, 0) + 1
            assert self._lines[posting] == entry["line"] <= history.PRICES
            if entry["line"] == history.PRICES:
                assert posting not in self.postings
                self.postings[posting] = entry["revision"]


async def inside(services: Services, requests: list[dict[str, Any]], seconds: float) -> float:
    """Postings per second of as many tasks that call the service itself, with requests read already."""
    given = [PostingIn.model_validate_json(json.dumps(body)).given() for body in requests]
    numbers, started = count(), time.perf_counter()

    async def hand(author: str) -> int:
        done = 0
        while time.perf_counter() < started + seconds:
            one = given[next(numbers) % BODIES]
            checked = await services.postings.read(one)
            await services.postings.add(author, one, checked, lambda stored: stored.row.revision)
            done += 1
        return done

    return sum(await asyncio.gather(*map(hand, AUTHORS))) / (time.perf_counter() - started)
