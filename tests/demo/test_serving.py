"""The demo's own service: on a port that is its own, and gone when it is no longer needed."""

from __future__ import annotations

import asyncio
import shutil
import socket
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import httpx
import pytest

from gradewright.demo import serving as module
from gradewright.demo.database import PUBLISHED, fill, url_of
from gradewright.demo.errors import DemoError
from gradewright.demo.scenario import read_scenario
from gradewright.demo.serving import require_free, serving

SCENARIO = read_scenario()


@pytest.fixture(scope="module")
def filled(migrated_sqlite: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A database with rulebooks, which takes a while to fill, and a key that it knows."""
    file = tmp_path_factory.mktemp("filled") / "bay.sqlite"
    shutil.copy(migrated_sqlite, file)
    told: list[tuple[int, int]] = []
    keys = asyncio.run(fill(url_of(file), SCENARIO, tell=lambda *how_far: told.append(how_far)))
    every = len(list(PUBLISHED.glob("*.yaml")))
    assert told == [(number, every) for number in range(1, every + 1)]  # for who waits
    return file, keys[SCENARIO.maintainer]


@pytest.fixture
def keyed(filled: tuple[Path, str], tmp_path: Path) -> tuple[str, str]:
    """The URL of such a database of the test's own, and the key."""
    file, key = filled
    own = tmp_path / file.name
    with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(own)) as copy:
        source.backup(copy)
    return url_of(own), key


@pytest.fixture
def free() -> int:
    """A port on which nobody listens."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@pytest.fixture
def taken() -> Iterator[int]:
    """A port on which somebody listens."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        yield listening.getsockname()[1]


def test_where_the_usual_port_is_taken_it_takes_another(
    keyed: tuple[str, str], taken: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A service that finds the usual port in use listens on any other, and ends with its block."""
    monkeypatch.setattr(module, "USUAL_PORT", taken)
    url, key = keyed
    with serving(url, tmp_path / "log", None, key) as served:
        assert served.port != taken
        assert httpx.get(f"{served.url}/readyz", timeout=10).status_code == 200
    with pytest.raises(httpx.TransportError):
        httpx.get(f"{served.url}/readyz", timeout=10)
    assert served.process.poll() is not None


def test_it_knows_its_own_service(keyed: tuple[str, str], free: int, tmp_path: Path) -> None:
    """Where what answers does not know the database's key, it is another's: the demo says so and stops."""
    url, _ = keyed
    with (
        pytest.raises(DemoError, match="Another service answers"),
        serving(url, tmp_path / "log", free, "gw_" + "x" * 32),
    ):
        pytest.fail("it was taken for the demo's own")
    with pytest.raises(httpx.TransportError):
        httpx.get(f"http://127.0.0.1:{free}/readyz", timeout=10)


def test_a_wanted_port_has_to_be_free(taken: int) -> None:
    """A port that was asked for and is in use is a fault that names it."""
    with pytest.raises(DemoError, match=rf"Cannot listen on 127\.0\.0\.1:{taken}.*--port"):
        require_free(taken)


def test_a_usual_port_that_another_is_about_to_serve_is_left_to_it(
    keyed: tuple[str, str], free: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of two demos that start at once one has the usual port, though nobody listens there yet, the other
    any."""
    monkeypatch.setattr(module, "USUAL_PORT", free)
    url, key = keyed
    with module.holding(free), serving(url, tmp_path / "log", None, key) as served:
        assert served.port != free


def test_a_wanted_port_that_another_is_about_to_serve_is_taken(
    keyed: tuple[str, str], free: int, tmp_path: Path
) -> None:
    """A port is taken from before its server listens: the demo that comes second says so, and what to do."""
    url, key = keyed
    says = rf"Cannot listen on 127\.0\.0\.1:{free}: .*Name another --port, or leave it out"
    with module.holding(free):
        with pytest.raises(DemoError, match=says), serving(url, tmp_path / "log", free, key):
            pytest.fail("both have the port")
        with pytest.raises(DemoError, match=says):
            require_free(free)
    require_free(free)
