"""The service in a process of its own, as `gradewright serve` runs it, for as long as the demo needs it."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import httpx

from gradewright.demo.errors import DemoError

HOST = "127.0.0.1"
USUAL_PORT = 8000  # where the client looks when it is not told where
READY_WITHIN = 20.0
STOPPED_WITHIN = 10.0
LOOK_EVERY = 0.03
Process = subprocess.Popen[bytes]


@dataclass(frozen=True, slots=True)
class Served:
    """A service that answers: its address, and its process."""

    url: str
    port: int
    process: Process


@contextmanager
def serving(database_url: str, log: Path, port: int) -> Iterator[Served]:
    """Serves a database on a port of this machine, and stops when the block ends."""
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
        try:
            served = Served(f"http://{HOST}:{port}", port, process)
            _wait_until_ready(served, log)
            yield served
        finally:
            _stop(process)


def free_port(wanted: int | None) -> int:
    """`wanted`, or where None the usual port if it is free, else any; `DemoError` for a wanted one in use."""
    try:
        return _bound(USUAL_PORT if wanted is None else wanted)
    except OSError as error:
        if wanted is None:
            return _bound(0)
        raise DemoError(
            f"Cannot listen on {HOST}:{wanted}: {error.strerror}. Name another --port, or leave it out."
        ) from error


def _bound(port: int) -> int:
    """A port that can be listened on now; for 0, any."""
    with socket.socket() as probe:
        if os.name == "posix":
            # As a server does: a port that was in use a moment ago counts as free.
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind((HOST, port))
        found: int = probe.getsockname()[1]
        return found


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
