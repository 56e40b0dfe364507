"""A teardown, a haul, a settlement and a recovery over HTTP, each beside the bare request.

    pytest tests/bench/test_decisions_speed.py -m bench -s

The bare request is the same body, read and checked the same by the same server, and answered with
ready-made bytes. Requests differ from one to the next. One client asks at a time.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Awaitable, Callable
from fractions import Fraction
from itertools import count
from pathlib import Path
from statistics import median
from time import perf_counter, process_time
from typing import Any

import httpx
import psutil
import pytest

from gradewright.core.teardown.margins import margins
from gradewright.core.teardown.moves import weight_moves
from gradewright.core.teardown.prices import price_moves
from gradewright.core.teardown.rates import rates
from gradewright.core.teardown.tree import Tree, plan
from gradewright.teardowns.reading import MOST_NODES
from tests.bench import decisions, load, market
from tests.bench.decisions import Body
from tests.bench.timing import beside

pytestmark = pytest.mark.bench

ASKED: dict[str, tuple[str, Body]] = {
    "a teardown of 1,000 nodes": ("teardowns", decisions.device(1_000)),
    "a haul of 12 bins to 4 yards": ("hauls", decisions.haul(12, 4)),
    "a settlement of 30 lines": ("settlements", decisions.ticket(30)),
    "a cable of a recovery": ("recoveries", decisions.CABLE),
}
LARGE: dict[str, tuple[str, Body]] = {
    f"a teardown of {MOST_NODES:,} nodes, the most": ("teardowns", decisions.device(MOST_NODES)),
    "a haul of 40 bins to 12 yards": ("hauls", decisions.haul(40, 12)),
    "the same in trips of 4,000 lb": ("hauls", {**decisions.haul(40, 12), "load": "4000 lb"}),
}
LARGE_ROUNDS = 7


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str, Path]:
    """The market with its yards: its database, a member's key, and a folder with an answer of each kind."""
    folder = tmp_path_factory.mktemp("decisions")
    database_url = f"sqlite:///{folder / 'bench.sqlite'}"
    return database_url, asyncio.run(_open(database_url, folder)), folder


async def _open(database_url: str, folder: Path) -> str:
    app, services = await market.open_market(database_url)
    member = await decisions.open_yards(app)
    async with httpx.AsyncClient(
        transport=httpx.ASGITransport(app=app), base_url="http://bench", headers=member, timeout=60
    ) as client:
        for kind, body in ASKED.values():
            response = await client.post(f"/v1/{kind}", json=body)
            assert response.status_code == 200, response.text
            (folder / f"{kind}.json").write_bytes(response.content)
    await services.database.close()
    return member["Authorization"]


def test_decisions_beside_the_bare_request(
    opened: tuple[str, str, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each in turn with its bare request, several rounds; printed: the ratio, as the clock and the
    processor saw it.
    """
    database_url, key, folder = opened
    monkeypatch.setenv("GRADEWRIGHT_BENCH_ANSWERS", str(folder))
    with load.serving("tests.bench.served_decisions:create", database_url) as (port, pid):
        for words, (kind, body) in ASKED.items():
            sent = decisions.bodies(kind, body)
            found = asyncio.run(_beside(port, pid, key, kind, sent))
            size = (folder / f"{kind}.json").stat().st_size
            print(f"\n{words} ({len(sent[0]):,} bytes asked, {size:,} answered): {found}", flush=True)


def test_large_decisions(opened: tuple[str, str, Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """The large ones over HTTP, one after the other; printed: seconds, the median and its spread."""
    database_url, key, folder = opened
    monkeypatch.setenv("GRADEWRIGHT_BENCH_ANSWERS", str(folder))
    with load.serving("tests.bench.served_decisions:create", database_url) as (port, pid):
        for words, (kind, body) in LARGE.items():
            sent = decisions.bodies(kind, body, LARGE_ROUNDS + 1)
            took, computing, told = asyncio.run(_timed(port, pid, key, kind, sent))
            print(
                f"\n{words} ({len(sent[0]):,} bytes asked): {median(took):.2f} s ({took[0]:.2f} to "
                f"{took[-1]:.2f}), of processor time {median(computing):.2f} s; {told}",
                flush=True,
            )


def test_a_teardown_of_ten_thousand_nodes() -> None:
    """The core alone, without reading and writing; printed: seconds of each of its parts, the median."""
    tree = decisions.tree(10_000)
    print(f"\na teardown of {len(tree.nodes):,} nodes, the core alone:", flush=True)
    rate = Fraction(1500)
    work: list[tuple[str, Callable[[Tree], object]]] = [
        ("the plan at one rate", lambda fresh: plan(fresh, rate)),
        ("the plans at all rates", rates),
        (
            "the plan, and how far every weight may move",
            lambda fresh: weight_moves(margins(fresh, plan(fresh, rate))),
        ),
        ("the plan, and how far every price may move", lambda fresh: price_moves(fresh, plan(fresh, rate))),
    ]
    for words, do in work:
        took = []
        for _ in range(LARGE_ROUNDS):
            fresh = Tree(tree.nodes)  # what was worked out of the other is kept with it
            started = process_time()
            do(fresh)
            took.append(process_time() - started)
        print(
            f"  {words}: {median(took):.2f} s ({min(took):.2f} to {max(took):.2f}) of processor time",
            flush=True,
        )


async def _beside(port: int, pid: int, key: str, kind: str, sent: list[bytes]) -> str:
    bare = await _asker(port, key, f"/bench/ready-made/{kind}", sent)
    ours = await _asker(port, key, f"/v1/{kind}", sent)
    return (await beside(bare, ours, servers=lambda: _processes(pid))).says()


async def _timed(
    port: int, pid: int, key: str, kind: str, sent: list[bytes]
) -> tuple[list[float], list[float], str]:
    ask = await _asker(port, key, f"/v1/{kind}", sent)
    answer = await ask()  # warms up
    took, computing = [], []
    for _ in range(LARGE_ROUNDS):
        before, started = load.processor_seconds(pid), perf_counter()
        answer = await ask()
        took.append(perf_counter() - started)
        computing.append(load.processor_seconds(pid) - before)
    return sorted(took), sorted(computing), _said(kind, json.loads(answer))


async def _asker(port: int, key: str, path: str, sent: list[bytes]) -> Callable[[], Awaitable[bytes]]:
    """Asks one after the other over a connection that is kept."""
    reader, writer = await asyncio.open_connection("127.0.0.1", port, limit=2**26)
    requests = [load.post(path, body, f"Authorization: {key}") for body in sent]
    turn = count()

    async def ask() -> bytes:
        writer.write(requests[next(turn) % len(requests)])
        status, body = await load.answer(reader)
        assert status == 200, body[:500]
        return body

    return ask


def _processes(pid: int) -> list[int]:
    server = psutil.Process(pid)
    return [pid, *(child.pid for child in server.children(recursive=True))]


def _said(kind: str, answer: Any) -> str:
    """What the answer says of itself: how far a haul may be from the best, or how much there was to open."""
    if kind == "hauls":
        proof = answer["proof"]
        return f"proved: {proof['proved']}, gap {proof['gap']} of {answer['left']['likely']}"
    return f"{len(json.dumps(answer)):,} bytes answered"
