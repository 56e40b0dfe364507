"""Backtest: prices hidden, predicted from the day before, and what comes out, worked out by hand."""

from __future__ import annotations

from decimal import Decimal
from statistics import median
from typing import Any

import numpy as np
import pytest
from tests.api import World, price, problem_of, settle, small_rulebook, where
from tests.benchmarks.keeping import following, keep, make
from tests.prices.test_histories import HELD

from gradewright.prices import backtest as module

GRADE = "copper-no2"
PATH = "/v1/prices/XO-KEL/backtest"
SEEN = (
    ("wren", "low-quay", "3.00", "2026-04-01"),
    ("dunlin", "tern-row", "3.20", "2026-04-03"),
    ("siskin", "cinder-lane", "3.10", "2026-04-05"),
    ("wren", "low-quay", "3.30", "2026-04-10"),
    ("dunlin", "tern-row", "3.12", "2026-04-12"),
    ("siskin", "cinder-lane", "3.40", "2026-04-14"),
    ("wren", "low-quay", "3.25", "2026-04-20"),
)


async def settled(world: World, document: dict[str, Any]) -> World:
    """Three yards and what was seen there."""
    await world.publish(document)
    await settle(world)
    for who, yard, amount, on in SEEN:
        await world.post(price(GRADE, amount), who=who, yard=yard, on=on)
    return world


async def backtest(world: World, **asked: Any) -> dict[str, Any]:
    """What comes out, of April unless asked otherwise; by what was seen, as all is recorded on one day."""
    usual = {"from_": "2026-04-01", "to": "2026-05-04", "known_when": "seen"}
    found: dict[str, Any] = await world.get(PATH, **{**usual, **asked})
    return found


def method(figures: dict[str, Any], name: str) -> dict[str, Any]:
    """One method's figures."""
    [found] = [one for one in figures["methods"] if one["method"] == name]
    return dict(found)


async def test_each_price_is_predicted_from_the_day_before(world_without_rulebook: World) -> None:
    """By an independent way: of each price whose yard was seen before, the price list of the eve is read over
    the interface, and its errors are put together by numpy."""
    world = await settled(world_without_rulebook, small_rulebook())
    found = await backtest(world)
    errors, last, inside = [], [], []
    for n, (_, yard, paid, on) in enumerate(SEEN):
        before = [amount for _, other, amount, _ in SEEN[:n] if other == yard]
        if not before:
            continue
        eve = np.datetime64(on) - np.timedelta64(1, "D")
        line = await world.priced(GRADE, region="XO-KEL", on=str(eve))
        truth, likely = Decimal(paid), Decimal(line["likely"])
        errors.append(abs(likely - truth) / truth * 100)
        last.append(abs(Decimal(before[-1]) - truth) / truth * 100)
        inside.append(Decimal(line["low"]) <= truth <= Decimal(line["high"]))
    assert found["overall"]["cases"] == len(errors) == 4
    consensus = method(found["overall"], "consensus")
    assert Decimal(consensus["median_error"]) == round(median(errors), 2)
    assert float(consensus["within"]) == pytest.approx(100 * np.mean(inside), abs=0.01)
    assert Decimal(method(found["overall"], "last-posted")["median_error"]) == round(median(last), 2)
    assert method(found["overall"], "last-posted")["within"] is None
    assert (found["unknown"], found["waiting"], found["rulebooks"]) == (3, 0, ["2020.1"])
    assert [(one["grade"], one["cases"]) for one in found["by_grade"]] == [(GRADE, 4)]
    assert [(one["yards"], one["cases"]) for one in found["by_yards"]] == [(3, 4)]


async def test_without_benchmarks_both_consensuses_are_one(world_without_rulebook: World) -> None:
    """Where nothing follows, the likely price is the same with benchmarks and without."""
    found = await backtest(await settled(world_without_rulebook, small_rulebook()))
    plain = method(found["overall"], "consensus")
    assert {**method(found["overall"], "consensus-with-benchmark"), "method": "consensus"} == plain


