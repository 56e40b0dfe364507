"""Backtests know no more than the ledger had at the end of the day before."""

from __future__ import annotations

import random
from datetime import date, timedelta
from decimal import Decimal
from statistics import fmean, median
from typing import Any

import pytest
from tests.api import World, price, settle, small_rulebook
from tests.benchmarks.keeping import keep, make
from tests.prices.test_backtest import GRADE, PATH, method
from tests.prices.test_histories import AUTHORS, KELDER, rulebook

from gradewright.accounts.service import Role

FIRST = date(2026, 5, 4)
DAY = timedelta(days=1)
REASON = {"reason": "as it was told at the gate"}
NEWEST = "consensus-with-benchmark"
POUND = Decimal("0.45359237")  # of a kilogram, where a list is told by it


async def of_day(world: World, day: date, **asked: Any) -> dict[str, Any]:
    """What comes out for the prices of one grade seen on a day."""
    found: dict[str, Any] = await world.get(PATH, **{"from_": day, "to": day, "grade": GRADE, **asked})
    return found


async def error(world: World, day: date, **asked: Any) -> str | None:
    """The error of the likely price, where anything was known."""
    found = (await of_day(world, day, **asked))["overall"]
    return None if found is None else str(method(found, NEWEST)["median_error"])


@pytest.fixture
async def market(world_without_rulebook: World) -> World:
    """Low Quay was seen to pay 3.00 on 4 May, and that was told on the day."""
    world = world_without_rulebook
    await world.publish(small_rulebook())
    await settle(world)
    await world.post(price(GRADE, "3.00"), who="wren", on="2026-05-04")
    return world


async def test_what_was_recorded_late_was_not_known(market: World) -> None:
    """A price of 5 May that somebody told on the 8th predicts none of the 7th, unless as it was seen."""
    market.later(days=3)
    await market.post(price(GRADE, "4.00"), who="dunlin", on="2026-05-07")
    market.later(days=1)
    await market.post(price(GRADE, "4.00"), who="wren", on="2026-05-05")
    day = date(2026, 5, 7)
    assert await error(market, day) == "25.00"
    assert await error(market, day, known_when="seen") == "0.00"
    assert (await of_day(market, day))["known_when"] == "recorded"


async def test_what_was_taken_back_late_was_still_known(market: World) -> None:
    """A price that its author took back on 8 May predicts that of the 7th, and none that was seen later."""
    wrong = await market.post(price(GRADE, "4.00"), who="wren", on="2026-05-04")
    market.later(days=3)
    await market.post(price(GRADE, "4.00"), who="dunlin", on="2026-05-07")
    market.later(days=1)
    said = await market.send(f"/v1/postings/{wrong['id']}/withdrawal", REASON, "wren")
    assert said.status_code == 201
    assert await error(market, date(2026, 5, 7)) == "0.00"
    assert await error(market, date(2026, 5, 7), known_when="seen") == "25.00"


async def test_a_history_that_was_uploaded_at_once_was_not_known(world_without_rulebook: World) -> None:
    """Of none of its prices was anything recorded the day before; as it was seen it can be tested."""
    await settle(world_without_rulebook)
    for day in ("2026-04-20", "2026-04-27"):
        await world_without_rulebook.post(price(GRADE, "3.00"), on=day)
    day = date(2026, 4, 27)
    found = await of_day(world_without_rulebook, day)
    assert (found["overall"], found["unknown"]) == (None, 1)
    assert await error(world_without_rulebook, day, known_when="seen") == "0.00"


async def lived(world: World, chance: random.Random) -> set[date]:
    """Weeks of what members tell, some of it late, take back, confirm and dispute, of what a maintainer
    decides and of values of a benchmark, some late too; gives the days on which prices were seen."""
    await world.publish(rulebook())
    await settle(world)
    await make(world)
    posted: list[tuple[str, str]] = []
    days = set()
    for _ in range(60):
        world.later(hours=chance.choice((2, 5, 20)))
        today = world.clock.now.date()
        do = chance.random()
        if do < 0.6 or len(posted) < 5:
            seen_on = today - DAY * chance.choice((0, 0, 0, 2, 5))
            who, amount = chance.choice(AUTHORS), chance.choice(("3.10", "3.20", "3.30", "3.45", "7.30"))
            lot = price(GRADE, "3.90", from_weight="100 lb")
            told = await world.post(
                price(GRADE, amount), lot, who=who, yard=chance.choice(KELDER), on=str(seen_on)
            )
            posted.append((told["id"], who))
            days.add(seen_on)
        elif do < 0.7:
            await keep(world, {str(today - DAY * chance.choice((0, 3))): str(chance.randrange(8000, 12000))})
        else:
            posting, author = chance.choice(posted)
            act = chance.choice(("withdrawal", "confirmation", "dispute", "decision"))
            body = (
                {**REASON, "verdict": chance.choice(("accepted", "rejected"))}
                if act == "decision"
                else REASON
            )
            who = {"withdrawal": author, "decision": "sedge"}.get(act, chance.choice(AUTHORS))
            role = Role.MAINTAINER if who == "sedge" else Role.MEMBER
            answer = await world.send(f"/v1/postings/{posting}/{act}", body, who, role)
            assert answer.status_code in (201, 403, 409), answer.text
    return {day for day in days if day > FIRST}


async def foretold(world: World, day: date) -> tuple[list[Decimal], list[bool]]:
    """How far off the price list of the evening before was of each price that now stands of a day, and
    whether the price lay between low and high; read over the interface alone."""
    eve = day - DAY
    known = {"on": eve, "known_at": f"{eve}T23:59:59.999999Z"}
    errors, inside = [], []
    for posting in (await world.get("/v1/postings", region="XO-KEL", limit=100))["postings"]:
        stands = [one for one in posting["prices"] if one["status"] in ("counts", "overtaken", "stale")]
        paid = [one for one in stands if one["from_weight"] is None]
        if posting["observed_on"] != str(day) or not paid:
            continue
        line = await world.priced(GRADE, region="XO-KEL", **known)
        there = await world.priced(GRADE, yard=posting["yard"], **known)
        if there.get("basis", {}).get("kind") != "yard":
            continue
        pound = Decimal(1) if line["per"] == "lb" else POUND
        low, likely, high = (Decimal(line[name]) * pound for name in ("low", "likely", "high"))
        truth = Decimal(paid[0]["price"])
        errors.append(abs(likely - truth) / truth * 100)
        inside.append(low <= truth <= high)
    return errors, inside


async def test_predictions_are_what_the_price_lists_told(world_without_rulebook: World) -> None:
    """Of every day: the errors are those of the region's price list as it was known at the end of the day
    before, whose authors weighed what they did then."""
    world = world_without_rulebook
    compared = differ = 0
    for day in sorted(await lived(world, random.Random(5))):
        found = await of_day(world, day)
        errors, inside = await foretold(world, day)
        if found["waiting"] or not errors:
            continue
        assert found["overall"]["cases"] == len(errors)
        told = method(found["overall"], NEWEST)
        assert float(told["median_error"]) == pytest.approx(float(median(errors)), abs=0.01)
        assert float(told["within"]) == pytest.approx(100 * fmean(inside), abs=0.01)
        compared += 1
        differ += (await of_day(world, day, known_when="seen"))["overall"] != found["overall"]
    assert compared >= 8
    assert differ >= 3  # by what was seen, other figures come out: what was known late matters here
