"""Prices that age, over the interface: lists, series, valuations, and what was known before."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from tests.api import World, price, settle
from tests.benchmarks.keeping import following, keep, make
from tests.prices.test_histories import HELD, STANDING

from gradewright.accounts.service import Role
from gradewright.core.aging import NOTHING_AGES
from gradewright.prices.counting import Asked, standing_of

GRADE = "copper-no2"
YARDS = ("low-quay", "cinder-lane", "tern-row")
FIGURES = ("low", "likely", "high")
PART = {"name": "wire", "weight": "10 lb", "grade": GRADE}


@pytest.fixture
async def market(world_without_rulebook: World) -> World:
    """Copper was quoted 9,000 in April and 9,450 since May; a yard's price is of the middle of April."""
    world = world_without_rulebook
    await world.publish(following())
    await settle(world)
    await make(world)
    await keep(world, {"2026-04-01": "9000", "2026-05-01": "9450"})
    await world.post(price(GRADE, "3.00"), on="2026-04-15")
    return world


async def test_an_old_price_moves_with_its_benchmark(market: World) -> None:
    """Up 5 %, of which 80 % are passed on: 3.00 of then is 3.12 now, and the basis says how."""
    line = await market.priced(GRADE, region="XO-KEL")
    assert line["likely"] == "3.12"
    assert line["basis"]["moved"] == {
        "benchmark": "copper",
        "share": "80 %",
        "entries": 1,
        "likely": {
            "seen": "3.00", "seen_on": "2026-04-15", "times": "1.04",
            "before": "9000", "before_on": "2026-04-01", "after": "9450", "after_on": "2026-05-01",
        },
    }  # fmt: skip
    assert "moved +4 % with copper since 2026-04-15" in line["basis"]["says"]


async def test_on_the_day_it_was_seen_it_stands(market: World) -> None:
    """The list of the day itself has the price as it was seen, and says nothing of a benchmark."""
    line = await market.priced(GRADE, region="XO-KEL", on="2026-04-15")
    assert (line["likely"], line["basis"]["moved"]) == ("3.00", None)
    assert "copper" not in line["basis"]["says"]


async def test_a_grade_without_a_benchmark_stands(market: World) -> None:
    """Nothing follows, nothing moves; nor where the benchmark is kept by nobody."""
    await market.post(price("light-iron", "0.08"), on="2026-04-15")
    assert (await market.priced("light-iron", region="XO-KEL"))["likely"] == "0.08"


async def test_a_new_value_counts_at_once(market: World) -> None:
    """A list that was in memory is made again when the benchmark moves; a correction counts likewise."""
    assert (await market.priced(GRADE, region="XO-KEL"))["likely"] == "3.12"
    await keep(market, {"2026-05-04": "9900"})
    assert (await market.priced(GRADE, region="XO-KEL"))["likely"] == "3.24"
    await keep(market, {"2026-05-04": "9000"})
    assert (await market.priced(GRADE, region="XO-KEL"))["likely"] == "3.00"


async def test_what_was_known_stays_known(market: World) -> None:
    """Before, at and after each write about the benchmark, a list as known then is as it was then."""
    seen = {}
    for days in ({"2026-05-04": "9900"}, {"2026-05-04": "8550"}, {"2026-04-01": "8550"}):
        at = await market.revision()
        seen[at] = (await market.priced(GRADE, region="XO-KEL"))["likely"]
        await keep(market, days)
    at = await market.revision()
    seen[at] = (await market.priced(GRADE, region="XO-KEL"))["likely"]
    assert list(seen.values()) == ["3.12", "3.24", "2.88", "3.00"]
    for known_at, likely in seen.items():
        assert (await market.priced(GRADE, region="XO-KEL", known_at=known_at))["likely"] == likely
    before_any = min(seen) - 2  # the price came last, before it the values
    found = await market.get("/v1/prices", region="XO-KEL", grade=GRADE, known_at=before_any)
    assert found["prices"] == []


