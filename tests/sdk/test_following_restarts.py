"""Following a service that is killed and started again while somebody writes: the real one, over a socket."""

from __future__ import annotations

import asyncio
import os
import re
import signal
import subprocess
import sys
import threading
from collections.abc import AsyncIterator, Callable
from datetime import UTC, datetime

import pytest
from tests.api import World, settle
from tests.conftest import Watch, talk_to
from tests.served import environment, free_port

import gradewright_sdk as gw
from gradewright.asgi import create_app
from gradewright.settings import Settings
from gradewright_sdk import AsyncClient, Client, Retry

OFTEN = Retry(times=100, first=0.05, most=0.2)
WITHIN = 40.0
LAST = "told"


class Service:
    """`gradewright serve` on one port, to be ended and started again."""

    def __init__(self, url: str) -> None:
        self.url, self.port = url, free_port()
        self.address = f"http://127.0.0.1:{self.port}"
        self.process: subprocess.Popen[str] | None = None

    def start(self) -> None:
        """Starts it, without waiting for it."""
        command = [sys.executable, "-m", "gradewright.cli", "serve", "--port", str(self.port)]
        self.process = subprocess.Popen(
            command,
            env=environment(self.url),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )

    def end(self, how: signal.Signals) -> str:
        """Ends it: asked to, or server and worker killed at once; what it printed."""
        assert self.process is not None
        if how == signal.SIGKILL:
            os.killpg(self.process.pid, how)
        else:
            self.process.send_signal(how)
        return self.process.communicate(timeout=20)[0]


class Writer(threading.Thread):
    """Posts two prices at a time, whether the service is there or not, until it is told to stop."""

    def __init__(self, address: str, key: str) -> None:
        super().__init__(daemon=True)
        self.address, self.key = address, key
        self.posted: list[str] = []
        self.enough = threading.Event()

    def run(self) -> None:
        """Posts on; at the end once more, with evidence of another kind."""
        today = datetime.now(UTC).date()
        with Client(self.address, self.key, retry=OFTEN, timeout=WITHIN) as client:
            over = False
            while not over:
                over = self.enough.is_set()
                price = {"price": f"{len(self.posted) + 1}", "currency": "USD", "per": "lb"}
                made = client.postings.create(
                    "low-quay",
                    observed_on=today,
                    evidence=LAST if over else "sign",
                    prices=[{"grade": grade, **price} for grade in ("copper-no1", "copper-no2")],
                )
                self.posted.append(made.id)


@pytest.fixture
async def service(make_url: Callable[[str], str]) -> AsyncIterator[tuple[Service, Writer]]:
    """The small district, served, and somebody who writes there."""
    url = make_url("sqlite")
    app = create_app(Settings(database_url=url))
    async with talk_to(app) as client:
        world = await settle(World(app, client, Watch()))
        key = (await world.key("wren"))["Authorization"].removeprefix("Bearer ")
    served = Service(url)
    served.start()
    yield served, Writer(served.address, key)
    if served.process is not None and served.process.poll() is None:
        served.end(signal.SIGKILL)


async def test_nothing_is_lost_and_nothing_comes_twice(service: tuple[Service, Writer]) -> None:
    """Both clients and the command, each in one loop, get every entry once and in order, while the service is
    killed, started, told to stop and started again, and a writer goes on."""
    served, writer = service
    found: dict[str, list[gw.LedgerEntry]] = {"sync": [], "async": []}

    def done(entry: gw.LedgerEntry) -> bool:
        return isinstance(entry, gw.PriceEntry) and (entry.evidence, entry.line) == (LAST, 2)

    def follow() -> None:
        with Client(served.address, retry=OFTEN) as client:
            for entry in client.ledger.follow(after=0, page_size=3):
                found["sync"].append(entry)
                if done(entry):
                    return

    async def follow_async() -> None:
        async with AsyncClient(served.address, retry=OFTEN) as client:
            async for entry in client.ledger.follow(after=0):
                found["async"].append(entry)
                if done(entry):
                    return

    async def posted(count: int) -> None:
        wanted = len(writer.posted) + count
        while len(writer.posted) < wanted:
            assert writer.is_alive()
            await asyncio.sleep(0.01)

    async def restart(how: signal.Signals) -> str:
        printed = await asyncio.to_thread(served.end, how)
        served.start()
        return printed

    async with asyncio.timeout(WITHIN):
        await asyncio.to_thread(answers, served)
        command = [sys.executable, "-m", "gradewright_sdk.cli", "follow", "--after", "0", "--json", "--url"]
        printing = subprocess.Popen(  # noqa: ASYNC220 - it is read aside
            [*command, served.address],
            env=environment(served.url),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        assert printing.stdout is not None
        lines = [await asyncio.to_thread(printing.stdout.readline)]  # its first question is answered
        followers = [asyncio.create_task(asyncio.to_thread(follow)), asyncio.create_task(follow_async())]
        writer.start()
        await posted(5)
        await restart(signal.SIGKILL)
        await posted(5)
        printed = await restart(signal.SIGTERM)
        assert re.search(r"Stopped worker-1.*Granian shutdown completed", printed, re.DOTALL), printed
        await posted(5)
        writer.enough.set()
        await asyncio.to_thread(writer.join)
        await asyncio.gather(*followers)
        with Client(served.address) as client:
            whole = [entry.raw for entry in client.ledger.entries()]
    assert [entry.raw for entry in found["sync"]] == whole
    assert [entry.raw for entry in found["async"]] == whole
    assert [entry.number for entry in found["sync"]] == list(range(len(whole)))
    prices = [entry.posting for entry in found["sync"] if isinstance(entry, gw.PriceEntry)]
    assert prices[::2] == prices[1::2] == writer.posted
    lines += [await asyncio.to_thread(printing.stdout.readline) for _ in whole[1:]]
    assert b"".join(lines) == b"".join(raw + b"\n" for raw in whole)
    printing.send_signal(signal.SIGINT)
    out, err = await asyncio.to_thread(printing.communicate, timeout=10)
    assert (printing.returncode, out) == (0, b"")
    assert b"Waiting for it" in err
    assert b"Traceback" not in err


def answers(served: Service) -> None:
    """Waits until the service answers."""
    with Client(served.address, retry=OFTEN, timeout=WITHIN) as client:
        client.service.ready()
