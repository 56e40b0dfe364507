"""Charts of series: readable on a phone, told to those who hear them, and safe to be shown."""

from __future__ import annotations

import asyncio
import re
import sys
from collections.abc import AsyncIterator
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from tests.api import World, empty_world, price
from tests.conftest import talk_to
from tests.prices.test_series_lists import GRADE, PATHS, PLACES, traded, two_rulebooks

SVG = "{http://www.w3.org/2000/svg}"
PHONE, SMALLEST = 360, 11
SPAN = {"from": "2026-03-02", "to": "2026-05-04", "step": "week"}
SIZE = re.compile(r"(?:font-size: ?|font: (?:[a-z0-9]+ )*)([0-9.]+)px")


@pytest.fixture(scope="module")
async def market(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """Three yards and six members over six weeks, and picture tubes that cost something to be rid of."""
    async with empty_world(request, "sqlite") as world:
        await traded(world)
        for on, amount in (("2026-03-05", "-0.12"), ("2026-04-28", "-0.20")):
            await world.post(price("light-iron", amount), on=on, yard="low-quay", who="wren")
        yield world


async def drawn(world: World, kind: str = "region", grade: str = GRADE, **query: Any) -> ET.Element:
    """The chart, well-formed as it has to be."""
    sent = await world.client.get(
        PATHS[kind].replace(GRADE, grade), params={**SPAN, "format": "svg", **query}
    )
    assert (sent.status_code, sent.headers["content-type"]) == (200, "image/svg+xml"), sent.text
    return ET.fromstring(sent.text)  # noqa: S314 - what our own service drew


def words(root: ET.Element) -> str:
    """All that is written in the drawing."""
    texts = [" ".join("".join(text.itertext()).split()) for text in root.iter(f"{SVG}text")]
    return " ".join(texts).replace("\u00a0", " ")


@pytest.mark.parametrize("kind", PLACES)
async def test_a_chart_is_as_wide_as_a_phone(market: World, kind: str) -> None:
    """It takes the width it is given, its proportions are those of a phone's page, and no letter is smaller
    than 11 pixels there; nothing is turned, or begins off the page.
    """
    root = await drawn(market, kind)
    assert not {"width", "height"} & set(root.attrib)
    left, top, width, height = map(float, root.attrib["viewBox"].split())
    assert (left, top) == (0, 0)
    assert width <= PHONE
    texts = list(root.iter(f"{SVG}text"))
    assert len(texts) > 10
    for text in texts:
        size = SIZE.search(text.attrib["style"])
        assert size, text.attrib
        assert float(size[1]) * PHONE / width >= SMALLEST, text.text
        assert 0 <= float(text.attrib["x"]) <= width, text.text
        assert 0 < float(text.attrib["y"]) <= height, text.text
    turned = [each.attrib["transform"] for each in root.iter() if "transform" in each.attrib]
    assert not [one for one in turned if not re.match(r"rotate\(-?0(\.0)? ", one)]


@pytest.mark.parametrize("kind", PLACES)
async def test_a_chart_is_told_to_those_who_hear_it(market: World, kind: str) -> None:
    """It is one image with a name that says grade, place and unit, and a description with the figures: the
    last, the lowest and the highest price, how many have none, and what it was computed from.
    """
    root = await drawn(market, kind)
    found = (await market.client.get(PATHS[kind], params=SPAN)).json()
    assert (root.attrib["role"], root[0].tag, root[1].tag) == ("img", f"{SVG}title", f"{SVG}desc")
    place = {"region": "Kelder Bay", "yard": "Tern Row"}[kind]
    assert root[0].text == f"Copper No. 2: {place}, USD per {found['per']}"
    told = root[1].text or ""
    priced = [Decimal(point["likely"]) for point in found["points"] if point["likely"]]
    missing = len(found["points"]) - len(priced)
    assert missing > 0
    assert f"10 points. {figures(found['points'][-1])[1]} on 4 May 2026" in told
    assert f"Lowest {figure(min(priced))} on" in told
    assert f"Highest {figure(max(priced))} on" in told
    assert f"{missing} without a price." in told
    assert f"Ledger revision {found['known_at']}, rulebook {found['rulebook']}." in told


def figure(amount: Decimal, places: int = 2) -> str:
    """A price between 1 and 10 as people read it: to a tenth of a cent, at least to the cent."""
    exact = f"{amount:.3f}"
    return exact if places == 3 else exact.removesuffix("0")


def figures(point: dict[str, Any]) -> list[str]:
    """Low, likely and high, all with as many places."""
    amounts = [Decimal(point[name]) for name in ("low", "likely", "high")]
    places = max(len(figure(amount).partition(".")[2]) for amount in amounts)
    return [figure(amount, places) for amount in amounts]


@pytest.mark.parametrize("weight", [None, "150 lb"])
@pytest.mark.parametrize("kind", PLACES)
async def test_the_last_price_is_written(market: World, kind: str, weight: str | None) -> None:
    """Low, likely and high of the last point stand in the drawing as text, all with as many places, with what
    they rest on.
    """
    query = {} if weight is None else {"weight": weight}
    root = await drawn(market, kind, **query)
    last = (await market.client.get(PATHS[kind], params={**SPAN, **query})).json()["points"][-1]
    low, likely, high = figures(last)
    count = f"{last['entries']} prices" if kind == "yard" else f"{last['yards']} yards"
    expected = (
        f"{likely} on 4 May 2026 ({low} to {high}), {count}, newest {last['newest_age_days']} days before"
    )
    assert expected in words(root)
    assert (f"for {weight}" in words(root)) is (weight is not None)


@pytest.mark.parametrize("kind", PLACES)
async def test_what_is_behind_each_point_is_drawn(market: World, kind: str) -> None:
    """Two strips have a step for each point: how many yards (or prices of a yard) it rests on, and how many
    days before it the newest of them was seen; over the second goes a line of the oldest.
    """
    root = await drawn(market, kind)
    points = (await market.client.get(PATHS[kind], params=SPAN)).json()["points"]
    counts = [point["entries" if kind == "yard" else "yards"] for point in points]
    newest, oldest = ([point[f"{end}_age_days"] or 0 for point in points] for end in ("newest", "oldest"))
    assert len(set(newest)) > 2
    assert newest != oldest
    most, longest = max(counts), max(oldest)
    filled = [_steps(each) for each in root.iter(f"{SVG}path") if "fill: #8a8a8a" in each.get("style", "")]
    lines = [_steps(each) for each in root.iter(f"{SVG}path") if "stroke: #1a1a1a" in each.get("style", "")]
    assert [_figures(steps, top) for steps, top in zip(filled, (most, longest), strict=True)] == [
        pytest.approx(counts, abs=1e-3),
        pytest.approx(newest, abs=1e-3),
    ]
    (line,) = lines
    assert _figures(line, longest) == pytest.approx(oldest, abs=1e-3)
    told = words(root)
    assert f"{'Prices' if kind == 'yard' else 'Yards'} behind each point" in told
    assert "Days old: newest (line: oldest)" in told
    assert f"the oldest up to {longest} days." in (root[1].text or "")


ROOM = 36
"""How high a strip is, in units of the drawing."""


def _steps(path: ET.Element) -> list[tuple[float, float]]:
    """The corners of a path of straight lines."""
    return [(float(x), float(y)) for x, y in re.findall(r"[ML] (\S+) (\S+)", path.attrib["d"])]


def _figures(corners: list[tuple[float, float]], most: int) -> list[float]:
    """What the level pieces of a path stand for, where the strip is as high as the most."""
    level = [y for (x, y), (after, same) in pairwise(corners) if y == same and after > x]
    ground = max(y for _, y in corners)
    return [(ground - y) / ROOM * most for y in level]


async def test_a_charge_is_told(market: World) -> None:
    """Where prices are below zero it says what that means, and figures have a minus sign, not a hyphen."""
    told = words(await drawn(market, grade="light-iron"))
    assert "Below zero: what it costs to be rid of it." in told
    assert "\u22120.20 on 4 May 2026" in told
    assert "fewer than 3 yards" in told
    assert not re.search(r"(^| )-[0-9]", told)
    assert "Below zero" not in words(await drawn(market))


async def test_a_chart_of_nothing(market: World) -> None:
    """Where no day has a price the chart says so, once, instead of drawing something."""
    root = await drawn(market, grade="copper-residue")
    assert words(root).count("No price was known on any of these days.") == 1
    assert "No price was known on any of these days." in (root[1].text or "")


async def test_a_new_rulebook_is_told(request: pytest.FixtureRequest, market: World) -> None:
    """Where another version of the rulebook begins between two prices a dashed line says so, and to those who
    hear it the day: a price that changes there may have been worked out otherwise.
    """
    async with empty_world(request, "sqlite") as world:
        await two_rulebooks(world)
        root = await drawn(world, **{"from": "2026-03-28", "to": "2026-04-04", "step": "day"})
    assert "new rulebook" in words(root)
    assert "From 1 Apr 2026 by rulebook 2026.1." in (root[1].text or "")
    assert "Ledger revision" in words(root)
    assert "new rulebook" not in words(await drawn(market))


async def test_a_chart_does_nothing(market: World) -> None:
    """It holds neither scripts nor handlers, nor anything from elsewhere, and its answer forbids them too."""
    root = await drawn(market)
    assert not {each.tag.removeprefix(SVG) for each in root.iter()} & {
        "script",
        "foreignObject",
        "image",
        "a",
    }
    for each in root.iter():
        for name, value in each.attrib.items():
            assert not name.rpartition("}")[2].startswith("on"), name
            assert "href" not in name or value.startswith("#"), value
            assert "url(" not in value or "url(#" in value, value
    sent = await market.client.get(PATHS["region"], params={**SPAN, "format": "svg"})
    assert "@import" not in sent.text
    assert sent.headers["content-security-policy"] == "default-src 'none'; style-src 'unsafe-inline'"


async def test_the_same_chart_has_the_same_bytes(market: World) -> None:
    """Asked for by three at once a chart has the same bytes; only parts that others refer to have names, and
    each its own, so that charts can stand in one page.
    """
    params = {**SPAN, "format": "svg", "known_at": str(await market.revision())}
    ask = [market.client.get(PATHS["region"], params=params) for _ in range(3)]
    answers = {answer.content for answer in await asyncio.gather(*ask)}
    assert len(answers) == 1
    text = answers.pop().decode()
    names = re.findall(r' id="([^"]+)"', text)
    assert set(names) == set(re.findall(r"(?:url\(|href=\")#([^)\"]+)", text)) > set()
    assert len(names) == len(set(names))


async def test_charts_are_drawn_after_a_restart(market: World) -> None:
    """An application that was stopped and is started once more draws as before, on the same terms."""
    async with market.another() as first:
        before = await first.client.get(PATHS["yard"], params={**SPAN, "format": "svg"})
        app = first.app
    async with talk_to(app) as client:
        after = await client.get(PATHS["yard"], params={**SPAN, "format": "svg"})
    assert (before.status_code, after.status_code) == (200, 200), after.text
    assert after.content == before.content


IMPORTS = """
import asyncio, sys
import gradewright.asgi
from tests.conftest import talk_to
from gradewright.settings import Settings

heavy = lambda: sorted({"matplotlib", "numpy", "PIL"} & set(sys.modules))
url, path, imported = sys.argv[1], sys.argv[2], heavy()

async def main():
    async with talk_to(gradewright.asgi.create_app(Settings(database_url=url))) as client:
        for form in ("json", "csv", "svg"):
            answer = await client.get(path, params={"format": form})
            assert answer.status_code == 200, answer.text
            print(form, *heavy())

print("import", *imported)
asyncio.run(main())
"""


async def test_what_draws_is_loaded_with_the_first_chart(market: World, tmp_path: Path) -> None:
    """A service that is never asked for a chart never loads what draws them, neither when it starts nor with
    other forms of a series.
    """
    url = market.services.database.url.render_as_string(hide_password=False)
    root = Path(__file__).parents[2]
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-c", IMPORTS, url, PATHS["region"],
        cwd=root, stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.PIPE,
    )  # fmt: skip
    out, err = await process.communicate()
    assert process.returncode == 0, err.decode()
    told = [line for line in out.decode().splitlines() if line.split()[0] in {"import", "json", "csv", "svg"}]
    assert told == ["import", "json", "csv", "svg PIL matplotlib numpy"]
