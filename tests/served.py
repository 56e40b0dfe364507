"""The service as its operator starts it: a process of its own, spoken to over a socket."""

from __future__ import annotations

import asyncio
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx

from gradewright.clock import utc_now
from gradewright.db.session import Database
from gradewright.rulebooks.document import from_yaml
from gradewright.rulebooks.service import RulebookService
from tests import forked

ROOT = Path(__file__).resolve().parents[1]
STARTS_WITHIN = 20.0


def environment(url: str) -> dict[str, str]:
    """The environment of a command over one database."""
    paths = f"{ROOT / 'service'}:{ROOT / 'sdk' / 'src'}"
    return {**os.environ, "GRADEWRIGHT_DATABASE_URL": url, "PYTHONPATH": paths, "COLUMNS": "200"}


def run(url: str, *words: str) -> subprocess.CompletedProcess[str]:
    """Runs an operator's command to its end."""
    return forked.run("gradewright.cli", words, env=environment(url))


def start(url: str, *words: str) -> subprocess.CompletedProcess[str]:
    """The same from nothing, as a shell does it."""
    command = [sys.executable, "-m", "gradewright.cli", *words]
    return subprocess.run(
        command, capture_output=True, text=True, env=environment(url), check=False, timeout=60
    )


def publish(url: str, text: str) -> None:
    """Publishes a rulebook past all maintainers, as only a test may."""

    async def work() -> None:
        database = Database(url)
        try:
            await RulebookService(database).publish(from_yaml(text), utc_now())
        finally:
            await database.close()

    asyncio.run(work())


def free_port() -> int:
    """A port that nobody listens on just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def serving(url: str, *words: str) -> Iterator[tuple[int, list[str]]]:
    """`gradewright serve` until the block ends: its port, and a list that then holds what it printed."""
    port = free_port()
    command = [sys.executable, "-m", "gradewright.cli", "serve", "--port", str(port), *words]
    server = subprocess.Popen(
        command, env=environment(url), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    printed: list[str] = []
    try:
        deadline = time.monotonic() + STARTS_WITHIN
        while not _answers(port):
            assert server.poll() is None, "it has stopped"
            assert time.monotonic() < deadline, "it does not answer"
            time.sleep(0.05)
        yield port, printed
    finally:
        server.terminate()
        printed.append(server.communicate(timeout=20)[0])


def _answers(port: int) -> bool:
    try:
        return httpx.get(f"http://127.0.0.1:{port}/healthz").status_code == 200
    except httpx.TransportError:
        return False
