"""The days of a series: counted back from its last one, in steps of a day, a week or a month."""

from __future__ import annotations

from calendar import monthrange
from datetime import date

from gradewright.core.errors import Fault, Refused

MOST_POINTS = 400


def days_between(first: date, last: date, step: str) -> list[date]:
    """The days of a series, ending on the last; `Refused` where there are none, or too many to answer."""
    if first > last:
        detail = f"The series would begin on {first} and end before, on {last}: exchange the two."
        raise Refused(detail, faults=(Fault(detail, ("from",)),))
    days = [last]
    while len(days) <= MOST_POINTS:
        earlier = _earlier(last, step, len(days))
        if earlier is None or earlier < first:
            return days[::-1]
        days.append(earlier)
    detail = f"The series would have more than {MOST_POINTS} points: take a longer step or a later beginning."
    raise Refused(detail, faults=(Fault(detail, ("step",)),))


def _earlier(last: date, step: str, count: int) -> date | None:
    """The day so many steps before; a month without that day gives its last; None before the calendar."""
    if step != "month":
        ordinal = last.toordinal() - count * (7 if step == "week" else 1)
        return date.fromordinal(ordinal) if ordinal > 0 else None
    year, month = divmod(last.year * 12 + last.month - 1 - count, 12)
    return date(year, month + 1, min(last.day, monthrange(year, month + 1)[1])) if year > 0 else None
