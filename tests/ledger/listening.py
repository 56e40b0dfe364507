"""A listener to the stream of events, held by hand: what it was sent so far, and whether it is there."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from typing import Any, cast

import pytest
from litestar import Litestar
from tests.api import World, empty_world, settle
from tests.conftest import KINDS

WITHIN = 10.0


@pytest.fixture(scope="module", params=KINDS)
async def district(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The small district for a whole module of tests, which may add to it."""
    async with empty_world(request, request.param) as world:
        yield await settle(world)


@pytest.fixture
async def world(district: World) -> AsyncIterator[World]:
    """A worker of its own over the district."""
    async with district.another() as worker:
        yield worker


@dataclass
class Listener:
    """What came, and a way to leave. With `reading` cleared it takes nothing off the line."""

    status: int = 0
    headers: dict[str, str] = field(default_factory=dict)
    text: str = ""
    over: bool = False
    left: asyncio.Event = field(default_factory=asyncio.Event)
    reading: asyncio.Event = field(default_factory=asyncio.Event)
    came: asyncio.Condition = field(default_factory=asyncio.Condition)

    async def receive(self) -> dict[str, Any]:
        await self.left.wait()
        return {"type": "http.disconnect"}

    async def send(self, message: Any) -> None:
        await self.reading.wait()
        if message["type"] == "http.response.start":
            self.status = message["status"]
            self.headers = {name.decode().lower(): value.decode() for name, value in message["headers"]}
            return
        async with self.came:
            self.text += message["body"].decode()
            self.over = not message.get("more_body", False)
            self.came.notify_all()

    async def until(self, words: str) -> str:
        """All that came, once it has these words in it."""
        async with asyncio.timeout(WITHIN), self.came:
            await self.came.wait_for(lambda: words in self.text)
        return self.text

    @property
    def ids(self) -> list[int]:
        """The ids of the events that came, but for the one that the stream begins with."""
        found = [block.split("\n")[0] for block in self.text.split("\n\n") if "event: revision" in block]
        return [int(line.removeprefix("id: ")) for line in found]


@asynccontextmanager
async def listening(app: Litestar, query: str = "", **headers: str) -> AsyncIterator[Listener]:
    """A listener until the block ends; then it leaves, as one whose connection is shut."""
    listener = Listener()
    listener.reading.set()
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "GET",
        "scheme": "http",
        "path": "/v1/events",
        "raw_path": b"/v1/events",
        "root_path": "",
        "query_string": query.encode(),
        "headers": [(name.replace("_", "-").encode(), value.encode()) for name, value in headers.items()],
        "client": ("127.0.0.1", 1),
        "server": ("test", 80),
        "app": app,
        "state": {},
    }
    life = asyncio.create_task(cast("Any", app)(scope, listener.receive, listener.send))
    try:
        yield listener
    finally:
        listener.left.set()
        listener.reading.set()
        async with asyncio.timeout(WITHIN):
            await life
