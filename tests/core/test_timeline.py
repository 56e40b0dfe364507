"""Which version is in force on a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from gradewright.core.timeline import in_force


@dataclass(frozen=True, slots=True)
class Version:
    effective_from: date
    name: str = ""


FIRST, SECOND = Version(date(2014, 7, 30), "2014"), Version(date(2018, 2, 1), "2018")
DAYS = st.dates(date(1990, 1, 1), date(2060, 12, 31))


def test_a_version_holds_from_its_first_day() -> None:
    """On its own day a version is in force; the day before, the older one still is."""
    assert in_force([FIRST, SECOND], date(2018, 2, 1)) is SECOND
    assert in_force([FIRST, SECOND], date(2018, 1, 31)) is FIRST


def test_before_the_first_there_is_none() -> None:
    """Before the first day of the first version, and without versions, nothing is in force."""
    assert in_force([FIRST, SECOND], date(2014, 7, 29)) is None
    assert in_force([], date(2018, 2, 1)) is None


def test_the_later_of_two_that_begin_together_holds() -> None:
    """A version that begins on the same day as one before it in the sequence takes its place."""
    again = Version(SECOND.effective_from, "2018, corrected")
    assert in_force([SECOND, again], date(2020, 1, 1)) is again


@given(st.lists(DAYS, unique=True), DAYS, st.randoms())
def test_the_newest_begun_holds_in_any_order(days: list[date], on: date, random: object) -> None:
    """Whatever the order, the version in force is the newest that has begun."""
    random.shuffle(days)  # type: ignore[attr-defined]
    begun = [day for day in days if day <= on]
    found = in_force([Version(day) for day in days], on)
    assert (found.effective_from if found else None) == max(begun, default=None)


@given(st.lists(DAYS, min_size=1), DAYS)
def test_a_version_stays_until_the_next_begins(days: list[date], on: date) -> None:
    """From one day to the next the version changes only when another begins on that next day."""
    versions = [Version(day) for day in days]
    after = on + timedelta(days=1)
    if after not in days:
        assert in_force(versions, on) == in_force(versions, after)
