"""The likely price of one grade over time."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest
from tests.api import World, only, price, problem_of, where

from gradewright.prices.series_schemas import SeriesOut

SERIES = "/v1/prices/XO-KEL/copper-no1/series"


@pytest.fixture
async def spring(world: World) -> World:
    """Two yards, posted now and then from January to May."""
    for on, amount, yard in [
        ("2026-01-01", "3.00", "low-quay"),
        ("2026-02-10", "3.30", "tern-row"),
        ("2026-03-20", "3.10", "low-quay"),
        ("2026-05-01", "3.60", "tern-row"),
    ]:
        await world.post(price("copper-no1", amount), on=on, yard=yard)
    return world


async def test_every_point_is_what_the_price_list_says(spring: World) -> None:
    """On each day of a series stand the figures of that day's price list, or none where it has none."""
    found = await spring.get(SERIES, from_="2025-12-01", to="2026-05-04", step="week")
    SeriesOut.model_validate(found, strict=False)
    assert len(found["points"]) == 23
    for point in found["points"]:
        line = await spring.priced("copper-no1", region="XO-KEL", on=point["on"], known_at=found["known_at"])
        told = {name: point[name] for name in ("low", "likely", "high")}
        assert told == {name: line.get(name) for name in told}
        assert point["yards"] == line.get("basis", {}).get("yards", 0)
        assert point["newest"] == line.get("basis", {}).get("newest")
    assert found["points"][0]["likely"] is None
    assert found["points"][-1]["likely"] is not None


async def test_a_series_ends_on_its_last_day(world: World) -> None:
    """Points are counted back from the last day, in steps, and not beyond the first."""
    found = await world.get(SERIES, from_="2026-04-10", to="2026-05-04", step="week")
    assert [point["on"] for point in found["points"]] == [
        "2026-04-13",
        "2026-04-20",
        "2026-04-27",
        "2026-05-04",
    ]
    found = await world.get(SERIES, from_="2026-05-04", to="2026-05-04", step="day")
    assert [point["on"] for point in found["points"]] == ["2026-05-04"]


async def test_months_keep_their_last_day(world: World) -> None:
    """Months step from the 31st to each month's last day, over the turn of the year and a leap year."""
    found = await world.get(SERIES, from_="2023-11-01", to="2024-03-31", step="month")
    assert [point["on"] for point in found["points"]] == [
        "2023-11-30", "2023-12-31", "2024-01-31", "2024-02-29", "2024-03-31",
    ]  # fmt: skip


async def test_a_series_is_a_year_of_weeks_unless_asked_otherwise(world: World) -> None:
    """Without a span: the weeks of the year that ends today."""
    days = [date.fromisoformat(point["on"]) for point in (await world.get(SERIES))["points"]]
    assert days[-1] == date(2026, 5, 4)
    assert date(2025, 5, 4) <= days[0] < date(2025, 5, 11)
    assert {later - earlier for earlier, later in pairwise(days)} == {timedelta(days=7)}


async def test_four_hundred_points_and_no_more(world: World) -> None:
    """400 days are answered, 401 are refused, with what to do."""
    first = date(2026, 5, 4) - timedelta(days=399)
    found = await world.get(SERIES, from_=first, to="2026-05-04", step="day")
    assert len(found["points"]) == 400
    one_more = first - timedelta(days=1)
    response = await world.client.get(f"{SERIES}?from={one_more}&to=2026-05-04&step=day")
    problem = problem_of(response, "invalid-request")
    assert where(problem) == ["step"]
    assert "longer step" in only(problem).detail


async def test_a_series_as_known_at_a_revision(spring: World) -> None:
    """What came later is not in a series as known before it."""
    found = await spring.get(SERIES, known_at=await spring.revision() - 1)
    assert {point["likely"] for point in found["points"]} == {None, "3.00", "3.10", "3.30"}
    found = await spring.get(SERIES)
    assert "3.60" in {point["likely"] for point in found["points"]}


