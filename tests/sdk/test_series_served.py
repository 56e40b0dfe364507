"""Prices over time through both clients and the command line, spoken to the real service in this process."""

from __future__ import annotations

import asyncio
import csv
import io
import os
from collections.abc import AsyncIterator, Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import httpx
import pytest
from tests.api import World, empty_world
from tests.prices.test_series_lists import GRADE, PATHS, PLACES, traded
from tests.sdk.test_readme import InProcess
from typer.testing import CliRunner, Result

import gradewright_sdk as gw
from gradewright_sdk import AsyncClient, Client
from gradewright_sdk.cli import app

SPAN: dict[str, Any] = {"from_": "2026-03-30", "to": date(2026, 5, 4), "step": "week"}
METHODS = ["series", "series_csv", "chart"]


@pytest.fixture(scope="module")
async def market(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """Three yards and six members over six weeks."""
    async with empty_world(request, "sqlite") as world:
        yield await traded(world)


@pytest.fixture
async def way(market: World) -> InProcess:
    return InProcess(market.client, {})


async def asked(way: InProcess, work: Callable[[Client], Any]) -> Any:
    """What the client has of the service: in a thread of its own, since the service answers in this one."""
    with Client("http://test", http_client=httpx.Client(transport=way)) as client:
        return await asyncio.to_thread(work, client)


def awaiting(way: InProcess) -> AsyncClient:
    return AsyncClient("http://test", http_client=httpx.AsyncClient(transport=way))


@pytest.mark.parametrize("kind", PLACES)
async def test_a_series(market: World, way: InProcess, kind: str) -> None:
    """A region's and a yard's series, of a lot and as known at a revision, is read whole by both clients:
    days, money, ages, and the rulebook of each point; its last price is that of the day's list.
    """
    known_at = await market.revision() - 1
    place = {kind: PLACES[kind]}
    found = await asked(
        way, lambda c: c.prices.series(GRADE, **place, **SPAN, weight="150 lb", known_at=known_at)
    )
    sent = await market.client.get(
        PATHS[kind], params={"from": "2026-03-30", "to": "2026-05-04", "step": "week", "weight": "150 lb",
                             "known_at": known_at},
    )  # fmt: skip
    assert found.raw == sent.content
    told = sent.json()
    assert (found.region, found.yard, found.grade) == (told["region"], told["yard"], GRADE)
    assert (found.name, found.weight, found.known_at) == ("Copper No. 2", "150 lb", known_at)
    assert [point.on for point in found.points][::5] == [date(2026, 3, 30), date(2026, 5, 4)]
    first, last = found.points[0], found.points[-1]
    assert (first.likely, first.entries, first.newest_age_days) == (None, 0, None)
    assert last.likely == gw.Money(Decimal(told["points"][-1]["likely"]), "USD")
    assert last.model_dump(mode="json").keys() == told["points"][-1].keys()
    for name in ("yards", "entries", "newest_age_days", "oldest_age_days", "thin", "rulebook"):
        assert getattr(last, name) == told["points"][-1][name]

    listed = await asked(way, lambda c: c.prices.list(**place, weight="150 lb", known_at=known_at))
    price = listed.get(GRADE)
    assert (last.low, last.likely, last.high) == (price.low, price.likely, price.high)
    async with awaiting(way) as client:
        again = await client.prices.series(GRADE, **place, **SPAN, weight="150 lb", known_at=known_at)  # type: ignore[arg-type]
    assert again == found


@pytest.mark.parametrize("kind", PLACES)
async def test_a_series_as_csv(market: World, way: InProcess, kind: str) -> None:
    """The CSV file has the bytes that the service sends, the revision that it is known at, and the figures of
    the same series.
    """
    place = {kind: PLACES[kind]}
    file = await asked(way, lambda c: c.prices.series_csv(GRADE, **place, **SPAN))
    assert isinstance(file, gw.SeriesFile)
    assert file.known_at == await market.revision()
    found = await asked(way, lambda c: c.prices.series(GRADE, **place, **SPAN))
    lines = list(csv.DictReader(io.StringIO(file.text, newline="")))
    assert [line["on"] for line in lines] == [str(point.on) for point in found.points]
    assert [line["likely"] for line in lines] == [
        "" if point.likely is None else f"{point.likely.amount:f}" for point in found.points
    ]
    async with awaiting(way) as client:
        assert await client.prices.series_csv(GRADE, **place, **SPAN) == file  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", PLACES)
async def test_a_chart(market: World, way: InProcess, kind: str) -> None:
    """The chart is an SVG file of that grade, the same in both clients, and is known at a revision."""
    place, known_at = {kind: PLACES[kind]}, await market.revision() - 1
    file = await asked(way, lambda c: c.prices.chart(GRADE, **place, **SPAN, known_at=known_at))
    assert file.known_at == known_at
    assert ET.fromstring(file.text).tag == "{http://www.w3.org/2000/svg}svg"  # noqa: S314 - our own
    assert "Copper No. 2" in file.text
    async with awaiting(way) as client:
        assert await client.prices.chart(GRADE, **place, **SPAN, known_at=known_at) == file  # type: ignore[arg-type]


FAULTS: list[tuple[dict[str, Any], type[gw.APIError], str, str | None]] = [
    ({"grade": "coper-no2", "region": "XO-KEL"}, gw.UnknownGrade, "grade", "copper-no2"),
    ({"grade": GRADE, "region": "XO-KAL"}, gw.UnknownRegion, "region", "XO-KEL"),
    ({"grade": GRADE, "yard": "tern-raw"}, gw.UnknownYard, "yard", "tern-row"),
    ({"grade": GRADE, "yard": "tern-row", "step": "year"}, gw.InvalidRequest, "step", None),
    ({"grade": GRADE, "yard": "tern-row", "weight": "a ton"}, gw.InvalidRequest, "weight", None),
    ({"grade": GRADE, "region": "XO-KEL", "from_": "2026-06-01"}, gw.InvalidRequest, "from", None),
    ({"grade": GRADE, "region": "XO-KEL", "to": "1999-01-01"}, gw.NoRulebookInForce, "to", None),
]


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize(("given", "kind", "parameter", "suggested"), FAULTS)
async def test_a_refusal_is_the_same_in_every_form(
    way: InProcess,
    method: str,
    given: dict[str, Any],
    kind: type[gw.APIError],
    parameter: str,
    suggested: str | None,
) -> None:
    """What cannot be given is an error of its kind with the parameter at fault, also where a file was asked
    for, and in both clients.
    """
    with pytest.raises(gw.APIError) as caught:
        await asked(way, lambda client: getattr(client.prices, method)(**given))
    assert type(caught.value) is kind
    assert [fault.parameter for fault in caught.value.errors] == [parameter]
    assert suggested is None or suggested in caught.value.suggestions
    async with awaiting(way) as client:
        with pytest.raises(kind):
            await getattr(client.prices, method)(**given)


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("place", [{}, {"region": "XO-KEL", "yard": "tern-row"}])
async def test_a_series_is_of_one_place(way: InProcess, method: str, place: dict[str, str]) -> None:
    """Neither region nor yard, or both, is told before anything is sent."""
    with pytest.raises(ValueError, match="give region= or yard="):
        await asked(way, lambda client: getattr(client.prices, method)(GRADE, **place))


async def shell(way: InProcess, *words: str) -> Result:
    """A command, as somebody gives it."""

    def run(client: Client) -> Result:
        return CliRunner().invoke(app, list(words), obj=lambda url, timeout: client, env={"COLUMNS": "80"})

    result: Result = await asked(way, run)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


SINCE = ["--from", "2026-03-30", "--to", "2026-05-04"]


@pytest.mark.parametrize("kind", PLACES)
async def test_a_history_at_the_terminal(way: InProcess, tmp_path: Path, kind: str) -> None:
    """`history` shows the series, and writes the same bytes as the client has: CSV and a chart."""
    place = [f"--{kind}", PLACES[kind]]
    shown = await shell(way, "history", GRADE, *place, *SINCE, "--weight", "150 lb")
    found = await asked(
        way, lambda c: c.prices.series(GRADE, **{kind: PLACES[kind]}, **SPAN, weight="150 lb")
    )
    where = f"at {found.yard}" if kind == "yard" else f"in {found.region}"
    assert shown.stdout.startswith(f"{GRADE} {where}, USD per {found.per}, for 150 lb\n")
    last = shown.stdout.splitlines()[-2].split()
    behind = found.points[-1].entries if kind == "yard" else found.points[-1].yards
    assert (last[0], last[2], int(last[4])) == ("2026-05-04", f"{found.points[-1].likely.amount:.2f}", behind)
    asking = {kind: PLACES[kind], **SPAN}
    for name, method in (("price.csv", "series_csv"), ("price.svg", "chart")):
        file = tmp_path / name
        told = await shell(way, "history", GRADE, *place, *SINCE, "--output", str(file))
        sent = await asked(way, lambda c, m=method: getattr(c.prices, m)(GRADE, **asking))
        assert file.read_bytes() == sent.content
        assert told.stdout.split()[:2] == ["Wrote", f"{file}:"]


async def test_refusals_at_the_terminal(way: InProcess, tmp_path: Path) -> None:
    """A refused file ends with 1, says why at its option with what may have been meant, and is not made."""
    for words, says in (
        (["coper-no2", "--region", "XO-KEL"], "GRADE: "),
        ([GRADE, "--yard", "tern-raw"], "--yard: "),
        ([GRADE, "--region", "XO-KEL", "--weight", "a ton"], "--weight: "),
        ([GRADE, "--region", "XO-KEL", "--from", "2026-02-30"], "--from: "),
        ([GRADE, "--region", "XO-KEL", "--step", "day", "--from", "2020-01-01"], "--step: "),
    ):
        result = await shell(way, "history", *words, "--output", str(tmp_path / "price.svg"))
        assert (result.exit_code, result.stdout) == (1, ""), words
        assert says in " ".join(result.stderr.split())
    assert os.listdir(tmp_path) == []
