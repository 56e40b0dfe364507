"""A server of its own process and a bounded load on it, over loopback only."""

from __future__ import annotations

import asyncio
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).parents[2]
READY_WITHIN = 20.0


@contextmanager
def serving(factory: str, database_url: str) -> Iterator[tuple[int, int]]:
    """One Granian worker with the application of `factory` over a database: its port and its process id."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    environment = {
        **os.environ,
        "GRADEWRIGHT_DATABASE_URL": database_url,
        "PYTHONPATH": os.pathsep.join(sys.path),
    }
    command = [sys.executable, "-m", "granian", "--interface", "asgi", "--factory", "--host", "127.0.0.1"]
    command += [
        "--port",
        str(port),
        "--workers",
        "1",
        "--loop",
        "asyncio",
        "--no-ws",
        "--log-level",
        "error",
        factory,
    ]
    process = subprocess.Popen(command, cwd=ROOT, env=environment)
    try:
        wait_for(port)
        yield port, process.pid
    finally:
        process.terminate()
        process.wait(timeout=10)


def wait_for(port: int) -> float:
    """Seconds until the port takes connections."""
    started = time.monotonic()
    while time.monotonic() - started < READY_WITHIN:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return time.monotonic() - started
        except OSError:
            time.sleep(0.02)
    raise TimeoutError(f"nothing listens on port {port}")


def post(path: str, body: bytes, *fields: str) -> bytes:
    """The bytes of a request, made once: the load is the server's, not the client's."""
    told = ("Host: 127.0.0.1", "Content-Type: application/json", f"Content-Length: {len(body)}", *fields)
    return "\r\n".join((f"POST {path} HTTP/1.1", *told, "", "")).encode() + body


def get(path: str) -> bytes:
    """The same of a request without a body."""
    return f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n".encode()


async def answer(reader: asyncio.StreamReader) -> tuple[int, bytes]:
    """One answer from a connection that is kept: status and body."""
    head = await reader.readuntil(b"\r\n\r\n")
    status = int(head.split(b" ", 2)[1])
    fields = dict(line.lower().split(b":", 1) for line in head.split(b"\r\n")[1:] if b":" in line)
    return status, await reader.readexactly(int(fields[b"content-length"]))


async def per_second(
    port: int, requests: Sequence[bytes], *, clients: int, seconds: float
) -> tuple[float, bytes]:
    """Answers per second with so many clients at once, and one of the bodies; every answer must be a 200."""
    until = time.perf_counter() + seconds
    counts: list[int] = []
    last = b""

    async def client(first: int) -> None:
        nonlocal last
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        count = 0
        while time.perf_counter() < until:
            writer.write(requests[(first + count) % len(requests)])
            status, last = await answer(reader)
            assert status == 200, last[:500]
            count += 1
        writer.close()
        counts.append(count)

    started = time.perf_counter()
    await asyncio.gather(*(client(number * len(requests) // clients) for number in range(clients)))
    return sum(counts) / (time.perf_counter() - started), last


def processor_seconds(pid: int) -> float:
    """The processor time that a process and its children have taken, whatever else the machine does."""
    import psutil

    process = psutil.Process(pid)
    times = [process.cpu_times(), *(child.cpu_times() for child in process.children(recursive=True))]
    return sum(t.user + t.system for t in times)
