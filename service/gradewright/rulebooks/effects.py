"""What a place's own limits make of a version."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Lost:
    """Parts that have a grade by the version and no answer in the place: the smallest description of one."""

    grade: str
    part: Mapping[str, str | bool | int]


@dataclass(frozen=True, slots=True)
class Effects:
    """`lost`: what contradicts the version, which has an answer for every part. `notes`: good to know."""

    lost: Sequence[Lost] = ()
    notes: Sequence[str] = ()


def in_words(part: Mapping[str, str | bool | int]) -> str:
    """A description in a sentence, as a document writes it."""
    written = {name: str(value).lower() if isinstance(value, bool) else value for name, value in part.items()}
    return ", ".join(f"{name}: {value}" for name, value in written.items())
