"""What reads and a write take on a ledger of 10,000 entries and of a million, on both databases.

pytest tests/bench/test_growth.py -m bench -s

Builds two databases of each kind. The ratios are large to small, of rounds taken in turn.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Iterable

import psutil
import psycopg
import pytest

from gradewright.core.pricelist import PriceList
from tests.bench import history
from tests.bench.grown import Grown, serving
from tests.bench.timing import Operation, Servers, beside
from tests.conftest import KINDS, PostgreSQL

pytestmark = pytest.mark.bench

OPERATIONS: dict[str, Callable[[Grown], Operation]] = {
    "price list at an old revision": lambda grown: grown.old_list,
    "the same over HTTP": lambda grown: grown.old_list_over_http,
    "the same of a region without yards": lambda grown: grown.old_list_of_none,
    "the same of the whole country": lambda grown: grown.old_list_of_all,
    "revision of an old instant": lambda grown: grown.instant,
    "today's list from memory": lambda grown: grown.todays_list,
    "one grade, 365 days": lambda grown: grown.series,
    "a page of postings over HTTP": lambda grown: grown.page,
    "a posting of ten prices over HTTP": lambda grown: grown.post,
}


@pytest.mark.parametrize("kind", KINDS)
async def test_growth(kind: str, request: pytest.FixtureRequest, make_url: Callable[..., str]) -> None:
    """The large ledger holds the small one's region unchanged, and gives the same prices for it."""
    sizes = (history.TEN_THOUSAND, history.A_MILLION)
    urls = [make_url(kind, migrated=False) for _ in sizes]
    print(f"\n{kind}")
    for url, size in zip(urls, sizes, strict=True):
        began = time.monotonic()
        await history.grow(url, size)
        took, count = time.monotonic() - began, len(history.yards(size))
        print(f"  {size.entries} entries at {count} yards in {took:.0f} s")
    servers: Servers = tuple
    if kind == "postgresql":
        servers = _durable(request.getfixturevalue("postgresql"))
    async with serving(urls[0]) as small, serving(urls[1]) as large:
        print(f"  bases: {_same_region(await small.old_list(), await large.old_list())}")
        for name, operation in OPERATIONS.items():
            print(f"  {name}: {(await beside(operation(small), operation(large), servers)).says()}")


def _same_region(small: PriceList, large: PriceList) -> str:
    """What the prices of both lists rest on; those from the region itself are the same in both."""
    bases: list[Counter[str]] = [Counter(), Counter()]
    for grade in small.rulebook.grades:
        prices = [small.price(grade), large.price(grade)]
        kinds = [price.shown.basis.kind if price else "unpriced" for price in prices]
        for counter, kind in zip(bases, kinds, strict=True):
            counter[kind] += 1
        if "region" in kinds:
            assert prices[0] is not None
            assert prices[1] is not None
            assert prices[0].shown == prices[1].shown
    for counter in bases:
        assert counter["region"]
        assert counter["parent"]
        assert counter["kin"]
    return " and ".join(", ".join(f"{kind} {n}" for kind, n in sorted(b.items())) for b in bases)


def _durable(postgresql: PostgreSQL) -> Servers:
    """Makes the test server write to the disk as a real one does; gives its processes."""
    with psycopg.connect(postgresql.url("postgres"), autocommit=True) as connection:
        for statement in ("ALTER SYSTEM RESET fsync", "SELECT pg_reload_conf()", "CHECKPOINT"):
            connection.execute(statement)
    postmaster = psutil.Process(postgresql.server.get_pid())

    def processes() -> Iterable[int]:
        return [child.pid for child in postmaster.children()]

    return processes
