"""The service in a process of its own, as `gradewright serve` runs it, for as long as the demo needs it."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

import httpx

from gradewright.demo.errors import DemoError

HOST = "127.0.0.1"
USUAL_PORT = 8000  # where the client looks when it is not told where
READY_WITHIN = 20.0
STOPPED_WITHIN = 10.0
LOOK_EVERY = 0.03
CONNECTIONS = 8
Process = subprocess.Popen[bytes]


@dataclass(frozen=True, slots=True)
class Served:
    """A service that answers: its address, and its process."""

    url: str
    port: int
    process: Process


@contextmanager
def serving(database_url: str, log: Path, wanted: int | None, key: str) -> Iterator[Served]:
    """Serves a database on a port of this machine, and stops when the block ends.

    Where no port is wanted: the usual one if it is free, else any. `key` is one that only this database
    knows. Raises `DemoError` where the service does not start.
    """
    with ExitStack() as held:
        served = _start(database_url, log, wanted, key, held)
        try:
            yield served
        finally:
            _stop(served.process)


def require_free(wanted: int | None) -> None:
    """Raises `DemoError` for a port that is in use, or that another demo is about to use."""
    with holding(wanted or 0):
        pass


@contextmanager
def holding(port: int) -> Iterator[int]:
    """A port that no other demo can have meanwhile; for 0, any. Raises `DemoError` for one in use.

    Servers share a port without a word where both found it free and then listened. So the UDP port of the
    same number, which nobody shares, is taken first: whoever has that has the port.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as held:
        try:
            number = _bound(port)
            held.bind((HOST, number))
            _bound(number)
        except OSError as error:
            raise DemoError(
                f"Cannot listen on {HOST}:{port}: {error.strerror}. Name another --port, or leave it out."
            ) from error
        yield number


def _start(database_url: str, log: Path, wanted: int | None, key: str, held: ExitStack) -> Served:
    if wanted is None:
        try:
            return _started(database_url, log, held.enter_context(holding(USUAL_PORT)), key)
        except DemoError:
            # In use, or taken by another a moment before this service was up: any other will do.
            wanted = 0
    return _started(database_url, log, held.enter_context(holding(wanted)), key)


def _bound(port: int) -> int:
    """A port that can be listened on now; for 0, any."""
    with socket.socket() as probe:
        if os.name == "posix":
            # As a server does: a port that was in use a moment ago counts as free.
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind((HOST, port))
        found: int = probe.getsockname()[1]
        return found


def _started(database_url: str, log: Path, port: int, key: str) -> Served:
    command = [sys.executable, "-m", "gradewright.cli", "serve", "--host", HOST, "--port", str(port)]
    environment = os.environ | {"GRADEWRIGHT_DATABASE_URL": database_url}
    with log.open("ab") as output:
        # A session of its own: Ctrl-C is for the demo, which then stops the service in its turn.
        process = subprocess.Popen(  # noqa: S603 - this interpreter, this package
            command,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
    served = Served(f"http://{HOST}:{port}", port, process)
    try:
        _wait_until_ready(served, log)
        _require_ours(served, key)
    except BaseException:
        _stop(process)
        raise
    return served


def _wait_until_ready(served: Served, log: Path) -> None:
    until = time.monotonic() + READY_WITHIN
    with httpx.Client(base_url=served.url, trust_env=False) as client:
        while time.monotonic() < until:
            if served.process.poll() is not None:
                told = log.read_text(encoding="utf-8", errors="replace").strip().splitlines()[-1:]
                raise DemoError(f"The service did not start: {''.join(told) or 'it says nothing'}")
            try:
                if client.get("/readyz").is_success:
                    return
            except httpx.TransportError:
                pass  # it does not listen yet
            time.sleep(LOOK_EVERY)
    raise DemoError(f"The service was not ready within {READY_WITHIN:g} seconds. Its log: {log}")


def _require_ours(served: Served, key: str) -> None:
    """Two servers that start at once can come to share a port: then another database answers at times."""
    for _ in range(CONNECTIONS):
        answer = httpx.post(
            f"{served.url}/v1/postings",
            json={},  # says nothing, so nothing is stored: a key that is known is told what is missing
            headers={"Authorization": f"Bearer {key}"},
            trust_env=False,
        )
        if answer.status_code != httpx.codes.UNPROCESSABLE_ENTITY:
            raise DemoError(f"Another service answers at {served.url} too. Name another --port.")


def _stop(process: Process) -> None:
    process.terminate()
    try:
        process.wait(STOPPED_WITHIN)
    except subprocess.TimeoutExpired:
        # Its workers go with it: they are in its session.
        if hasattr(os, "killpg"):
            os.killpg(process.pid, signal.SIGKILL)
        else:
            process.kill()
        process.wait()
