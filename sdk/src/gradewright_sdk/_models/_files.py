"""Answers that are files."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

from gradewright_sdk._base import Answer
from gradewright_sdk._problems import unexpected


@dataclass(frozen=True, slots=True)
class File:
    """What the service sent as a file, and the revision that it is known at."""

    content: bytes
    known_at: int

    @property
    def text(self) -> str:
        """The same as text."""
        return self.content.decode("utf-8")


F = TypeVar("F", bound=File)


def read_file(kind: type[F], answer: Answer) -> F:
    """An answer that is a file of some `kind`."""
    known_at = answer.headers.get("known-at", "")
    if not (known_at.isascii() and known_at.isdigit()):
        raise unexpected(answer, "it does not say which revision it is known at")
    return kind(answer.content, int(known_at))
