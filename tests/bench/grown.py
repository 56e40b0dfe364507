"""A service over a history of some size, and what is asked of it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache
from itertools import count
from typing import Any

import httpx
from litestar import Litestar

from gradewright import collector
from gradewright.accounts.service import Role
from gradewright.asgi import Services, create_app
from gradewright.core.pricelist import PriceList
from gradewright.core.rulebook import Rulebook
from gradewright.prices.board import Board, Place
from gradewright.prices.series_days import days_between
from gradewright.rulebooks.document import read_yaml
from gradewright.settings import Settings
from tests.bench import history

THEN = history.END - timedelta(weeks=30)  # an old day: the small history begins 41 weeks before
OTHER_REVISIONS = 70  # more than a board keeps
YARD = "yard-00-01-0"  # takes the postings; not in the region that is measured


@dataclass
class Grown:
    """A service over one database; every method is one operation."""

    services: Services
    client: httpx.AsyncClient
    key: dict[str, str]
    rulebook: Rulebook  # in force on the old day
    todays: Rulebook  # in force at the end, on the day that is today
    revision: int
    grade: str
    numbers: Iterator[int] = field(default_factory=lambda: count(1))

    async def old_list(self, region: str = history.REGION, version: str | None = None) -> PriceList:
        """The list of a day as it was known then, from the ledger: a new board has nothing in memory.

        By the version in force on that day, or by another one.
        """
        return await self._board().as_known(Place(region), self._by(version), THEN.date(), self.revision)

    async def old_list_of_all(self) -> PriceList:
        """The same of the whole country: every yard in it counts for every grade."""
        return await self.old_list(history.COUNTRY)

    async def old_list_of_none(self) -> PriceList:
        """The same of a locality that has no yard: all prices are its subdivision's or the country's."""
        return await self.old_list(history.EMPTY)

    async def old_list_over_http(self) -> None:
        """The list as a client asks for it, at another revision every time, so never from memory."""
        known_at = self.revision - next(self.numbers) % OTHER_REVISIONS
        query = {"region": history.REGION, "on": THEN.date().isoformat(), "known_at": str(known_at)}
        await self._get("/v1/prices", query)

    async def instant(self) -> int:
        """The revision that an old instant means."""
        return await self.services.prices.revision(THEN)

    async def todays_list(self) -> PriceList:
        """Today's list, from memory."""
        place, today = Place(history.REGION), history.END.date()
        return (await self.services.prices.list_for(place, self.todays, today))[0]

    async def todays_list_cold(self, version: str | None = None) -> PriceList:
        """Today's list as a worker makes it first: a new board has nothing in memory.

        By the version in force today, or by another one.
        """
        today, rulebook = history.END.date(), self.todays if version is None else book(version)
        return (await self._board().newest(Place(history.REGION), rulebook, today))[0]

    async def series(self) -> None:
        """A year of one grade, a point a day, as known at the old revision; each by its day's version."""
        await self._series(THEN.date(), self.revision)

    async def series_of_today(self, version: str | None = None) -> None:
        """The year up to today as known now: each point by the version of its day, or all by another one."""
        await self._series(history.END.date(), (await self.services.database.newest()).number, version)

    async def _series(self, last: date, revision: int, version: str | None = None) -> None:
        days = days_between(last - timedelta(days=364), last, "day")
        over = await self.services.rulebooks.over(days, known_at=revision)
        dated = {
            day: None if found is None else found.rulebook if version is None else book(version)
            for day, found in over.items()
        }
        found = await self.services.series.of(Place(history.REGION), self.grade, dated, revision)
        assert found.points[-1].quote is not None

    async def page(self) -> None:
        """The newest twenty postings of the region."""
        await self._get("/v1/postings", {"region": history.REGION, "limit": "20"})

    async def post(self) -> None:
        """A posting of ten prices, stored for good when it is answered."""
        price = f"{next(self.numbers)}.35"
        prices = [
            {"grade": grade, "price": price, "currency": "USD", "per": "lb"}
            for grade in list(self.rulebook.grades)[: history.PRICES]
        ]
        day = history.END.date().isoformat()
        body = {"yard": YARD, "observed_on": day, "evidence": "sign", "prices": prices}
        response = await self.client.post("/v1/postings", json=body, headers=self.key)
        assert response.status_code == 201, response.text

    def _board(self) -> Board:
        return Board(self.services.database, self.services.yards, self.services.benchmarks)

    def _by(self, version: str | None) -> Rulebook:
        return self.rulebook if version is None else book(version)

    async def _get(self, path: str, query: dict[str, str]) -> Any:
        response = await self.client.get(path, params=query)
        assert response.status_code == 200, response.text
        return response.json()


@lru_cache
def book(version: str) -> Rulebook:
    """A version that ships, as it ships by now."""
    return read_yaml(history.PUBLISHED / f"{version}.yaml")


@asynccontextmanager
async def serving(database_url: str) -> AsyncIterator[Grown]:
    """The application over a database that has grown, as after a start; its clock stands at the end."""
    app: Litestar = create_app(Settings(database_url=database_url), clock=history.clock)
    services: Services = app.state["services"]
    key = await services.accounts.make_key("ouzel", Role.MEMBER, "bench", history.END)
    transport: Any = httpx.ASGITransport(app=app)  # type: ignore[arg-type]
    async with httpx.AsyncClient(transport=transport, base_url="http://bench") as client:
        rulebook = (await services.rulebooks.in_force(THEN.date())).rulebook
        todays = (await services.rulebooks.in_force(history.END.date())).rulebook
        revision = await services.prices.revision(THEN)
        header = {"Authorization": f"Bearer {key}"}
        collector.stays()  # as a service does once it is ready
        yield Grown(services, client, header, rulebook, todays, revision, _everywhere(rulebook))
    await services.database.close()


def _everywhere(rulebook: Rulebook) -> str:
    """A grade that every yard of the region buys."""
    yards = (yard.slug for yard in history.yards(history.TEN_THOUSAND) if yard.region == history.REGION)
    return min(set.intersection(*(set(history.bought(yard, list(rulebook.grades))) for yard in yards)))
