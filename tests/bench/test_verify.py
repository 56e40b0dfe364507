"""What it takes to verify a million entries, what their tree takes on the disk, and what sealing costs.

pytest tests/bench/test_verify.py -m bench -s
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from statistics import median

import pytest
from sqlalchemy import text

from gradewright.db.leaves import seal
from gradewright.db.ledger import next_revision
from gradewright.db.session import Database
from gradewright.ledger.keys import new_signer
from gradewright.ledger.tree import Tree
from gradewright.ledger.verify import verify
from tests.bench import history, load
from tests.bench.timing import Beside, beside
from tests.conftest import KINDS

pytestmark = pytest.mark.bench

WITHIN = 60.0  # seconds
ROUNDS = 3
TABLES = ("leaves", "nodes", "trees")
PRICE = {
    "kind": "price",
    "posting": "p-0123456789abcdef0123",
    "yard": "yard-00-01-0",
    "author": "ouzel",
    "observed_on": "2026-05-04",
    "evidence": "sign",
    "note": None,
    "grade": "copper-no2",
    "label": None,
    "price": "3.35",
    "currency": "USD",
    "per": "lb",
    "from_weight": None,
}


@pytest.mark.parametrize("kind", KINDS)
async def test_a_million_entries(
    kind: str, make_url: Callable[..., str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The whole history is read and found sound; printed: how long that takes, memory, room, proofs."""
    url = make_url(kind, migrated=False)
    await history.grow(url, history.A_MILLION)
    database = Database(url)
    before = await _room(database)
    took, spent = [], []
    for _ in range(ROUNDS):
        began, computed = time.perf_counter(), time.process_time()
        report = await verify(database)
        took.append(time.perf_counter() - began)
        spent.append(time.process_time() - computed)
        assert report.sound
        assert report.entries >= 1_000_000
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"\n{kind}: {report.entries:,} entries of {report.revisions:,} revisions")
    print(f"  verified in {median(took):.1f} s ({min(took):.1f} to {max(took):.1f}); wanted: {WITHIN:.0f}")
    print(f"  of processor time {median(spent):.1f} s; the process took {memory} MiB at its largest")
    print(f"  the tree takes {before / report.entries:.0f} bytes an entry, {before / 2**20:.0f} MiB in all")
    async with database.read() as session:
        for name, work in {
            "root": lambda tree: tree.root(session, report.entries),
            "inclusion": lambda tree: tree.inclusion(session, 500_000, report.entries),
            "consistency": lambda tree: tree.consistency(session, 123_456, report.entries),
        }.items():
            began = time.perf_counter()
            await work(Tree())
            print(f"  {name}, nothing in memory: {(time.perf_counter() - began) * 1000:.1f} ms")
    print(f"  a bare write, and one that seals ten prices: {(await _sealing(database)).says()}")
    await database.close()
    monkeypatch.setenv("GRADEWRIGHT_CHECKPOINT_KEY", new_signer("ledger.example.org").text)
    with load.serving("gradewright.serving:application", url) as (port, _):
        for entries in ([], ["--entries"]):
            print(f"  from outside {' '.join(entries)}: {_outside(port, tmp_path / 'kept', entries):.1f} s")


def _outside(port: int, file: Path, entries: list[str]) -> float:
    """Seconds of `gradewright-client verify` against a service."""
    command = [sys.executable, "-m", "gradewright_sdk.cli", "verify", str(file), *entries]
    began = time.perf_counter()
    subprocess.run([*command, "--url", f"http://127.0.0.1:{port}"], check=True, capture_output=True)
    return time.perf_counter() - began


async def _room(database: Database) -> int:
    """Bytes of the tables of the tree, with their indexes."""
    async with database.read() as session:
        if not database.embedded:
            sizes = [text(f"SELECT pg_total_relation_size('{table}')") for table in TABLES]
            return sum([await session.scalar(size) or 0 for size in sizes])
        names = ", ".join(f"'{table}'" for table in TABLES)
        held = await session.scalar(text(f"SELECT sum(pgsize) FROM dbstat WHERE name IN ({names})"))  # noqa: S608 - own names
        return int(held or 0)


async def _sealing(database: Database) -> Beside:
    """A bare write beside a sealed one; each is rolled back, so that the tree stays whole."""
    now = history.END + timedelta(days=1)

    async def bare() -> None:
        async with database.write() as session:
            await next_revision(session, now)
            await session.rollback()

    async def sealed() -> None:
        async with database.write() as session:
            await seal(session, await next_revision(session, now), [PRICE] * history.PRICES)
            await session.rollback()

    return await beside(bare, sealed)
