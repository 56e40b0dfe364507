"""A service with a small invented district in it, for tests that speak HTTP."""

from __future__ import annotations

import shutil
import zlib
from collections.abc import AsyncIterator, Iterable, Iterator
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

import httpx
import pytest
from litestar import Litestar
from sqlalchemy import func, make_url, select

from gradewright.accounts.service import Role
from gradewright.asgi import Services
from gradewright.db.base import Base
from gradewright.ledger.verify import verify
from gradewright.web.problems import KINDS as PROBLEMS
from gradewright.web.problems import Problem, ProblemError
from tests import samples
from tests.conftest import KINDS, PostgreSQL, Watch, application, headers_for, talk_to

Headers = dict[str, str]
Body = dict[str, Any]

STATUS = {
    "malformed-request": 400,
    "unauthorized": 401,
    "forbidden": 403,
    "not-found": 404,
    "method-not-allowed": 405,
    "not-acceptable": 406,
    "conflict": 409,
    "wrong-state": 409,
    "payload-too-large": 413,
    "unsupported-media-type": 415,
    "invalid-request": 422,
    "unknown-grade": 422,
    "unknown-region": 422,
    "unknown-yard": 422,
    "idempotency-mismatch": 422,
    "currency-mismatch": 422,
    "no-rulebook-in-force": 422,
    "too-many-requests": 429,
    "unavailable": 503,
}
"""What clients rely on: the status of each kind of problem, where the path does not name what is unknown."""

VERIFIED = 4
REGIONS: list[Body] = [
    {"code": "XO", "name": "Orvale", "parent": None, "currency": "USD", "unit": "lb"},
    {"code": "XO-KEL", "name": "Kelder Bay", "parent": "XO", "currency": "USD", "unit": "lb"},
    {"code": "XO-FEN", "name": "Fenmark", "parent": "XO", "currency": "USD", "unit": "kg"},
]
YARDS: list[Body] = [
    {
        "slug": "low-quay",
        "name": "Low Quay",
        "region": "XO-KEL",
        "currency": "USD",
        "unit": "lb",
        "labels": [
            {"label": "#1 Cu", "grade": "copper-no1", "from": "2026-01-01"},
            {"label": "#2 Cu", "grade": "copper-no2", "from": "2026-01-01"},
        ],
    },
    {
        "slug": "cinder-lane",
        "name": "Cinder Lane",
        "region": "XO-KEL",
        "currency": "USD",
        "unit": "kg",
        "rounding": "half-up",
        "cash_increment": "0.05",
    },
    {
        "slug": "tern-row",
        "name": "Tern Row",
        "region": "XO-KEL",
        "currency": "USD",
        "unit": "lb",
        "refuses": ["steel-heavy"],
    },
    {"slug": "far-gate", "name": "Far Gate", "region": "XO-FEN", "currency": "USD", "unit": "kg"},
    {"slug": "ember-end", "name": "Ember End", "region": "XO-FEN", "currency": "EUR", "unit": "kg"},
]


def small_rulebook(**changes: Any) -> Body:
    """The small rulebook as it can be published: the grade that no rule gives is sold by name."""
    document = samples.document(**changes)
    document["grades"]["copper-no2"]["by_name_only"] = True
    return document


def price(grade: str, amount: str, per: str = "lb", **more: Any) -> Body:
    """One price of a posting, in US dollars unless said otherwise."""
    return {"grade": grade, "price": amount, "currency": "USD", "per": per, **more}


def posting(*prices: Body, yard: str = "low-quay", on: str = "2026-05-04", **more: Any) -> Body:
    """A posting of a price list on a day, unless said otherwise."""
    return {"yard": yard, "observed_on": on, "evidence": "written-list", "prices": [*prices], **more}


def as_read(posted: Body) -> Body:
    """What the answer to a posting said, as it is read afterwards where all of it counts."""
    prices = posted["prices"]
    assert {line["status"] for line in prices} == {"recorded"}
    return {**posted, "prices": [{**line, "status": "counts"} for line in prices]}


