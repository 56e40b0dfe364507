"""The operator's `serve` as a process: until when it does not answer, and what it takes of the machine."""

from __future__ import annotations

import http.client
import os
import socket
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psutil

from tests.bench.load import ROOT

GIVE_UP = 30.0
MEBIBYTE = 1024  # the system tells KiB
MEMORY = ("status", "smaps_rollup")


class Service:
    """A service that was just started; `started` is the instant of the command."""

    def __init__(self, port: int, process: subprocess.Popen[bytes], started: float) -> None:
        self.port = port
        self.process = process
        self.started = started

    @property
    def url(self) -> str:
        """Where it listens."""
        return f"http://127.0.0.1:{self.port}"

    def passed(self) -> float:
        """Seconds since the command."""
        return time.perf_counter() - self.started

    def until_ready(self) -> float:
        """Seconds from the command to the first 200 of /readyz, asked for all the time."""
        while self.passed() < GIVE_UP:
            try:
                if self.send("GET", "/readyz")[0] == 200:
                    return self.passed()
            except OSError:
                time.sleep(0.005)  # it does not listen yet
        raise TimeoutError(f"not ready after {self.passed():.0f} s")

    def send(self, method: str, path: str, body: bytes | None = None) -> tuple[int, bytes]:
        """One request on a connection of its own: status and body of the answer."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=GIVE_UP)
        try:
            connection.request(method, path, body, {"Content-Type": "application/json"})
            response = connection.getresponse()
            return response.status, response.read()
        finally:
            connection.close()


@contextmanager
def served(database_url: str) -> Iterator[Service]:
    """`gradewright serve` over a database, on a free port; stopped when the block ends."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "gradewright.cli", "serve", "--port", str(port)]
    environment = os.environ | {"GRADEWRIGHT_DATABASE_URL": database_url}
    started = time.perf_counter()
    process = subprocess.Popen(
        command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        yield Service(port, process, started)
    finally:
        process.terminate()
        process.wait(timeout=10)


def resident(pid: int) -> dict[str, int]:
    """MiB of a process and all its children: with what several share counted once (Pss), and each counted
    whole, now (VmRSS) and at most ever (VmHWM)."""
    root = psutil.Process(pid)
    found = {"Pss": 0, "VmRSS": 0, "VmHWM": 0}
    for process in (root, *root.children(recursive=True)):
        told = [Path(f"/proc/{process.pid}/{file}").read_text(encoding="ascii") for file in MEMORY]
        for line in "".join(told).splitlines():
            name, _, value = line.partition(":")
            if name in found:
                found[name] += int(value.split()[0])
    return {name: kib // MEBIBYTE for name, kib in found.items()}


def imports(module: str, most: int) -> str:
    """How long importing a module takes, and which packages it spends that on, each without the others."""
    command = [sys.executable, "-X", "importtime", "-c", f"import {module}"]
    said = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stderr
    spent: Counter[str] = Counter()
    for line in said.splitlines()[1:]:
        own, _, name = line.removeprefix("import time:").split("|")
        spent[name.strip().partition(".")[0]] += int(own)
    packages = ", ".join(f"{name} {own / 1000:.0f}" for name, own in spent.most_common(most))
    return f"{spent.total() / 1000:.0f} ms ({packages})"
