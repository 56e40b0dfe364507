"""A series in its three forms: which one comes, and that CSV says what JSON says."""

from __future__ import annotations

import csv
import io
from collections.abc import AsyncIterator
from typing import Any

import httpx
import pytest
from tests.api import World, empty_world, only, problem_of, where
from tests.prices.test_series_lists import GRADE, PATHS, PLACES, traded

from gradewright.prices.charts import Charts

JSON, CSV, SVG = "application/json", "text/csv", "image/svg+xml"
SPAN = {"from": "2026-03-30", "to": "2026-05-04", "step": "week"}


@pytest.fixture(scope="module")
async def market(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """Three yards and six members over six weeks."""
    async with empty_world(request, "sqlite") as world:
        yield await traded(world)


async def asked(
    world: World, kind: str = "region", accept: str | None = None, **query: Any
) -> httpx.Response:
    headers = {} if accept is None else {"Accept": accept}
    return await world.client.get(PATHS[kind], params={**SPAN, **query}, headers=headers)


@pytest.mark.parametrize("weight", [None, "150 lb"])
@pytest.mark.parametrize("kind", PLACES)
async def test_csv_says_what_json_says(market: World, kind: str, weight: str | None) -> None:
    """A line for each point has its cells as JSON has them, blank for null, and what is the same in all."""
    query = {} if weight is None else {"weight": weight}
    told = (await asked(market, kind, **query)).json()
    text = (await asked(market, kind, format="csv", **query)).text
    lines = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
    assert len(lines) == len(told["points"]) == 6
    same = {name: told[name] for name in ("region", "yard", "grade", "currency", "per")}
    for line, point in zip(lines, told["points"], strict=True):
        assert line == {name: cell(value) for name, value in {**same, **point}.items()}
    assert {line["likely"] for line in lines} > {""}
    assert {line["thin"] for line in lines} <= {"true", "false"}


def cell(value: object) -> str:
    """A value of JSON as a cell."""
    if value is None:
        return ""
    return str(value).lower() if isinstance(value, bool) else str(value)


async def test_csv_is_of_rfc_4180(market: World) -> None:
    """Every line, the last one too, ends in CR and LF, the first names the columns, and all are as wide."""
    sent = (await asked(market, format="csv")).content
    lines = sent.split(b"\r\n")
    assert lines.pop() == b""
    assert b"\n" not in sent.replace(b"\r\n", b"")
    assert lines[0].startswith(b"region,yard,grade,on,low,likely,high,currency,per,")
    assert {line.count(b",") for line in lines} == {16}


PREFERRED = [
    (None, JSON),
    ("*/*", JSON),
    (CSV, CSV),
    (SVG, SVG),
    ("image/*", SVG),
    ("application/json;q=0.2, text/csv", CSV),
    ("text/csv;q=0.2, image/svg+xml;q=0.1", CSV),
    ("image/svg+xml, */*;q=0", SVG),
    ("text/html,application/xhtml+xml,image/avif,*/*;q=0.8", JSON),
]


@pytest.mark.parametrize("kind", PLACES)
@pytest.mark.parametrize(("accept", "media"), PREFERRED)
async def test_the_form_that_is_preferred(market: World, kind: str, accept: str | None, media: str) -> None:
    """Accept says which form comes, JSON where it leaves the choice; each says that it hangs on Accept and at
    which revision it is known.
    """
    found = await asked(market, kind, accept)
    assert (found.status_code, found.headers["content-type"].partition(";")[0]) == (200, media)
    assert "Accept" in found.headers["vary"]
    assert found.headers["known-at"] == str(await market.revision())


@pytest.mark.parametrize("accept", [None, "*/*", "text/html, */*;q=0.1"])
@pytest.mark.parametrize(("form", "media"), [("json", JSON), ("csv", CSV), ("svg", SVG)])
async def test_the_form_that_is_named(market: World, form: str, media: str, accept: str | None) -> None:
    """`format` decides where Accept leaves the choice, and files have a name."""
    found = await asked(market, accept=accept, format=form)
    assert found.headers["content-type"].partition(";")[0] == media
    name = found.headers.get("content-disposition", "")
    assert (f'filename="{GRADE}-XO-KEL.{form}"' in name) == (form != "json")


@pytest.mark.parametrize("kind", PLACES)
@pytest.mark.parametrize(
    ("accept", "query"),
    [
        ("application/xml", {}),
        ("text/html", {}),
        ("image/png", {}),
        ("image/svg+xml;q=0", {}),
        (CSV, {"format": "svg"}),
        (JSON, {"format": "csv"}),
        ("text/csv;q=0, */*", {"format": "csv"}),
    ],
)
async def test_no_form_fits(market: World, kind: str, accept: str, query: dict[str, str]) -> None:
    """What cannot be had is 406 at Accept, in the one shape of all errors; it tells every form there is."""
    problem = problem_of(await asked(market, kind, accept, **query), "not-acceptable")
    assert only(problem).header == "Accept"
    if not query:
        assert problem.detail.startswith("Answers are application/json, text/csv, image/svg+xml (")


async def test_a_form_that_is_none(market: World) -> None:
    """Another word for `format` is a fault of that parameter."""
    assert where(problem_of(await asked(market, format="png"), "invalid-request")) == ["format"]


@pytest.mark.parametrize("accept", [CSV, SVG])
async def test_a_refused_file_is_a_problem(market: World, accept: str) -> None:
    """Who asks for a file alone still gets a refusal in the one shape of all errors."""
    found = await asked(market, accept=accept, weight="a ton")
    assert where(problem_of(found, "invalid-request")) == ["weight"]


@pytest.mark.parametrize("accept", [JSON, CSV, SVG])
async def test_head_tells_the_same_without_a_body(
    market: World, accept: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """HEAD has the status and the fields of GET, and draws nothing: the length of a chart is not told, rather
    than a wrong one (RFC 9110, 8.6).
    """

    async def never(*_: object) -> bytes:
        raise AssertionError("a chart was drawn that nobody sees")

    monkeypatch.setattr(Charts, "svg", never)
    asking = {"params": SPAN, "headers": {"Accept": accept}}
    found = await market.client.head(PATHS["yard"], **asking)
    monkeypatch.undo()
    whole = await market.client.get(PATHS["yard"], **asking)
    assert (found.status_code, found.content) == (200, b"")
    told = {name: value for name, value in whole.headers.items() if name != "x-request-id"}
    if accept == SVG:
        assert told.pop("content-length") == str(len(whole.content))
    assert {name: value for name, value in found.headers.items() if name != "x-request-id"} == told