async def test_a_benchmark_makes_old_prices_better(world_without_rulebook: World) -> None:
    """Prices that double with the market between two visits are foreseen with the benchmark, and without it
    are half of what was paid."""
    world = world_without_rulebook
    await world.publish(following("100 %"))
    await settle(world)
    for who, yard, first, second in (
        ("wren", "low-quay", "3.00", "6.00"),
        ("dunlin", "tern-row", "3.05", "6.10"),
        ("siskin", "cinder-lane", "2.95", "5.90"),
    ):
        await world.post(price(GRADE, first), who=who, yard=yard, on="2026-04-01")
        await world.post(price(GRADE, second), who=who, yard=yard, on="2026-05-03")
    await make(world)
    await keep(world, {"2026-04-01": "9000", "2026-05-02": "18000"})
    found = await backtest(world, from_="2026-05-01")
    plain, aged = (
        Decimal(method(found["overall"], name)["median_error"])
        for name in ("consensus", "consensus-with-benchmark")
    )
    assert aged < 2
    assert abs(plain - 50) < 2
    assert Decimal(method(found["overall"], "last-posted")["median_error"]) == 50


async def test_what_is_seen_on_the_day_itself_is_not_known(world_without_rulebook: World) -> None:
    """Two who see the same on one day do not predict each other."""
    world = world_without_rulebook
    await world.publish(small_rulebook())
    await settle(world)
    await world.post(price(GRADE, "3.00"), who="wren", on="2026-04-01")
    await world.post(price(GRADE, "4.00"), who="dunlin", on="2026-04-10")
    await world.post(price(GRADE, "4.00"), who="siskin", on="2026-04-10")
    found = await backtest(world)
    assert found["overall"]["cases"] == 2
    assert method(found["overall"], "last-posted")["median_error"] == "25.00"
    assert method(found["overall"], "consensus")["median_error"] == "25.00"


async def test_prices_that_wait_are_not_tested(world_without_rulebook: World) -> None:
    """A slip that waits is neither a truth to be foreseen, nor part of what others are predicted from."""
    document = small_rulebook()
    document["pricing"]["held"] = {**HELD, "enough_yards": 2}
    world = await settled(world_without_rulebook, document)
    before = await backtest(world)
    await world.post(price(GRADE, "33.0"), who="plover", yard="low-quay", on="2026-04-16")
    found = await backtest(world)
    assert found["waiting"] == before["waiting"] + 1
    assert found["overall"] == before["overall"]  # also of 20 April, at the same yard


async def test_what_was_taken_back_is_not_there(world_without_rulebook: World) -> None:
    """A price that was withdrawn is not tested; as known before it was."""
    world = await settled(world_without_rulebook, small_rulebook())
    slip = await world.post(price(GRADE, "3.00"), who="wren", on="2026-04-25")
    at = await world.revision()
    assert (await backtest(world))["overall"]["cases"] == 5
    reason = {"reason": "of last year"}
    await world.send(f"/v1/postings/{slip['id']}/withdrawal", reason, "wren")
    assert (await backtest(world))["overall"]["cases"] == 4
    then = await backtest(world, known_at=at)
    assert (then["overall"]["cases"], then["known_at"]) == (5, at)


async def test_one_grade_alone(world_without_rulebook: World) -> None:
    """By any of its names; prices for larger lots are no prices of any lot."""
    world = await settled(world_without_rulebook, small_rulebook())
    await world.post(price("light-iron", "0.08"), on="2026-04-02")
    await world.post(price("light-iron", "0.09"), on="2026-04-09")
    await world.post(price(GRADE, "9.99", from_weight="100 lb"), on="2026-04-22")
    found = await backtest(world)
    assert {one["grade"]: one["cases"] for one in found["by_grade"]} == {GRADE: 4, "light-iron": 1}
    alone = await backtest(world, grade="tin")
    assert alone["overall"]["cases"] == 1
    assert method(alone["overall"], "last-posted")["median_error"] == "11.11"


