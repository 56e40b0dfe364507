"""A whole list of 10,000 lines over HTTP, its dry run and its export, on both databases, on the disk.

    pytest tests/bench/test_list_speed.py -m bench -s

The list has every grade of the newest rulebook by a label of the yard, each with as many from-weights as it
takes. The yard has had such a list for some weeks already.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import date, timedelta
from pathlib import Path
from statistics import median
from typing import Any

import httpx
import psycopg
import pytest

from gradewright.accounts.service import Role
from gradewright.asgi import Services, create_app
from gradewright.clock import utc_now
from gradewright.db import migrate
from gradewright.rulebooks.document import from_yaml
from gradewright.settings import Settings
from tests.bench import load
from tests.bench.market import PUBLISHED, REGION
from tests.conftest import PostgreSQL

pytestmark = pytest.mark.bench

LINES = 10_000
WEEKS = 4
PATH = "/v1/yards/low-quay/lists"


def _list(labels: list[str], week: int) -> bytes:
    rows = ["label,price,from_weight"]
    for number in range(LINES):
        step, place = divmod(number, len(labels))
        cents = 5 + (number * 7919 + week * (number % 3)) % 900
        rows.append(f"{labels[place]},{cents // 100}.{cents % 100:02d},{step} lb")
    return "\n".join(rows).encode()


async def _furnish(database_url: str) -> tuple[str, list[str]]:
    """Rulebooks, a region and a yard with a label for every grade; a member's key, and the labels."""
    migrate.upgrade(database_url)
    app = create_app(Settings(database_url=database_url))
    services: Services = app.state["services"]
    for path in sorted(PUBLISHED.glob("*.yaml")):
        await services.rulebooks.publish(from_yaml(path.read_text(encoding="utf-8")), utc_now())
    grades = list((await services.rulebooks.in_force(utc_now().date())).rulebook.grades)
    made = await services.accounts.make_key("sedge", Role.MAINTAINER, "bench", utc_now())
    headers = {"Authorization": f"Bearer {made}"}
    terms = {"region": REGION, "currency": "USD", "unit": "lb"}
    labels = [
        {"label": f"Q{n} {grade}", "grade": grade, "from": "2020-01-01"} for n, grade in enumerate(grades)
    ]
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url="http://bench", headers=headers) as client:
        for code, parent in (("XO", None), (REGION, "XO")):
            place = {"code": code, "name": code, "parent": parent, "currency": "USD", "unit": "lb"}
            assert (await client.post("/v1/regions", json=place)).status_code == 201
        yard: dict[str, Any] = {"slug": "low-quay", "name": "Low Quay", "labels": labels, **terms}
        assert (await client.post("/v1/yards", json=yard)).status_code == 201
    key = await services.accounts.make_key("wren", Role.MEMBER, "bench", utc_now())
    await services.database.close()
    return key, [one["label"] for one in labels]


@asynccontextmanager
async def _client(port: int, key: str) -> AsyncIterator[httpx.AsyncClient]:
    headers = {"Authorization": f"Bearer {key}", "Content-Type": "text/csv"}
    async with httpx.AsyncClient(base_url=f"http://127.0.0.1:{port}", headers=headers, timeout=60) as client:
        yield client


async def _measure(port: int, pid: int, key: str, labels: list[str]) -> dict[str, list[tuple[float, float]]]:
    """Seconds of each call, passed and spent computing, week by week; every answer is what it should be."""
    found: dict[str, list[tuple[float, float]]] = {
        "dry run": [],
        "upload": [],
        "export": [],
        "upload, with a key": [],
    }
    today = utc_now().date()

    async def timed(what: str, call: Any) -> httpx.Response:
        started, computing = time.perf_counter(), load.processor_seconds(pid)
        response: httpx.Response = await call
        taken = time.perf_counter() - started
        found[what].append((taken, load.processor_seconds(pid) - computing))
        return response

    async with _client(port, key) as client:
        for week in range(WEEKS, 0, -1):
            day: date = today - timedelta(days=7 * week)
            query = {"observed_on": day.isoformat(), "evidence": "written-list"}
            body = _list(labels, week)
            trial = await timed(
                "dry run", client.post(PATH, params={**query, "dry_run": "true"}, content=body)
            )
            counts = trial.json()["counts"]
            assert sum(counts.values()) == LINES
            assert counts["new"] == (LINES if week == WEEKS else 0)
            stored = await timed("upload", client.post(PATH, params=query, content=body))
            assert stored.status_code == 201, stored.text[:500]
            exported = await timed("export", client.get(PATH, params={"on": day.isoformat()}))
            assert exported.content.count(b"\n") == LINES + 1
            again = await timed(
                "upload, with a key",
                client.post(
                    PATH,
                    params=query,
                    content=exported.content,
                    headers={"Idempotency-Key": f"week-{week}"},
                ),
            )
            assert again.json()["counts"]["same"] == LINES
    return found


def _run(database_url: str) -> dict[str, list[tuple[float, float]]]:
    key, labels = asyncio.run(_furnish(database_url))
    with load.serving("gradewright.serving:application", database_url) as (port, pid):
        return asyncio.run(_measure(port, pid, key, labels))


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_ten_thousand_lines(kind: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    """Printed: the seconds of each call over the weeks, and the server's processor time."""
    if kind == "sqlite":
        found = _run(f"sqlite:///{tmp_path / 'bench.sqlite'}")
    else:
        server: PostgreSQL = request.getfixturevalue("postgresql")
        with psycopg.connect(server.url("postgres"), autocommit=True) as connection:
            connection.execute("ALTER SYSTEM SET fsync = on")  # acknowledged means: on the disk
            connection.execute("SELECT pg_reload_conf()")
        found = _run(server.url(server.create(migrated=False)))
    print(f"\n{kind}, {LINES} lines:")
    for what, taken in found.items():
        seconds, computing = zip(*taken, strict=True)
        print(
            f"  {what}: {median(seconds):.2f} s ({min(seconds):.2f} to {max(seconds):.2f}), "
            f"of processor time {median(computing):.2f} s"
        )
