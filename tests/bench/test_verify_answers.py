"""What it takes to hold a million kept answers against their SHA-256.

pytest tests/bench/test_verify_answers.py -m bench -s
"""

from __future__ import annotations

import resource
import secrets
import time
import zlib
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from gradewright.answers.pins import Pins, sealed
from gradewright.db import migrate
from gradewright.db.session import Database
from gradewright.ledger.report import Report
from gradewright.valuations.witnesses import hold_answers
from tests.conftest import KINDS
from tests.ledger.tampering import edited

pytestmark = pytest.mark.bench

ANSWERS = 1_000_000
PARTS = 12
ADD = (
    "INSERT INTO answers (id, created_at, request, rulebook, revision, method, answer, sha256) VALUES "
    "(:id, '2027-05-04 09:12:00', '{}', :rulebook, :revision, :method, :answer, :sha256)"
)


def _rows() -> Iterator[dict[str, Any]]:
    """Answers of about two thousand bytes; no two are alike."""
    says = "It sticks to no magnet: the windings are copper, with what was cleaned off it."
    for number in range(ANSWERS):
        parts = [
            {
                "amount": f"{number}.{part}",
                "grade": "copper-no2",
                "name": f"part {number}-{part}",
                "says": says,
            }
            for part in range(PARTS)
        ]
        pins = Pins("2027.2", number % 1_000, "4")
        answer = sealed({"parts": parts, "region": "XO-KEL"}, pins)
        columns = {"rulebook": pins.rulebook, "revision": pins.revision, "method": pins.method}
        packed = zlib.compress(answer.body, 1)
        yield {"id": f"t-{secrets.token_hex(10)}", "answer": packed, "sha256": answer.sha256, **columns}


@pytest.mark.parametrize("kind", KINDS)
async def test_a_million_kept_answers(kind: str, make_url: Callable[..., str]) -> None:
    """Every one is unpacked, hashed, and found to be what was kept; printed: how long that takes."""
    url = make_url(kind, migrated=False)
    migrate.upgrade(url)
    with edited(url) as edit:
        for row in _rows():
            edit(ADD, **row)
    database, report = Database(url), Report()
    began, computed = time.perf_counter(), time.process_time()
    await hold_answers(database, report)
    took, spent = time.perf_counter() - began, time.process_time() - computed
    await database.close()
    assert report.sound
    assert report.answers == ANSWERS
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"\n{kind}: {report.answers:,} kept answers held in {took:.1f} s, {spent:.1f} of processor time")
    print(f"  the process took {memory} MiB at its largest")
