"""Hearing of the end of the process in time: a server waits for every answer first, also for endless ones."""

from __future__ import annotations

import asyncio
import signal
import threading
from collections.abc import Callable
from types import FrameType
from typing import Any


async def on_signal(end: Callable[[], None]) -> None:
    """Has `end` called in the running loop as soon as the process is told to stop.

    What the server does then it does all the same.

    Not where another thread than the main one serves: signals are not heard there.
    """
    if threading.current_thread() is not threading.main_thread():
        return
    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM):
        before = signal.getsignal(number)

        def ending(told: int, frame: FrameType | None, before: Any = before) -> None:
            loop.call_soon_threadsafe(end)
            if callable(before):  # the server's own, which this one stands before
                before(told, frame)

        signal.signal(number, ending)
