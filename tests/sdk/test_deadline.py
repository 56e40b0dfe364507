"""The deadline of a call over a real connection, whatever the service does with the time."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import httpx
import pytest

import gradewright_sdk as gw
from gradewright_sdk import AsyncClient, Client

SECONDS = 0.8
PATIENCE = 1.5 * SECONDS  # how long a slow service goes on before it sees that nobody has hung up
EMPTY = b'{"regions":[]}'
HEAD = b"HTTP/1.1 200 OK\r\ncontent-type: application/json\r\ncontent-length: %d\r\n\r\n"
Answer = Callable[["Service", socket.socket], object]


@dataclass
class Service:
    """Answers the requests on each connection one after the other, every time from the first again.

    `outlasted` is set once a slow answer has gone on for longer than a call may take.
    """

    answers: tuple[Answer, ...]
    stopped: threading.Event = field(default_factory=threading.Event)
    outlasted: threading.Event = field(default_factory=threading.Event)

    def talk(self, connection: socket.socket) -> None:
        with connection, contextlib.suppress(OSError):  # whoever asked may have gone
            for answer in self.answers:
                if not connection.recv(65536):
                    return
                answer(self, connection)

    def listen(self, listener: socket.socket) -> None:
        with contextlib.suppress(OSError):  # closed at the end of the test
            while True:
                connection, _ = listener.accept()
                threading.Thread(target=self.talk, args=(connection,), daemon=True).start()

    def say(self, connection: socket.socket, words: Iterable[tuple[float, bytes]]) -> None:
        """Send each of the words after so many deadlines of waiting, then nothing any more."""
        began = time.monotonic()
        for part, word in words:
            self.stopped.wait(part * SECONDS)
            if time.monotonic() - began > PATIENCE or self.stopped.is_set():
                break
            connection.sendall(word)
        if not self.stopped.wait(began + PATIENCE - time.monotonic()):
            self.outlasted.set()
            self.stopped.wait(10)


@contextmanager
def service(*answers: Answer) -> Iterator[tuple[str, Service]]:
    found = Service(answers)
    with socket.create_server(("127.0.0.1", 0)) as listener:
        threading.Thread(target=found.listen, args=(listener,), daemon=True).start()
        try:
            yield f"http://127.0.0.1:{listener.getsockname()[1]}", found
        finally:
            found.stopped.set()
            listener.shutdown(socket.SHUT_RDWR)


def soon(service: Service, connection: socket.socket) -> None:
    connection.sendall(HEAD % len(EMPTY) + EMPTY)


def head_late(service: Service, connection: socket.socket) -> None:
    service.say(connection, [(0.9, HEAD % 1000 + b"{")])


def drip(service: Service, connection: socket.socket) -> None:
    service.say(connection, [(0, HEAD % 1000), *[(0.05, b" ")] * 100])


def drip_then_nothing(service: Service, connection: socket.socket) -> None:
    service.say(connection, [(0, HEAD % 1000), *[(0.09, b" ")] * 10])


def without_length(service: Service, connection: socket.socket) -> None:
    head = b"HTTP/1.1 200 OK\r\ncontent-type: application/json\r\n\r\n"
    service.say(connection, [(0, head), (0.5, EMPTY)])


def head_drip(service: Service, connection: socket.socket) -> None:
    service.say(connection, [(0, b"HTTP/1.1 200 OK\r\n"), *[(0.05, b"x-a: b\r\n")] * 100])


SLOW = [head_late, drip, drip_then_nothing, without_length, head_drip]


def name_of(answer: Answer) -> str:
    return getattr(answer, "__name__", "answer")


@pytest.mark.parametrize("answer", SLOW, ids=name_of)
def test_sync_call_ends_at_its_deadline(answer: Answer) -> None:
    """However slowly a service answers, the call is over before the service has outlasted its deadline."""
    with service(answer) as (url, slow), Client(url, timeout=SECONDS) as client:
        with pytest.raises(gw.TimedOut):
            client.regions.list()
        assert not slow.outlasted.is_set()


@pytest.mark.parametrize("answer", SLOW, ids=name_of)
async def test_async_call_ends_at_its_deadline(answer: Answer) -> None:
    """The same of the async client."""
    with service(answer) as (url, slow):
        async with AsyncClient(url, timeout=SECONDS) as client:
            with pytest.raises(gw.TimedOut):
                await client.regions.list()
        assert not slow.outlasted.is_set()


@pytest.mark.parametrize("answer", SLOW[:-1], ids=name_of)
def test_second_call_on_a_connection_ends_at_its_deadline(answer: Answer) -> None:
    """The deadline holds on a connection that was used before, and does not reach into the call after it."""
    with service(soon, answer) as (url, slow), Client(url, timeout=SECONDS) as client:
        assert client.regions.list() == ()
        with pytest.raises(gw.TimedOut):
            client.regions.list()
        assert not slow.outlasted.is_set()
        assert client.regions.list() == ()


def test_own_http_client_ends_at_the_deadline() -> None:
    """The deadline holds with an http client of the caller's own, which stays usable."""
    with httpx.Client() as own:
        for answer in (drip_then_nothing, head_late):
            with service(answer) as (url, slow):
                with pytest.raises(gw.TimedOut):
                    Client(url, timeout=SECONDS, http_client=own).regions.list()
                assert not slow.outlasted.is_set()


def test_connections_outlive_the_deadline() -> None:
    """Calls in time leave their connection open for the next one, and nothing cuts it afterwards."""
    with service(soon, soon, head_late) as (url, _), Client(url, timeout=SECONDS) as client:
        client.regions.list()
        time.sleep(SECONDS)
        assert client.regions.list() == ()
        with pytest.raises(gw.TimedOut):  # the third answer: still the first connection
            client.regions.list()
