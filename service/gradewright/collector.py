"""Memory: the collector of cycles, which looks less often while a large answer is worked out, and not at what
stays; and the C library, which keeps few heaps and gives back what is free after a work that took much.

A large answer is made of some hundred thousand values that stay until it is told, none of them in a cycle. By
default they are looked through again and again, with rulebooks and price lists, which took two fifths of the
time. It does look now and then, so that answers that overlap for ever leave nothing uncollected; and what
else is asked for is collected as always, since seldom looking costs memory.
"""

from __future__ import annotations

import ctypes
import gc
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock

ARENA_MAX = -8  # as <malloc.h> numbers it
SELDOM = (200_000, 20, 10)
_lock = Lock()
_before: list[tuple[int, int, int]] = []


@contextmanager
def seldom() -> Iterator[None]:
    """Has it look less often until the last who asked for that, in whichever thread, is done."""
    with _lock:
        _before.append(gc.get_threshold())
        gc.set_threshold(*SELDOM)
    try:
        yield
    finally:
        with _lock:
            first = _before[0]
            _before.pop()
            if not _before:
                gc.set_threshold(*first)


def stays() -> None:
    """Has it leave out all that there is by now: modules and rulebooks, which stay while the service does.
    A look at all of them takes a tenth of a second, in which nothing is answered.
    """
    gc.freeze()


def few_heaps() -> None:
    """Has the C library keep two heaps, where it can.

    As it is each thread has one of its own, and what is free in that is of no use to others.
    """
    choose = _of_the_c_library("mallopt")
    if choose is not None:
        choose(ARENA_MAX, 2)


@contextmanager
def gives_back() -> Iterator[None]:
    """In the end hands what is free back to the system, where the C library can do that: the solver leaves
    some thirty MiB. It takes some milliseconds.
    """
    try:
        yield
    finally:
        trim = _of_the_c_library("malloc_trim")
        if trim is not None:
            trim(0)


def _of_the_c_library(name: str) -> Callable[..., int] | None:
    """A function that GNU's has, and not every other."""
    library = ctypes.CDLL(None) if os.name == "posix" else None
    return getattr(library, name, None)