async def test_another_worker_answers_the_same(market: World) -> None:
    """A worker that is started later has the same list, of now and of before."""
    at = await market.revision()
    await keep(market, {"2026-05-04": "9900"})
    asked: dict[str, Any] = {"region": "XO-KEL", "grade": GRADE}
    mine = [await market.get("/v1/prices", **asked), await market.get("/v1/prices", **asked, known_at=at)]
    async with market.another() as other:
        theirs = [await other.get("/v1/prices", **asked), await other.get("/v1/prices", **asked, known_at=at)]
    assert mine == theirs


async def test_each_point_of_a_series_moves_to_its_own_day(market: World) -> None:
    """Each day's point is that day's price list: as seen until May, moved from then on."""
    path, days = f"/v1/prices/XO-KEL/{GRADE}/series", {"from_": "2026-04-29", "to": "2026-05-02"}
    points = (await market.get(path, **days, step="day"))["points"]
    assert [point["likely"] for point in points] == ["3.00", "3.00", "3.12", "3.12"]
    for point in points:
        line = await market.priced(GRADE, region="XO-KEL", on=point["on"])
        assert [point[name] for name in FIGURES] == [line[name] for name in FIGURES]


async def test_figures_have_no_zeros_beyond_six_places(world_without_rulebook: World) -> None:
    """A likely price that moved has many places; low and high are told in as many as they need, as JSON and
    as CSV."""
    world = world_without_rulebook
    document = following()
    del document["pricing"]["thin_margin"]
    document["pricing"]["spread"] = {"off_by": "0.5 %", "per_day": "0.1 %", "at_most": "10 %"}
    await world.publish(document)
    await settle(world)
    await make(world)
    await keep(world, {"2026-04-01": "9000", "2026-05-01": "9451"})
    await world.post(price(GRADE, "3.00"), price(GRADE, "3.10", from_weight="100 lb"), on="2026-04-15")
    line = await world.priced(GRADE, region="XO-KEL")
    told = [line[name] for name in FIGURES]
    assert told == ["3.082823", "3.120267", "3.15771"]
    assert [len(line["tiers"][0][name].partition(".")[2]) <= 6 for name in FIGURES] == [True] * 3
    path = f"/v1/prices/XO-KEL/{GRADE}/series"
    asked = {"from": "2026-05-04", "to": "2026-05-04", "format": "csv"}
    rows = (await world.client.get(path, params=asked)).text.splitlines()
    assert rows[1].split(",")[4:7] == told


async def test_a_valuation_moves_and_stays(market: World) -> None:
    """A kept valuation names what moved, and replays byte for byte after the benchmark was corrected."""
    body = {"region": "XO-KEL", "keep": True, "parts": [PART]}
    sent = await market.send("/v1/valuations", body)
    line = sent.json()["parts"][0]
    assert line["amount"]["likely"] == "31.20"
    assert line["price"]["basis"]["moved"]["likely"]["times"] == "1.04"
    await keep(market, {"2026-05-01": "9000"})
    again = await market.client.post(f"/v1/valuations/{sent.headers['valuation-id']}/replay")
    assert again.content == sent.content
    now = (await market.send("/v1/valuations", body)).json()
    assert now["parts"][0]["amount"]["likely"] == "30.00"
    assert "moved" not in now["parts"][0]["price"]["basis"]


async def test_kin_moves_with_what_it_is_priced_by(market: World) -> None:
    """Where a grade has no price of its own its kin's stands in, moved as that one is."""
    line = await market.priced("copper-residue", region="XO-KEL")
    assert line["likely"] == "1.560"
    assert line["basis"]["kin"] == {"grade": GRADE, "factor": "0.5"}
    assert "moved +4 % with copper" in line["basis"]["says"]


async def test_a_yards_list_is_exported_as_posted(market: World) -> None:
    """What a yard posted is what its list says: nothing in it moves."""
    response = await market.client.get("/v1/yards/low-quay/lists")
    assert "3.00" in response.text
    assert "3.12" not in response.text


