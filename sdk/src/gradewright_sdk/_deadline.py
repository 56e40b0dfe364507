"""What holds one try of the sync client to its deadline.

httpx bounds each wait for the network, not their sum: an answer that comes in pieces could take as long as it
likes. A `Watch` gives every phase of a try only what is left of its time, and shuts the connection when that
is over, so that a wait in the middle of a phase ends too.
"""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Callable, Mapping
from types import TracebackType
from typing import Any, Self

import httpx

CONNECT_WITHIN = 5.0
LEAST = 0.001  # seconds; httpx takes 0 for "do not wait at all"
CONNECTED = ("connect_tcp.complete", "connect_unix_socket.complete", "start_tls.complete")


def timeouts(seconds: float) -> dict[str, float]:
    """What httpx may wait for at a time where so much is left."""
    left = max(seconds, LEAST)
    return {"connect": min(left, CONNECT_WITHIN), "read": left, "write": left, "pool": left}


class Watch:
    """The time of one try, until `ends` on the clock; a context in which the request is sent and read.

    What it cannot bound is left to the system: looking up a name, and the lines of a head that trickle in
    over a connection that was used before.
    """

    __slots__ = ("_clock", "_ends", "_lock", "_socket", "_timeouts", "_timer", "over")

    def __init__(self, ends: float, clock: Callable[[], float]) -> None:
        self.over = False
        self._ends = ends
        self._clock = clock
        self._timeouts = timeouts(ends - clock())
        self._lock = threading.Lock()
        self._socket: socket.socket | None = None
        self._timer: threading.Timer | None = None

    @property
    def extensions(self) -> dict[str, Any]:
        """For the request: the timeouts, which httpx looks up as each phase begins, and who hears of that."""
        return {"timeout": self._timeouts, "trace": self._trace}

    def guard(self, response: httpx.Response) -> None:
        """Have the connection shut at the deadline if more of the answer is to come, and it serves no others.

        For after the first piece: until then the timeouts do, and most answers are whole by then.
        """
        length = response.headers.get("content-length", "")
        whole = length.isascii() and length.isdigit() and response.num_bytes_downloaded >= int(length)
        if self._timer is None and not whole and response.http_version.startswith("HTTP/1"):
            self._hold(response.extensions.get("network_stream"))

    def _trace(self, event: str, info: Mapping[str, Any]) -> None:
        if event.startswith("http2."):
            self._let_go()
        elif event.endswith(CONNECTED):
            self._hold(info.get("return_value"))
        if event.endswith(".started"):
            self._timeouts |= timeouts(self._ends - self._clock())

    def _hold(self, stream: Any) -> None:
        found = stream.get_extra_info("socket") if stream is not None else None
        if not isinstance(found, socket.socket):
            return
        with self._lock:
            self._socket = found
        if self.over:
            self._shut()
        elif self._timer is None:
            self._timer = threading.Timer(max(self._ends - self._clock(), 0.0), self._shut)
            self._timer.daemon = True
            self._timer.start()

    def _shut(self) -> None:
        self.over = True
        with self._lock, contextlib.suppress(OSError):
            if self._socket is not None:
                # The plain one: that of a TLS socket takes it apart under whoever waits on it.
                socket.socket.shutdown(self._socket, socket.SHUT_RDWR)

    def _let_go(self) -> None:
        with self._lock:
            self._socket = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._timer is not None:
            self._timer.cancel()
        self._let_go()
