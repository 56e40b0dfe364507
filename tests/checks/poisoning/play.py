"""Plays a market through the real service: every posting over its interface, every price from its list."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from statistics import fmean

from tests.api import World, settle
from tests.checks.poisoning.market import ATTACK, GRADES, LAST, OWN, START, VERSION, YARDS, Market, Visit
from tests.checks.shipped import PUBLISHED
from tests.conftest import Watch, talk_to

from gradewright.asgi import create_app
from gradewright.rulebooks.document import from_yaml
from gradewright.settings import Settings

REGION = "XO-KEL"
PLACES = [
    {"code": "XO", "name": "Orvale", "parent": None, "currency": "USD", "unit": "lb"},
    {"code": REGION, "name": "Kelder Bay", "parent": "XO", "currency": "USD", "unit": "lb"},
]
TERMS = {"region": REGION, "currency": "USD", "unit": "lb"}
RULEBOOK = PUBLISHED / f"{VERSION}.yaml"


@dataclass(frozen=True)
class Course:
    """What came of it: by day from the attack on, each grade's likely price over the true one, less 1."""

    off: Sequence[dict[str, float]]

    def error(self, grades: Sequence[str] = GRADES) -> float:
        """The mean size of the error, over days and grades."""
        return fmean(abs(day[grade]) for day in self.off for grade in grades)

    def worst_day(self, grades: Sequence[str] = GRADES) -> float:
        """The mean size of the error over grades, on the worst day."""
        return max(fmean(abs(day[grade]) for grade in grades) for day in self.off)

    def of_day(self, number: int) -> float:
        """The mean size of the error so many days after the attack."""
        return fmean(abs(off) for off in self.off[number].values())


@asynccontextmanager
async def played(
    url: str,
    market: Market,
    *,
    without: frozenset[str] = frozenset(),
    evening: Callable[[World, int], Awaitable[None]] | None = None,
) -> AsyncIterator[World]:
    """A fresh service in which a market has gone from its first day to its last; `without` the postings of
    some. `evening`: what is done at the end of each day."""
    watch = Watch()
    watch.now = _noon(0)
    app = create_app(Settings(database_url=url, ledger_poll_seconds=0), clock=watch)
    visits = [visit for visit in market.visits() if visit.author not in without]
    async with talk_to(app) as client:
        world = World(app, client, watch)
        await world.publish(from_yaml(RULEBOOK.read_text(encoding="utf-8")))
        await settle(
            world, PLACES, [{"slug": yard, "name": yard.title(), **TERMS} for yard in (*YARDS, *OWN)]
        )
        for day in range(LAST + 1):
            watch.now = _noon(day)
            for visit in visits:
                if visit.day == day:
                    await _post(world, visit)
            if evening is not None:
                await evening(world, day)
        yield world


async def play(url: str, market: Market, *, without: frozenset[str] = frozenset()) -> Course:
    """What comes of a market, read off each day from the attack on."""
    off = []

    async def read(world: World, day: int) -> None:
        if day >= ATTACK:
            off.append(await _off(world, market, day))

    async with played(url, market, without=without, evening=read):
        return Course(off)


def _noon(day: int) -> datetime:
    return datetime.combine(date_of(day), time(12), UTC)


def date_of(day: int) -> date:
    """The day of the calendar that is so many days after the start."""
    return START + timedelta(days=day)


async def _settle(world: World, visit: Visit) -> None:
    """Settles a ticket that was made up for what is to be posted: 100 lb of each grade."""
    grades = [{"grade": grade, "weight": "100 lb"} for grade in visit.prices]
    lines = [
        {
            "label": "x",
            "grade": grade,
            "net": "100 lb",
            "price": price,
            "amount": f"{100 * Decimal(price):.2f}",
        }
        for grade, price in visit.prices.items()
    ]
    total = f"{sum(Decimal(line['amount']) for line in lines):.2f}"
    body = {
        "yard": visit.yard,
        "ticket": {"on": visit.observed_on, "lines": lines, "total": total},
        "against": {"bins": grades},
        "keep": True,
        "post_prices": True,
    }
    response = await world.send("/v1/settlements", body, visit.author)
    assert response.status_code == 201, response.text
    assert response.json()["adds_up"], response.text


async def _post(world: World, visit: Visit) -> None:
    if visit.settled:
        await _settle(world, visit)
        return
    prices = [
        {"grade": grade, "price": price, "currency": "USD", "per": "lb"}
        for grade, price in visit.prices.items()
    ]
    await world.post(
        *prices, who=visit.author, yard=visit.yard, on=visit.observed_on, evidence=visit.evidence
    )


async def _off(world: World, market: Market, day: int) -> dict[str, float]:
    found = await world.get("/v1/prices", region=REGION, on=date_of(day))
    likely = {line["grade"]: float(line["likely"]) for line in found["prices"]}
    return {grade: likely[grade] / market.truth(grade, day) - 1 for grade in GRADES}
