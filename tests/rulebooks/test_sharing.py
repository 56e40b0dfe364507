"""Whose turn it is of several threads that share one processor."""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, field

from gradewright.rulebooks.sharing import Sharing


@dataclass(eq=False)
class Piece:
    """Some work that writes down its name for each of its steps, and is done when it is told."""

    name: str
    order: list[str]
    first: bool = False
    waits: threading.Event = field(default_factory=threading.Event)
    done: threading.Event = field(default_factory=threading.Event)

    def begin(self, sharing: Sharing) -> threading.Thread:
        """Begins it in a thread of its own, and sees it wait or go on."""
        going = threading.Event()

        def work() -> None:
            with sharing.with_(self):
                while sharing.go_on(self, self.waits.set):
                    going.set()
                    if self.order[-1:] != [self.name]:
                        self.order.append(self.name)
                    if self.done.wait(0.001):
                        return

        thread = threading.Thread(target=work)
        thread.start()
        until = time.monotonic() + 20
        while not (going.is_set() or self.waits.is_set()):
            assert time.monotonic() < until
            time.sleep(0.001)
        return thread


def test_what_is_first_has_the_next_turn_whoever_waits() -> None:
    """At once, before one that waited earlier; then the others, the earliest first, each to its end, where
    turns are long."""
    order: list[str] = []
    sharing = Sharing(turn_seconds=1000)
    one, two, mine = Piece("one", order), Piece("two", order), Piece("mine", order, first=True)
    threads = [piece.begin(sharing) for piece in (one, two, mine)]
    for piece in (mine, two, one):
        until = time.monotonic() + 20
        while order[-1:] != [piece.name]:
            assert time.monotonic() < until, order
            time.sleep(0.001)
        piece.done.set()
    for thread in threads:
        thread.join(20)
    assert order == ["one", "mine", "two", "one"]


def test_a_stop_ends_what_goes_on_and_what_waits() -> None:
    """All of it, at its next step."""
    sharing, order = Sharing(turn_seconds=1000), list[str]()
    threads = [Piece(name, order).begin(sharing) for name in ("one", "two")]
    sharing.stop()
    for thread in threads:
        thread.join(20)
        assert not thread.is_alive()
    assert order == ["one"]
