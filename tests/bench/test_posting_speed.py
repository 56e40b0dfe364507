"""Postings of ten prices a second, from sixteen clients at once, beside the bare inserts of the same rows.

pytest tests/bench/test_posting_speed.py -m bench -s

Both sides write to the disk before they say so. Rounds are taken in turn; a reader follows the ledger all
along, and must get every entry that was acknowledged, once and in order.
"""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable
from statistics import median

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
    if kind == "postgresql":
        on_the_disk(request.getfixturevalue("postgresql"))
    keys = []
    for url in urls:
        services = hands.services_over(url)
        keys.append(await hands.keys(services))
        requests = await hands.bodies(services)
        await services.database.close()
    services = hands.services_over(inside_url)
    found: list[tuple[float, ...]] = []
    with served(outside_url) as service:
        service.until_ready()
        outside = hands.Hands(service.port, requests, keys[0])
        for number in range(ROUNDS + 1):
            seconds = SECONDS if number else SECONDS / 3
            rates = (
                await asyncio.to_thread(bare_per_second, bare_url, requests, hands.AUTHORS, seconds),
                await outside.round(seconds),
                await outside.round(seconds, keyed=True),
                await hands.inside(services, requests, seconds),
            )
            if number:  # the first one warms up
                found.append(rates)
    await services.database.close()
    print(f"\n{kind}: {len(outside.acknowledged):,} postings acknowledged, and read by the follower")
    for place, name in enumerate(SIDES):
        rates = tuple(sorted(each[place] for each in found))
        ratios = sorted(each[place] / each[0] for each in found)
        print(
            f"  {name}: {median(rates):.0f} a second ({rates[0]:.0f} to {rates[-1]:.0f}), "
            f"of the bare inserts {median(ratios):.2f} ({ratios[0]:.2f} to {ratios[-1]:.2f})"
        )
    print(f"  wanted: {WANTED}")