async def test_nothing_to_test_is_said(world: World) -> None:
    """No figures are made up where nothing was known."""
    assert (await backtest(world))["overall"] is None


@pytest.mark.parametrize(
    ("asked", "slug", "parameter"),
    [
        ({"from": "2026-05-05", "to": "2026-05-04"}, "invalid-request", "from"),
        ({"from": "2024-05-05", "to": "2026-05-04"}, "invalid-request", "from"),
        ({"grade": "gold-bars"}, "unknown-grade", "grade"),
        ({"to": "2019-01-01"}, "no-rulebook-in-force", "to"),
        ({"weight": "1 lb"}, "invalid-request", "weight"),
    ],
)
async def test_what_cannot_be_tested(world: World, asked: dict[str, str], slug: str, parameter: str) -> None:
    """Each fault names its parameter."""
    refused = problem_of(await world.client.get(PATH, params=asked), slug)
    assert [error.parameter for error in refused.errors or []] == [parameter]


async def test_more_than_can_be_predicted_at_once(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is refused before all of it is read, and what to ask instead is said: one grade on one day is
    always predicted."""
    monkeypatch.setattr(module, "MOST_CASES", 1)
    for grade in (GRADE, GRADE, "light-iron"):
        await world.post(price(grade, "3.00"), on="2026-05-01")
    day = {"from": "2026-05-01", "to": "2026-05-01"}
    for asked, faulty, narrower in (
        ({}, "from", "take a shorter span or one grade."),
        ({"grade": GRADE}, "from", "take a shorter span."),
        (day, "grade", "take one grade."),
    ):
        refused = problem_of(await world.client.get(PATH, params=asked), "invalid-request")
        assert f"{2 if 'grade' in asked else 3} prices were seen there" in refused.detail
        assert refused.detail.endswith(narrower)
        assert where(refused) == [faulty]
    assert (await world.client.get(PATH, params={**day, "grade": GRADE})).status_code == 200
    assert (await world.client.get(PATH, params={"to": "2026-04-30"})).status_code == 200
    problem_of(await world.client.get("/v1/prices/XO-KIL/backtest"), "unknown-region", 404)


async def test_better_prices_for_large_lots_keep_nobody_from_a_backtest(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A list with many from-weights of one yard and day is no more to predict than one without."""
    monkeypatch.setattr(module, "MOST_CASES", 1)
    lots = [price(GRADE, "3.00", from_weight=f"{number} lb") for number in range(1, 40)]
    await world.post(price(GRADE, "2.90"), *lots, on="2026-05-01")
    for known_when in ("seen", "recorded"):
        assert (await backtest(world, known_when=known_when))["unknown"] == 1


async def test_more_than_can_be_gone_through_at_once(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """What counts is gone through for each day that is predicted from, and every narrowing makes it less."""
    monkeypatch.setattr(module, "MOST_READ", 5)
    for day in ("2026-04-28", "2026-04-29", "2026-04-30"):
        lots = [price("light-iron", "0.08", from_weight=f"{number} lb") for number in (100, 200)]
        await world.post(price(GRADE, "3.00"), price("light-iron", "0.07"), *lots, on=day)

    async def told(**asked: str) -> str:
        answer = await world.client.get(PATH, params={"from": "2026-04-28", "to": "2026-04-30", **asked})
        return "" if answer.status_code == 200 else problem_of(answer, "invalid-request").detail

    # The first day is predicted from nothing, the second from the first, the third from both: two prices of
    # any lot a day, and four in all by which authors are weighed.
    assert "18 prices that count" in await told()
    assert "15 prices that count" in await told(grade=GRADE)
    assert "6 prices that count" in await told(to="2026-04-29")
    assert await told(to="2026-04-29", grade=GRADE) == ""
    assert "6 prices that count" in await told(known_when="seen")
    assert "12 prices that count" in await told(**{"from": "2026-04-30"})
    assert await told(**{"from": "2026-04-30", "grade": GRADE}) == ""
