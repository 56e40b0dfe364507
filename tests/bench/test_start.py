"""From the command to the first answer, and the memory that the service takes under the demo's data.

pytest tests/bench/test_start.py -m bench -s
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from statistics import median

import httpx
import pytest

from gradewright.clock import utc_now
from gradewright.demo import database as demo
from gradewright.demo.postings import planned
from gradewright.demo.scenario import REGION, read_scenario
from gradewright.demo.seeding import seed
from gradewright.rulebooks.document import read_yaml
from tests.bench import load, market, started
from tests.bench.test_valuation_speed import PARTS, bodies

pytestmark = pytest.mark.bench

STARTS = 9
VALUATIONS = 1000
DAYS = 300
WITHIN = 2.0  # seconds
MOST_MEMORY = 200  # MiB


def test_from_command_to_answering(tmp_path: Path) -> None:
    """Started again and again over a loaded database; printed: seconds to ready, and to a first valuation."""
    database_url = f"sqlite:///{tmp_path / 'bench.sqlite'}"
    asyncio.run(market.open_market(database_url))
    body = bodies(read_yaml(market.PUBLISHED / "2018.1.yaml"))[0]
    ready, answered, computing = [], [], []
    for _ in range(STARTS):
        with started.served(database_url) as service:
            ready.append(service.until_ready())
            status, answer = service.send("POST", "/v1/valuations", body)
            answered.append(service.passed())
            assert status == 200, answer
            assert len(json.loads(answer)["parts"]) == PARTS
            computing.append(load.processor_seconds(service.process.pid))
    print(
        f"\nready after {_spread(ready)} s; a valuation of {PARTS} parts answered after {_spread(answered)} s"
    )
    print(f"processor time until then: {_spread(computing)} s; target {WITHIN:g} s on the clock")
    for module in ("gradewright.cli", "gradewright.asgi"):
        print(f"import {module}: {started.imports(module, 8)}")


def test_memory_under_the_demos_data(tmp_path: Path) -> None:
    """The district is posted through the service, then lists are valued; printed: MiB of its processes."""
    scenario, today = read_scenario(), utc_now().date()
    database_url = demo.url_of(tmp_path / "demo.sqlite")
    demo.make_tables(database_url)
    keys = asyncio.run(demo.fill(database_url, scenario))
    sent = bodies(read_yaml(market.PUBLISHED / "2018.1.yaml"))
    assert market.REGION == REGION
    with started.served(database_url) as service:
        service.until_ready()
        print(f"\nready: {_memory(service)}")

        async def post_everything() -> int:
            async with httpx.AsyncClient(base_url=service.url, timeout=30, trust_env=False) as client:
                return (await seed(client, scenario, keys, planned(scenario, today), today)).prices

        print(f"{asyncio.run(post_everything())} prices posted: {_memory(service)}")
        for number in range(VALUATIONS):
            status, answer = service.send("POST", "/v1/valuations", sent[number % len(sent)])
            assert status == 200, answer
        print(f"{VALUATIONS} lists of {PARTS} parts valued: {_memory(service)}")
        for back in range(DAYS):
            day = today - timedelta(days=back)
            status, answer = service.send("GET", f"/v1/prices?region={REGION}&on={day}")
            assert status == 200, answer
        print(f"{DAYS} days' price lists read: {_memory(service)}; target {MOST_MEMORY} MiB")


def _memory(service: started.Service) -> str:
    found = started.resident(service.process.pid)
    whole = f"each process counted whole {found['VmRSS']}, at most {found['VmHWM']}"
    return f"{found['Pss']} MiB; {whole}"


def _spread(seconds: Sequence[float]) -> str:
    return f"{median(seconds):.2f} ({min(seconds):.2f} to {max(seconds):.2f})"