@dataclass
class World:
    """A running application, a client that speaks to it, and the keys of its accounts."""

    app: Litestar
    client: httpx.AsyncClient
    clock: Watch
    keys: dict[str, Headers] = field(default_factory=dict)
    tampered: bool = False
    """Whether the test has gone past the service: then the ledger may end up in any state."""

    @property
    def services(self) -> Services:
        """What the application works with."""
        found: Services = self.app.state["services"]
        return found

    async def key(self, who: str, role: Role = Role.MEMBER) -> Headers:
        """The Authorization header of an account, made at first use."""
        if who not in self.keys:
            self.keys[who] = await headers_for(self.app, who, role)
        return self.keys[who]

    async def send(
        self, path: str, body: Any, who: str | None = None, role: Role = Role.MEMBER, **headers: str
    ) -> httpx.Response:
        """POSTs a body as JSON, with the key of `who` if one is named."""
        sent = {name.replace("_", "-"): value for name, value in headers.items()}
        sent |= await self.key(who, role) if who else {}
        return await self.client.post(path, json=body, headers=sent)

    async def get(self, path: str, **query: Any) -> Any:
        """The JSON of an answer that is expected to be 200; `from_` stands for `from`."""
        asked = {name.rstrip("_"): str(value) for name, value in query.items()}
        response = await self.client.get(path, params=asked)
        assert response.status_code == 200, response.text
        return response.json()

    async def post(self, *prices: Body, who: str = "wren", **more: Any) -> Any:
        """Posts prices that are expected to be stored; gives the stored posting."""
        response = await self.send("/v1/postings", posting(*prices, **more), who)
        assert response.status_code == 201, response.text
        return response.json()

    async def priced(self, grade: str, **query: Any) -> Any:
        """The line of one grade in a price list; where it is unpriced, why."""
        found = await self.get("/v1/prices", grade=grade, **query)
        return (found["prices"] or found["unpriced"])[0]

    async def publish(self, document: Body) -> None:
        """Publishes a rulebook."""
        await self.services.rulebooks.publish(document, self.clock())

    async def revision(self) -> int:
        """The newest revision of the ledger, as the database has it."""
        found: int = (await self.get("/readyz"))["revision"]
        return found

    @asynccontextmanager
    async def another(self) -> AsyncIterator[World]:
        """Another worker on the same database, or this one started again."""
        database = self.services.database
        url = database.url.render_as_string(hide_password=False)
        with application(url, self.clock) as app:
            async with talk_to(app) as client:
                yield World(app, client, self.clock, dict(self.keys))

    def later(self, **span: float) -> datetime:
        """Lets time pass; gives the new now."""
        self.clock.now += timedelta(**span)
        return self.clock.now


async def settle(world: World, regions: Iterable[Body] = REGIONS, yards: Iterable[Body] = YARDS) -> World:
    """Makes the district: regions and yards, and the small rulebook where none is published."""
    if not await world.services.rulebooks.all():
        await world.publish(small_rulebook())
    for path, bodies in (("/v1/regions", regions), ("/v1/yards", yards)):
        for body in bodies:
            response = await world.send(path, body, "sedge", Role.MAINTAINER)
            assert response.status_code == 201, response.text
    return world


@pytest.fixture
def world_without_rulebook(app: Litestar, client: httpx.AsyncClient, clock: Watch) -> World:
    """Nothing at all: the test runs once on each kind of database."""
    return World(app, client, clock)


@pytest.fixture
async def world(
    app: Litestar, client: httpx.AsyncClient, clock: Watch, request: pytest.FixtureRequest
) -> AsyncIterator[World]:
    """The small district, with nothing posted yet: the test runs once on each kind of database.

    What a test has written must be sealed as it stands in the tables. To look takes 30 ms, so one in
    `VERIFIED` tests is looked at, by its name; in the longer runs all are.
    """
    world = World(app, client, clock)
    await world.key("sedge", Role.MAINTAINER)  # who has made the district
    if not (await world.get("/v1/regions"))["regions"]:  # a module may have databases of its own
        await settle(world)
    yield world
    chosen = zlib.crc32(request.node.nodeid.encode()) % VERIFIED == 0
    if not world.tampered and (chosen or request.config.option.markexpr == "campaign"):
        found = (await verify(world.services.database)).differences
        assert [each.says() for each in found] == []