async def test_a_yard_that_pays_in_another_currency_than_those_around_it(world: World) -> None:
    """Its series is in its own; that they post in theirs alone is no reason to have none."""
    for currency, yard in (("EUR", "ember-end"), ("USD", "far-gate")):
        await world.post(price("copper-no1", "3.10", "kg", currency=currency), yard=yard, on="2026-05-02")
        found = await world.get(f"/v1/yards/{yard}/prices/copper-no1/series")
        assert (found["currency"], found["points"][-1]["likely"]) == (currency, "3.10")
    found = await world.get("/v1/yards/ember-end/prices/copper-no1/series")
    assert (found["currency"], found["points"][-1]["likely"]) == ("EUR", "3.10")


async def test_a_grade_by_any_name(spring: World) -> None:
    """The path takes slug, name or alias; the answer has the slug."""
    named = await spring.get("/v1/prices/XO-KEL/Number%20One/series")
    assert named == await spring.get(SERIES)
    assert (named["region"], named["grade"], named["currency"], named["per"]) == (
        "XO-KEL", "copper-no1", "USD", "lb",
    )  # fmt: skip


BAD = [
    pytest.param(
        "/v1/prices/XO-KAL/copper-no1/series", "unknown-region", 404, "region", "XO-KEL", id="region"
    ),
    pytest.param(
        "/v1/prices/XO-KEL/coper-no1/series", "unknown-grade", 404, "grade", "copper-no1", id="grade"
    ),
    pytest.param(f"{SERIES}?from=2026-05-05", "invalid-request", 422, "from", None, id="from after to"),
    pytest.param(
        f"{SERIES}?to=2026-05-04&from=2026-06-01", "invalid-request", 422, "from", None, id="turned"
    ),
    pytest.param(f"{SERIES}?step=year", "invalid-request", 422, "step", None, id="no such step"),
    pytest.param(f"{SERIES}?from=2026-02-30", "invalid-request", 422, "from", None, id="no such day"),
    pytest.param(
        f"{SERIES}?since=2026-02-01", "invalid-request", 422, "since", None, id="a parameter of ours"
    ),
    pytest.param(
        f"{SERIES}?to=2019-12-31", "no-rulebook-in-force", 422, "to", None, id="before any rulebook"
    ),
    pytest.param(f"{SERIES}?to=0001-01-05", "no-rulebook-in-force", 422, "to", None, id="the first of days"),
    pytest.param(
        f"{SERIES}?to=0001-01-05&from=0001-01-01&step=month",
        "no-rulebook-in-force",
        422,
        "to",
        None,
        id="month 1",
    ),
    pytest.param(f"{SERIES}?known_at=99999", "invalid-request", 422, "known_at", None, id="not reached"),
]


@pytest.mark.parametrize(("path", "slug", "status", "parameter", "suggested"), BAD)
async def test_a_series_that_cannot_be_given(
    untouched: World, path: str, slug: str, status: int, parameter: str, suggested: str | None
) -> None:
    """One fault, at the parameter of the path (404) or of the query (422)."""
    problem = problem_of(await untouched.client.get(path), slug, status)
    assert where(problem) == [parameter]
    assert suggested is None or suggested in (only(problem).suggestions or [])


async def test_a_series_to_the_last_of_days(world: World) -> None:
    """The end of the calendar is a day like any other."""
    found = await world.get(SERIES, from_="9999-11-30", to="9999-12-31", step="month")
    assert [point["on"] for point in found["points"]] == ["9999-11-30", "9999-12-31"]


async def test_a_point_rests_on_a_price_until_it_is_stale(world: World) -> None:
    """A price counts in a series for its 120 days, the last of them included, and not on the next."""
    await world.post(price("copper-no1", "3.00"), on="2026-01-04")
    found = await world.get(
        "/v1/prices/XO-KEL/copper-no1/series", from_="2026-05-03", to="2026-05-05", step="day"
    )
    assert [point["likely"] for point in found["points"]] == ["3.00", "3.00", None]
