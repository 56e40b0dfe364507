"""Days of the calendar: which version of something is in force on one, and counting back from one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Protocol, TypeVar


class Dated(Protocol):
    """Something that holds from a day on, until a newer version of it does."""

    @property
    def effective_from(self) -> date: ...


T = TypeVar("T", bound=Dated)


def days_before(day: date, days: int) -> date:
    """Return the day so many days before `day`; the calendar's first where there is none so early."""
    return date.fromordinal(max(1, day.toordinal() - days))


def in_force(versions: Sequence[T], on: date) -> T | None:
    """Return the version with the newest `effective_from` on or before the day `on`; None before the first.

    `versions` may come in any order; of two that begin on the same day the later in the sequence holds.
    """
    found: T | None = None
    for version in versions:
        begins = version.effective_from
        if begins <= on and (found is None or begins >= found.effective_from):
            found = version
    return found
