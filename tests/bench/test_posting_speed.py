"""Postings of ten prices a second, from sixteen clients at once, beside the bare inserts of the same rows.

pytest tests/bench/test_posting_speed.py -m bench -s

Both sides write to the disk before they say so. Rounds are taken in turn; a reader follows the ledger all
along, and must get every entry that was acknowledged, once and in order.
"""

from __future__ import annotations

import asyncio
import os
from collections.abc import Awaitable, Callable, Sequence
from statistics import median

import psutil
import pytest

from tests.bench import hands, history
from tests.bench.bare import bare_per_second
from tests.bench.durable import on_the_disk
from tests.bench.started import served
from tests.conftest import KINDS

pytestmark = pytest.mark.bench

ROUNDS = int(os.environ.get("GRADEWRIGHT_BENCH_ROUNDS", "7"))
SECONDS = 3.0  # of each side in a round
WANTED = 0.4
SIDES = (
    "bare inserts",
    "over HTTP",
    "over HTTP, with an Idempotency-Key",
    "the service itself, without HTTP",
)


@pytest.mark.parametrize("kind", KINDS)
async def test_postings(kind: str, request: pytest.FixtureRequest, make_url: Callable[..., str]) -> None:
    """The reader sees every posting that was acknowledged, whole: none twice, none out of order."""
    outside_url, inside_url, bare_url = urls = [make_url(kind, migrated=False) for _ in range(3)]
    for url in urls:
        await history.grow(url, history.TEN_THOUSAND)
    database: list[int] = []
    if kind == "postgresql":
        on_the_disk(server := request.getfixturevalue("postgresql"))
        database = [server.server.get_pid()]
    keys = []
    for url in urls:
        services = hands.services_over(url)
        keys.append(await hands.keys(services))
        requests = await hands.bodies(services)
        await services.database.close()
    services = hands.services_over(inside_url)
    found: list[list[tuple[float, float]]] = []
    with served(outside_url) as service:
        service.until_ready()
        outside = hands.Hands(service.port, requests, keys[0])
        for number in range(ROUNDS + 1):
            seconds = SECONDS if number else SECONDS / 3
            bare = asyncio.to_thread(bare_per_second, bare_url, requests, hands.AUTHORS, seconds)
            here, there = [os.getpid(), *database], [service.process.pid, *database]
            sides = [
                await _computing(seconds, here, bare),
                await _computing(seconds, there, outside.round(seconds)),
                await _computing(seconds, there, outside.round(seconds, keyed=True)),
                await _computing(seconds, here, hands.inside(services, requests, seconds)),
            ]
            if number:  # the first one warms up
                found.append(sides)
    await services.database.close()
    print(f"\n{kind}: {len(outside.acknowledged):,} postings acknowledged, and read by the follower")
    for place, name in enumerate(SIDES):
        rates = sorted(each[place][0] for each in found)
        ratios = sorted(each[place][0] / each[0][0] for each in found)
        computing = sorted(each[0][1] / each[place][1] for each in found)
        print(
            f"  {name}: {median(rates):.0f} a second ({rates[0]:.0f} to {rates[-1]:.0f}), "
            f"of the bare inserts {median(ratios):.2f} ({ratios[0]:.2f} to {ratios[-1]:.2f}), by processor "
            f"time {median(computing):.2f} ({computing[0]:.2f} to {computing[-1]:.2f}), "
            f"{median(each[place][1] for each in found) * 1000:.2f} ms each"
        )
    print(f"  wanted: {WANTED}")


async def _computing(seconds: float, pids: Sequence[int], work: Awaitable[float]) -> tuple[float, float]:
    """Postings per second, and the seconds of a processor that each took of those processes."""
    before = sum(map(_spent, pids))
    rate = await work
    return rate, (sum(map(_spent, pids)) - before) / (rate * seconds)


def _spent(pid: int) -> float:
    """Seconds of a process and its children, those that have ended too."""
    times = [process.cpu_times() for process in psutil.Process(pid).children()]
    own = psutil.Process(pid).cpu_times()
    return sum(each.user + each.system for each in (own, *times)) + own.children_user + own.children_system