async def test_a_jump_with_the_market_is_not_held(world_without_rulebook: World) -> None:
    """What is judged is judged as of its day: prices of before the market doubled say the same as those of
    after; without the benchmark the new ones would wait."""
    world = world_without_rulebook
    document = following("100 %")
    held = {
        "enough_yards": 2, "outlier": "3.5", "spread_floor": "2 %", "factor": "3",
        "agrees_within": "12 %", "contradicted_within": 7,
    }  # fmt: skip
    document["pricing"]["held"] = held
    await world.publish(document)
    await settle(world)
    for who, yard, amount in (
        ("wren", "low-quay", "3.00"), ("dunlin", "tern-row", "3.06"), ("siskin", "cinder-lane", "2.97"),
    ):  # fmt: skip
        await world.post(price(GRADE, amount), who=who, yard=yard, on="2026-04-15")
    await world.post(price(GRADE, "6.03"), who="plover", yard="low-quay", on="2026-05-04")
    waiting = await _waiting(world)
    assert [seen["price"] for seen in waiting] == ["6.03"]
    await make(world)
    await keep(world, {"2026-04-01": "9000", "2026-05-01": "18000"})
    assert await _waiting(world) == []
    line = await world.priced(GRADE, region="XO-KEL")
    assert Decimal(line["likely"]) > Decimal("5.9")


async def test_a_slip_in_the_benchmark_holds_nobody(world_without_rulebook: World) -> None:
    """Where old prices are carried off by a wrong value, a new one that says what they said as they were seen
    does not wait; one that is off both ways does, and what is said of it names the benchmark."""
    world = world_without_rulebook
    document = following("100 %")
    document["pricing"]["held"] = {**HELD, "enough_yards": 2}
    await world.publish(document)
    await settle(world)
    for who, yard, amount in (
        ("wren", "low-quay", "3.00"), ("dunlin", "tern-row", "3.06"), ("siskin", "cinder-lane", "2.97"),
    ):  # fmt: skip
        await world.post(price(GRADE, amount), who=who, yard=yard, on="2026-04-15")
    await make(world)
    await keep(world, {"2026-04-01": "9000", "2026-05-01": "22000"})
    await world.post(price(GRADE, "3.01"), who="plover", yard="low-quay", on="2026-05-04")
    assert await _waiting(world) == []
    await world.post(price(GRADE, "30.1"), who="avocet", yard="tern-row", on="2026-05-04")
    [waiting] = await _waiting(world)
    assert waiting["price"] == "30.1"
    assert "(moved with copper)" in waiting["held"]["says"]


async def _waiting(world: World) -> list[dict[str, Any]]:
    headers = await world.key("sedge", Role.MAINTAINER)
    response = await world.client.get("/v1/held-prices", params={"region": "XO-KEL"}, headers=headers)
    assert response.status_code == 200, response.text
    return [seen for posting in response.json()["postings"] for seen in posting["prices"]]


async def test_standing_is_that_of_the_revisions_own_day(world_without_rulebook: World) -> None:
    """Who agrees with whom is judged on the day of the revision, with prices moved to that day, whatever day
    is asked for: of three who saw prices of before and after the market doubled none is off."""
    world = world_without_rulebook
    document = following("100 %")
    document["pricing"] |= {"held": {**HELD, "enough_yards": 2}, "standing": STANDING}
    await world.publish(document)
    await settle(world)
    await make(world)
    await keep(world, {"2026-04-01": "9000", "2026-05-01": "18000"})
    for who, yard, amount, on in (
        ("wren", "low-quay", "3.00", "2026-04-15"),
        ("dunlin", "tern-row", "6.00", "2026-05-02"),
        ("siskin", "cinder-lane", "6.10", "2026-05-03"),
    ):
        await world.post(price(GRADE, amount), who=who, yard=yard, on=on)
    services = world.services
    rulebook = (await services.rulebooks.in_force(date(2026, 5, 4))).rulebook
    revision = await world.revision()
    aging = await services.benchmarks.aging(rulebook, revision)
    asked = Asked(YARDS, "USD", date(2026, 5, 4), revision, rulebook.pricing, aging)
    async with services.database.read() as session:
        today = await standing_of(session, asked)
        earlier = await standing_of(session, replace(asked, on=date(2026, 4, 20)))
        unmoved = await standing_of(session, replace(asked, aging=NOTHING_AGES))
    assert today == earlier
    assert len(set(today.values())) == 1
    assert unmoved["wren"] < today["wren"]
