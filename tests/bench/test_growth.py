"""What reads and a write take on ledgers of 10,000 entries to ten million, on both databases.

GRADEWRIGHT_BENCH_LARGEST=postgresql pytest tests/bench/test_growth.py -m bench -s

Builds a database of each size and kind; one of ten million entries only of the kinds named there ("sqlite
postgresql" for both), as it takes some ten minutes and 7 GB. The ratios are largest to smallest, of rounds
taken in turn.
"""

from __future__ import annotations

import os
import random
import time
from collections import Counter
from collections.abc import Callable
from contextlib import AsyncExitStack
from functools import partial

import pytest
from sqlalchemy import text

from gradewright.core.pricelist import PriceList
from gradewright.db.entries import hash_of
from gradewright.db.leaves import read_hashes, size_at
from gradewright.db.session import Database
from gradewright.ledger.entries import lines_between, recorded_between
from tests.bench import history
from tests.bench.durable import on_the_disk
from tests.bench.grown import Grown, serving
from tests.bench.timing import Operation, Servers, beside
from tests.conftest import KINDS

pytestmark = pytest.mark.bench

OPERATIONS: dict[str, Callable[[Grown], Operation]] = {
    "price list at an old revision": lambda grown: grown.old_list,
    "old list, authors weighed (2026.3)": lambda grown: partial(grown.old_list, version="2026.3"),
    "old list, yards above drawn (2027.3)": lambda grown: partial(grown.old_list, version="2027.3"),
    "old list over HTTP": lambda grown: grown.old_list_over_http,
    "old list of a region without yards": lambda grown: grown.old_list_of_none,
    "old list of the whole country": lambda grown: grown.old_list_of_all,
    "revision of an old instant": lambda grown: grown.instant,
    "today's list, nothing in memory": lambda grown: grown.todays_list_cold,
    "today's list, nobody weighed (2018.1)": lambda grown: partial(grown.todays_list_cold, version="2018.1"),
    "today's list, yards above drawn (2027.3)": lambda grown: partial(
        grown.todays_list_cold, version="2027.3"
    ),
    "today's list, in force from 29 November 2026 (2027.8)": lambda grown: partial(
        grown.todays_list_cold, version="2027.8"
    ),
    "old list, in force from 29 November 2026 (2027.8)": lambda grown: partial(
        grown.old_list, version="2027.8"
    ),
    "today's list from memory": lambda grown: grown.todays_list,
    "one grade, 365 days up to the old one": lambda grown: grown.series,
    "one grade, 365 days up to today": lambda grown: grown.series_of_today,
    "one grade, 365 days up to today (2027.8)": lambda grown: partial(
        grown.series_of_today, version="2027.8"
    ),
    "a page of postings over HTTP": lambda grown: grown.page,
    "a posting of ten prices over HTTP": lambda grown: grown.post,
}


SIZES = (history.TEN_THOUSAND, history.A_HUNDRED_THOUSAND, history.A_MILLION)
LARGEST = os.environ.get("GRADEWRIGHT_BENCH_LARGEST", "").split()
SAMPLED = 300  # revisions


@pytest.mark.parametrize("kind", KINDS)
async def test_growth(kind: str, request: pytest.FixtureRequest, make_url: Callable[..., str]) -> None:
    """The large ledgers hold the small one's region unchanged, and give the same prices for it."""
    sizes = (*SIZES, history.TEN_MILLION) if kind in LARGEST else SIZES
    urls = [make_url(kind, migrated=False) for _ in sizes]
    print(f"\n{kind}")
    for url, size in zip(urls, sizes, strict=True):
        began = time.monotonic()
        await history.grow(url, size)
        took, count = time.monotonic() - began, len(history.yards(size))
        room = await _room(url)
        print(
            f"  {size.entries:,} entries at {count} yards in {took:.0f} s, {room / 2**20:.0f} MiB, "
            f"{room / size.entries:.0f} bytes an entry; {await _sampled(url)} leaves made again"
        )
    servers: Servers = tuple
    if kind == "postgresql":
        servers = on_the_disk(request.getfixturevalue("postgresql"))
    async with AsyncExitStack() as stack:
        grown = [await stack.enter_async_context(serving(url)) for url in urls]
        then, today = grown[0].rulebook.version, grown[0].todays.version
        print(f"  unless a version is named: by {then} on the old day, by {today} today")
        print(f"  bases: {_same_region([await each.old_list() for each in grown])}")
        for name, operation in OPERATIONS.items():
            print(f"  {name}: {(await beside(*map(operation, grown), servers=servers)).says()}", flush=True)


def _same_region(lists: list[PriceList]) -> str:
    """What the prices of all lists rest on; those from the region itself are the same in all."""
    bases: list[Counter[str]] = [Counter() for _ in lists]
    for grade in lists[0].rulebook.grades:
        prices = [found.price(grade) for found in lists]
        kinds = [price.shown.basis.kind if price else "unpriced" for price in prices]
        for counter, kind in zip(bases, kinds, strict=True):
            counter[kind] += 1
        if "region" in kinds:
            shown = [price.shown for price in prices if price is not None]
            assert shown == [shown[0]] * len(lists)
    for counter in bases:
        assert counter["region"]
        assert counter["parent"]
        assert counter["kin"]
    return "; ".join(", ".join(f"{kind} {n}" for kind, n in sorted(b.items())) for b in bases)


async def _sampled(url: str) -> int:
    """Leaves made again from the rows of revisions drawn by chance, all as they are kept: how many."""
    database = Database(url)
    draw, count = random.Random(url), 0
    newest = (await database.newest()).number
    async with database.read() as session:
        for revision in draw.sample(range(1, newest + 1), SAMPLED):
            first = await size_at(session, revision - 1) or 0
            lines = await lines_between(session, revision - 1, revision)
            assert await size_at(session, revision) == first + len(lines)
            recorded = (await recorded_between(session, revision - 1, revision)).get(revision)
            made = [hash_of(number, line, recorded) for number, line in enumerate(lines, start=first)]
            assert made == await read_hashes(session, 0, first, first + len(lines))
            count += len(lines)
    await database.close()
    return count


async def _room(url: str) -> int:
    """Bytes of the whole database on the disk, with its indexes."""
    database = Database(url)
    if database.embedded:
        asked = "SELECT page_count * page_size FROM pragma_page_count, pragma_page_size"
    else:
        asked = "SELECT pg_database_size(current_database())"
    async with database.read() as session:
        found = await session.scalar(text(asked))
    await database.close()
    return int(found or 0)
