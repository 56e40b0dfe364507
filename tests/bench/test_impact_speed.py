"""What a draft would change about a hundred thousand kept parts: seconds of one processor.

    pytest tests/bench/test_impact_speed.py -m bench -s

Two thousand valuations of fifty parts, kept over ninety days in one region of three yards, and over sixty
days in twenty such regions, most of them on a day and in a place of their own. Each day and place has its own
price list; two where the draft counts prices otherwise than the version that it would supersede. That is the
version of today, or the newest that ships.
"""

from __future__ import annotations

import asyncio
import json
import random
import resource
import time
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from gradewright.clock import utc_now
from gradewright.drafts.draft import New, Saying
from gradewright.impacts.service import Looked
from gradewright.rulebooks.document import read_yaml
from gradewright.valuations.parts import PartGiven
from gradewright.valuations.service import Request, as_asked
from tests.bench import market
from tests.bench.test_valuation_speed import PARTS, bodies

pytestmark = pytest.mark.bench

VALUATIONS = 2000
NEWEST = sorted(market.PUBLISHED.glob("*.yaml"))[-1]


class Days:
    """A clock that goes through the days."""

    def __init__(self) -> None:
        self.now = utc_now()

    def __call__(self) -> datetime:
        return self.now


@pytest.mark.parametrize("newest", [False, True], ids=["today", "newest"])
@pytest.mark.parametrize(("regions", "days", "alike"), [(1, 90, True), (20, 60, True), (20, 60, False)])
def test_the_impact_on_a_hundred_thousand_parts(
    tmp_path: Path, regions: int, days: int, alike: bool, newest: bool
) -> None:
    """Printed: seconds of processor time, of the clock, and the memory of the whole process."""
    codes = [market.REGION, *(f"XO-R{number}" for number in range(1, regions))]
    asyncio.run(_measured(f"sqlite:///{tmp_path / 'bench.sqlite'}", codes, days, alike=alike, newest=newest))


async def _measured(
    database_url: str, regions: Sequence[str], days: int, *, alike: bool, newest: bool
) -> None:
    app, services = await market.open_market(database_url, regions, newest=newest)
    valuations, clock, today = services.valuations, Days(), utc_now()
    valuations.keeping.clock = clock
    lists, chance = [json.loads(body) for body in bodies(read_yaml(NEWEST))], random.Random(1)
    for number in range(VALUATIONS):
        clock.now = today - timedelta(days=number * days // VALUATIONS)
        parts = tuple(PartGiven(**part) for part in lists[number % len(lists)]["parts"])
        request = Request(parts, region=chance.choice(regions), on=clock.now.date())
        answer = await valuations.value(request)
        await valuations.keeping.keep(as_asked(request, answer), answer)
    version = await services.rulebooks.in_force((today + timedelta(days=1)).date())
    document = _stricter(json.loads(version.text), today, alike=alike)
    saying = Saying("ouzel", today, "A stricter copper share.", None)
    taken = await services.drafts.make(New(document=document), saying)
    since, until = (today - timedelta(days=days)).date(), today.date()
    began, computing = time.monotonic(), time.process_time()
    looked = [each async for each in services.impacts.of_kept(taken.draft, since, until)]
    computing, took = time.process_time() - computing, time.monotonic() - began
    counted = "alike" if alike else "otherwise"
    _tell(looked, computing, took, days, f"{counted}, against {version.rulebook.version}")
    await services.database.close()
    del app


def _stricter(document: dict[str, Any], today: datetime, *, alike: bool) -> dict[str, Any]:
    """A version with a band of copper share a little higher, from tomorrow on; `alike`: it counts prices as
    before, so that one list does for both."""
    pricing = document["pricing"] if alike else {**document["pricing"], "stale_after": 100}
    limits = {
        name: {**limit, "value": "55 %"} if name == "band_50" else limit
        for name, limit in document["limits"].items()
    }
    day = (today + timedelta(days=1)).date().isoformat()
    changed = {"effective_from": day, "limits": limits, "pricing": pricing, "examples": []}
    return {**document, "version": "2090.1", **changed}


def _tell(looked: list[Looked], computing: float, took: float, days: int, counted: str) -> None:
    impact = looked[-1].impact
    assert impact is not None
    assert (impact.lists, impact.parts) == (VALUATIONS, VALUATIONS * PARTS)
    assert impact.parts_changed
    (currency,) = impact.currencies.values()
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"\n{impact.parts:,} parts of {impact.lists:,} valuations on {days} days in {len(currency.regions)} "
        f"regions, prices counted {counted}: {computing:.1f} s of one processor, {took:.1f} s by the clock, "
        f"told {len(looked)} times how far; {impact.parts_changed} parts change their grade, "
        f"{currency.all.changed} totals move; {memory:.0f} MiB at most, all in all"
    )
