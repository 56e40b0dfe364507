"""The memory that charts take of a service under the demo's data, and how long one is waited for.

pytest tests/bench/test_chart_memory.py -m bench -s
"""

from __future__ import annotations

import asyncio
import time
from itertools import islice, product
from pathlib import Path
from statistics import median

import httpx
import pytest

from gradewright.clock import utc_now
from gradewright.demo import database as demo
from gradewright.demo.postings import planned
from gradewright.demo.scenario import REGION, read_scenario
from gradewright.demo.seeding import seed
from tests.bench import started

pytestmark = pytest.mark.bench

CHARTS = 20
PLACES = (f"prices/{REGION}/{{}}/series", "yards/low-quay/prices/{}/series")
GRADES = ("copper-no1", "copper-no2", "light-iron", "brass-yellow", "picture-tubes")
SPANS = ("step=week", "step=day&from={}")
MOST_MEMORY = 200  # MiB


def test_memory_after_charts(tmp_path: Path) -> None:
    """Twenty charts of a region and a yard, by weeks and by days; printed: MiB of all processes, seconds."""
    scenario, today = read_scenario(), utc_now().date()
    database_url = demo.url_of(tmp_path / "demo.sqlite")
    demo.make_tables(database_url)
    keys = asyncio.run(demo.fill(database_url, scenario))
    since = today.replace(year=today.year - 1, day=min(today.day, 28))
    paths = [
        f"/v1/{place.format(grade)}?{span.format(since)}"
        for span, grade, place in islice(product(SPANS, GRADES, PLACES), CHARTS)
    ]
    assert len(set(paths)) == CHARTS

    async def post_everything(url: str) -> None:
        async with httpx.AsyncClient(base_url=url, timeout=30, trust_env=False) as client:
            await seed(client, scenario, keys, planned(scenario, today), today)

    with started.served(database_url) as service:
        service.until_ready()
        asyncio.run(post_everything(service.url))
    with started.served(database_url) as service:
        service.until_ready()
        print(f"\nready: {_memory(service)}")
        for form in ("json", "svg"):
            spent = [_seconds(service, f"{path}&format={form}") for path in paths]
            print(f"{CHARTS} series as {form}: {_memory(service)}; target {MOST_MEMORY} MiB")
            first, *others = spent
            print(f"  the first {first:.2f} s, then {median(others):.3f} s, at most {max(others):.3f} s")


def _seconds(service: started.Service, path: str) -> float:
    begun = time.perf_counter()
    status, answer = service.send("GET", path)
    assert status == 200, answer
    return time.perf_counter() - begun


def _memory(service: started.Service) -> str:
    found = started.resident(service.process.pid)
    return f"{found['VmRSS']} MiB, at most {found['VmHWM']}"
