"""What a draft would change about a hundred thousand kept parts: seconds of one processor.

    pytest tests/bench/test_impact_speed.py -m bench -s

Two thousand valuations of fifty parts, kept over ninety days in one region of three yards; each day has its
own price lists, one under the draft and one under the version that it would supersede.
"""

from __future__ import annotations

import asyncio
import json
import resource
import time
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from gradewright.clock import utc_now
from gradewright.drafts.draft import New, Saying
from gradewright.impacts.service import Looked
from gradewright.rulebooks.document import from_yaml, read_yaml
from gradewright.valuations.parts import PartGiven
from gradewright.valuations.service import Request, as_asked
from tests.bench import market
from tests.bench.test_valuation_speed import PARTS, bodies

pytestmark = pytest.mark.bench

VALUATIONS = 2000
DAYS = 90
NEWEST = sorted(market.PUBLISHED.glob("*.yaml"))[-1]


class Days:
    """A clock that goes through the days."""

    def __init__(self) -> None:
        self.now = utc_now()

    def __call__(self) -> datetime:
        return self.now


def test_the_impact_on_a_hundred_thousand_parts(tmp_path: Path) -> None:
    """Printed: seconds of processor time, of the clock, and the memory of the whole process."""
    asyncio.run(_measured(f"sqlite:///{tmp_path / 'bench.sqlite'}"))


async def _measured(database_url: str) -> None:
    app, services = await market.open_market(database_url)
    valuations, clock, today = services.valuations, Days(), utc_now()
    valuations.keeping.clock = clock
    lists = [json.loads(body) for body in bodies(read_yaml(NEWEST))]
    for number in range(VALUATIONS):
        clock.now = today - timedelta(days=number % DAYS)
        parts = tuple(PartGiven(**part) for part in lists[number % len(lists)]["parts"])
        request = Request(parts, region=market.REGION, on=clock.now.date())
        answer = await valuations.value(request)
        await valuations.keeping.keep(as_asked(request, answer), answer)
    document = _stricter(from_yaml(NEWEST.read_text(encoding="utf-8")), today)
    saying = Saying("ouzel", today, "A stricter copper share.", None)
    taken = await services.drafts.make(New(document=document), saying)
    since, until = (today - timedelta(days=DAYS)).date(), today.date()
    began, computing = time.monotonic(), time.process_time()
    looked = [each async for each in services.impacts.of_kept(taken.draft, since, until)]
    computing, took = time.process_time() - computing, time.monotonic() - began
    _tell(looked, computing, took)
    await services.database.close()
    del app


def _stricter(document: dict[str, Any], today: datetime) -> dict[str, Any]:
    """The newest version with every band of copper share a little higher, from tomorrow on."""
    limits = {
        name: {**limit, "value": "55 %"} if name == "band_50" else limit
        for name, limit in document["limits"].items()
    }
    day = (today + timedelta(days=1)).date().isoformat()
    return {**document, "version": "2090.1", "effective_from": day, "limits": limits, "examples": []}


def _tell(looked: list[Looked], computing: float, took: float) -> None:
    impact = looked[-1].impact
    assert impact is not None
    assert (impact.lists, impact.parts) == (VALUATIONS, VALUATIONS * PARTS)
    assert impact.parts_changed
    (currency,) = impact.currencies.values()
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"\n{impact.parts:,} parts of {impact.lists:,} valuations on {DAYS} days: {computing:.1f} s of one "
        f"processor, {took:.1f} s by the clock, told {len(looked)} times how far; {impact.parts_changed} "
        f"parts change their grade, {currency.all.changed} totals move; {memory:.0f} MiB at most, all in all"
    )