@contextmanager
def fresh_url(request: pytest.FixtureRequest, kind: str) -> Iterator[str]:
    """The URL of a fresh, migrated database of a kind, for fixtures of any scope."""
    if kind == "sqlite":
        folders: pytest.TempPathFactory = request.getfixturevalue("tmp_path_factory")
        path = folders.mktemp("world") / "gradewright.sqlite"
        shutil.copy(request.getfixturevalue("migrated_sqlite"), path)
        yield f"sqlite:///{path}"
        return
    server: PostgreSQL = request.getfixturevalue("postgresql")
    name = server.create()
    yield server.url(name)
    server.drop(name)


@contextmanager
def copied_url(request: pytest.FixtureRequest, url: str) -> Iterator[str]:
    """The URL of a copy of a database to which nobody is connected."""
    made = make_url(url)
    if made.get_backend_name() == "sqlite":
        folders: pytest.TempPathFactory = request.getfixturevalue("tmp_path_factory")
        path = folders.mktemp("copy") / "gradewright.sqlite"
        shutil.copy(made.database or "", path)
        yield f"sqlite:///{path}"
        return
    server: PostgreSQL = request.getfixturevalue("postgresql")
    name = server.create(made.database or "")
    yield server.url(name)
    server.drop(name)


@asynccontextmanager
async def world_over(url: str) -> AsyncIterator[World]:
    """An application over a database, with a clock that stands still."""
    clock = Watch()
    with application(url, clock) as app:
        async with talk_to(app) as client:
            yield World(app, client, clock)


@asynccontextmanager
async def empty_world(request: pytest.FixtureRequest, kind: str) -> AsyncIterator[World]:
    """An application over a fresh, migrated database of a kind, for fixtures of any scope."""
    with fresh_url(request, kind) as url:
        async with world_over(url) as world:
            yield world


@pytest.fixture(scope="module", params=KINDS)
async def shared(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The small district for a whole module of tests, none of which may add to it."""
    async with empty_world(request, request.param) as world:
        yield await settle(world)


@pytest.fixture
async def untouched(shared: World) -> AsyncIterator[World]:
    """The shared district; fails the test that has added anything to its ledger."""
    before = await stored(shared)
    yield shared
    assert await stored(shared) == before, "something has been stored"


async def stored(world: World) -> dict[str, int]:
    """How many rows each table has, but for those of accounts and keys."""
    tables = [table for table in Base.metadata.sorted_tables if table.name not in {"accounts", "keys"}]
    async with world.services.database.read() as session:
        return {
            table.name: await session.scalar(select(func.count()).select_from(table)) or 0 for table in tables
        }


def problem_of(response: httpx.Response, slug: str, status: int | None = None) -> Problem:
    """The problem in an answer, held against the one shape that every problem has."""
    assert response.headers["content-type"] == "application/problem+json", response.text
    problem = Problem.model_validate_json(response.content, strict=True)
    assert problem.type == f"/problems/{slug}", problem
    assert problem.status == response.status_code == (status or STATUS[slug]), problem
    assert problem.request_id == response.headers["x-request-id"]
    assert problem.instance == response.request.url.path
    assert problem.title == PROBLEMS[slug].title
    assert problem.detail
    return problem


def where(problem: Problem) -> list[str | None]:
    """Where the faults of a problem are: pointers, parameters, headers."""
    return [error.pointer or error.parameter or error.header for error in problem.errors]


def only(problem: Problem) -> ProblemError:
    """The one fault of a problem."""
    assert len(problem.errors) == 1, problem.errors
    return problem.errors[0]


def day(text: str) -> date:
    """A day of the calendar."""
    return date.fromisoformat(text)
