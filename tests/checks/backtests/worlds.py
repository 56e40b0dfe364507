"""Markets to predict: the demo's district, and one whose metal moved as silver did in the world."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from tests.api import World, settle
from tests.benchmarks.keeping import keep, make
from tests.checks.shipped import PUBLISHED
from tests.conftest import Watch, talk_to

from gradewright.accounts.service import Role
from gradewright.asgi import create_app
from gradewright.demo.database import fill
from gradewright.demo.postings import planned, quoted
from gradewright.demo.scenario import read_scenario
from gradewright.demo.seeding import LABELS_SINCE, seed, yards
from gradewright.rulebooks.document import from_yaml
from gradewright.settings import Settings

SILVER_RULEBOOK = PUBLISHED / "2027.6.yaml"  # by name: figures are of one version, whatever ships later
REGION = "XO-KEL"
PLACES = [
    {"code": "XO", "name": "Orvale", "parent": None, "currency": "USD", "unit": "lb"},
    {"code": REGION, "name": "Kelder Bay", "parent": "XO", "currency": "USD", "unit": "lb"},
]
YARDS = tuple(f"yard-{number}" for number in range(1, 6))
TERMS = {"region": REGION, "currency": "USD", "unit": "lb"}
GRADES = ("silver-articles", "silver-contacts")
Backtest = dict[str, Any]


async def of_demo(url: str, today: date, *days: int) -> list[Backtest]:
    """The backtests of the demo's district over the last days before one, as `gradewright demo` makes it:
    nine months uploaded at once."""
    watch, scenario = Watch(), read_scenario()
    watch.now = _noon(today)
    keys = await fill(url, scenario, watch)
    app = create_app(Settings(database_url=url, ledger_poll_seconds=0), clock=watch)
    async with talk_to(app) as client:
        await seed(client, scenario, keys, planned(scenario, today), today)
        world = World(app, client, watch)
        return [await _backtest(world, today - timedelta(days=n), today, "seen") for n in days]


async def of_demo_lived(url: str, today: date, *days: int) -> list[Backtest]:
    """The same, had the members posted each price on the day on which they saw it, and the maintainer kept
    the benchmarks week by week."""
    watch, scenario = Watch(), read_scenario()
    watch.now = _noon(today - LABELS_SINCE)
    keys = await fill(url, scenario, watch)
    app = create_app(Settings(database_url=url, ledger_poll_seconds=0), clock=watch)
    ones = [one for plan in planned(scenario, today).values() for one in plan if not one.refused]
    quotes = {slug: quoted(scenario, slug, today) for slug in scenario.benchmarks}
    async with talk_to(app) as client:
        headers = {handle: {"Authorization": f"Bearer {key}"} for handle, key in keys.items()}
        world = World(app, client, watch, headers)
        await settle(world, scenario.regions, yards(scenario, today))
        for slug in quotes:
            kept = scenario.benchmarks[slug]
            made = await make(world, slug=slug, name=kept.name, currency=kept.currency, unit=kept.unit)
            assert made.status_code == 201, made.text
        for day in sorted({one.observed_on for one in ones}.union(*quotes.values())):
            watch.now = _noon(day)
            for slug, values in quotes.items():
                if day in values:
                    await keep(world, {str(day): str(values[day])}, slug)
            for one in ones:
                if one.observed_on == day:
                    response = await world.send("/v1/postings", one.body, one.member)
                    assert response.status_code == 201, response.text
        return [await _backtest(world, today - timedelta(days=n), today) for n in days]


def _noon(day: date) -> datetime:
    return datetime.combine(day, time(12), UTC)


async def of_silver(url: str, index: dict[date, float], first: date, last: date, seed: int) -> Backtest:
    """The backtest of five yards, each of which sets its board anew once a week at 85 % of what silver did
    since it began, some percent above or below the others; ten members see two yards each every third week,
    and read the board within 1 %."""
    chance = random.Random(seed)
    document = from_yaml(SILVER_RULEBOOK.read_text(encoding="utf-8"))
    watch = Watch()
    watch.now = datetime.combine(last, time(12), UTC)
    app = create_app(Settings(database_url=url, ledger_poll_seconds=0), clock=watch)
    async with talk_to(app) as client:
        world = World(app, client, watch)
        await world.publish({**document, "effective_from": str(first - timedelta(days=400))})
        await settle(world, PLACES, [{"slug": yard, "name": yard.title(), **TERMS} for yard in YARDS])
        await _keep(world, {day: value for day, value in index.items() if day <= last})
        pays = {yard: 1 + chance.gauss(0, 0.03) for yard in YARDS}
        boards = {yard: chance.randrange(7) for yard in YARDS}
        for member in range(10):
            for yard in chance.sample(YARDS, 2):
                phase = chance.randrange(21)
                for day in _days(first, last, phase):
                    changed = day - timedelta(days=(day.toordinal() - boards[yard]) % 7)
                    moved = 1 + 0.85 * (_at(index, changed) / _at(index, first) - 1)
                    amount = 100 * pays[yard] * moved
                    prices = [
                        {
                            "grade": grade,
                            "price": f"{amount * share * (1 + chance.gauss(0, 0.01)):.2f}",
                            "currency": "USD",
                            "per": "lb",
                        }
                        for grade, share in zip(GRADES, (1.0, 0.6), strict=True)
                    ]
                    await world.post(*prices, who=f"member-{member}", yard=yard, on=str(day))
        return await _backtest(world, first + timedelta(days=60), last, "seen")


def _days(first: date, last: date, phase: int) -> list[date]:
    begin = first + timedelta(days=phase)
    return [begin + timedelta(days=n) for n in range(0, (last - begin).days + 1, 21)]


def _at(index: dict[date, float], day: date) -> float:
    """The newest value on the day or before."""
    while day not in index:
        day -= timedelta(days=1)
    return index[day]


async def _keep(world: World, index: dict[date, float]) -> None:
    made = {"slug": "silver", "name": "Silver", "source": "AER, GoldSilver"}
    await world.send("/v1/benchmarks", made, "sedge", Role.MAINTAINER)
    headers = {**await world.key("sedge", Role.MAINTAINER), "Content-Type": "text/csv"}
    days = sorted(index)
    for start in range(0, len(days), 5_000):
        lines = "".join(f"{day},{index[day]:.2f}\n" for day in days[start : start + 5_000])
        response = await world.client.post(
            "/v1/benchmarks/silver/values", content=f"date,value\n{lines}".encode(), headers=headers
        )
        assert response.status_code == 201, response.text


async def _backtest(world: World, first: date, last: date, known_when: str = "recorded") -> Backtest:
    span = {"from_": first, "to": last, "known_when": known_when}
    found: Backtest = await world.get(f"/v1/prices/{REGION}/backtest", **span)
    return found
