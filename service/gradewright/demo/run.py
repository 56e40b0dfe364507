"""The demo from beginning to end."""

from __future__ import annotations

import asyncio
import shlex
import subprocess
import sys
import time
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path

import httpx
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from gradewright.clock import utc_now
from gradewright.demo import database, telling, trying
from gradewright.demo.errors import DemoError
from gradewright.demo.files import Files
from gradewright.demo.postings import Planned, planned
from gradewright.demo.scenario import REGION, Scenario, read_scenario
from gradewright.demo.seeding import Seeded, seed
from gradewright.demo.serving import Served, require_free, serving


def run(console: Console, wanted: Path | None, port: int | None, *, stay: bool) -> None:
    """Makes the district, serves it, values the treadmill; with `stay`, serves on until interrupted.

    `wanted` is the database to make; None makes one in a new folder. Raises `DemoError`.
    """
    require_free(port)
    files = Files.new(wanted)
    scenario, today = read_scenario(), utc_now().date()
    telling.opening(console)
    finished = False
    try:
        url = database.url_of(files.database)
        database.make_tables(url)
        keys = _filled(console, url, scenario)
        files.write_parts()
        with serving(url, files.log, port, keys[scenario.maintainer]) as served:
            plan = planned(scenario, today)
            began = time.monotonic()
            seeded = asyncio.run(_seed(console, served.url, scenario, keys, plan, today))
            finished = True
            telling.district(console, scenario, plan, seeded, time.monotonic() - began)
            telling.slip(console, scenario, plan, _likely(served.url, scenario))
            telling.treadmill(console, files.parts)
            _client(served.url, "value", str(files.parts), "--region", REGION)
            telling.unopened(console)
            _client(served.url, *telling.UNOPENED)
            member, key = next(iter(keys.items()))
            again = trying.Again(url, files, served.url, served.port, member, key, today, port)
            if stay:
                trying.running(console, again)
                _stay(served, files.log)
        trying.stopped(console, again, repeat=not stay)
    except httpx.HTTPError as error:
        raise DemoError(f"The service did not answer: {error!r}. Its log: {files.log}") from error
    finally:
        if not finished:
            files.discard()


def _bar(console: Console, says: str) -> Progress:
    """A bar for what lasts, where there is a terminal to show one."""
    columns = (TextColumn(f"  {says}"), BarColumn(), MofNCompleteColumn())
    return Progress(*columns, console=console, transient=True, disable=not console.is_terminal)


def _filled(console: Console, url: str, scenario: Scenario) -> Mapping[str, str]:
    """The keys of the members of a database that is filled."""
    with _bar(console, "Loading the rulebooks") as bar:
        task = bar.add_task("", total=None)

        def tell(done: int, of: int) -> None:
            bar.update(task, completed=done, total=of)

        return asyncio.run(database.fill(url, scenario, tell=tell))


async def _seed(
    console: Console,
    url: str,
    scenario: Scenario,
    keys: Mapping[str, str],
    plan: Mapping[str, list[Planned]],
    today: date,
) -> Seeded:
    """Sends the district, with a bar while it lasts."""
    total = sum(map(len, plan.values()))
    with _bar(console, "Posting nine months of prices") as bar:
        task = bar.add_task("", total=total)
        async with httpx.AsyncClient(base_url=url, timeout=30, trust_env=False) as client:
            return await seed(client, scenario, keys, plan, today, lambda: bar.advance(task))


def _likely(url: str, scenario: Scenario) -> dict[str, str]:
    """Today's likely price of the grade that was posted carelessly, at the yard and in its region."""
    careless = scenario.careless
    places = {"yard": careless.yard, "region": scenario.yards[careless.yard].region}
    found = {}
    with httpx.Client(base_url=url, timeout=30, trust_env=False) as client:
        for kind, place in places.items():
            answer = client.get("/v1/prices", params={kind: place, "grade": careless.grade})
            [price] = answer.raise_for_status().json()["prices"]
            found[kind] = f"{Decimal(price['likely']):.2f} per {price['per']}"
    return found


def _client(url: str, *words: str) -> None:
    """Lets the client's command line answer; it prints to where the demo prints."""
    sys.stdout.flush()
    command = [sys.executable, "-m", "gradewright_sdk.cli", *words]
    done = subprocess.run([*command, "--url", url], check=False)  # noqa: S603 - this interpreter
    if done.returncode:
        raise DemoError(f"The client could not answer {shlex.join(words)}; see what it says above.")


def _stay(served: Served, log: Path) -> None:
    """Until Ctrl-C, or until the service ends by itself."""
    try:
        served.process.wait()
    except KeyboardInterrupt:
        return
    raise DemoError(f"The service has ended by itself. Its log: {log}")
