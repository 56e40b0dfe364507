"""Standard output and error that stay usable whatever they lead to."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from io import TextIOWrapper
from typing import Any

NOBODY_READS = 141  # what shells make of a program that SIGPIPE ended: 128 + 13


class UntilCut:
    """A text stream that ends the program without a word once nobody reads it any more (`… | head`).

    Python turns SIGPIPE into BrokenPipeError, which both Typer and Rich would end with 1 for.
    """

    def __init__(self, stream: TextIOWrapper) -> None:
        # Characters that a terminal cannot show become question marks, not errors.
        stream.reconfigure(errors="replace")
        self._stream = stream

    def write(self, text: str) -> int:
        with self._ending():
            return self._stream.write(text)

    def flush(self) -> None:
        with self._ending():
            self._stream.flush()

    @contextmanager
    def _ending(self) -> Iterator[None]:
        try:
            yield
        except BrokenPipeError:
            # What is left in the buffer goes nowhere, or Python would complain of it at its own end.
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, self._stream.fileno())
            os.close(nowhere)
            raise SystemExit(NOBODY_READS) from None

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)
