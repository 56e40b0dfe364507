"""Which days are named below a chart, and how: few enough to be read on a phone."""

from __future__ import annotations

from datetime import date

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MOST_DAYS, MOST_MONTHS = 4, 5
DAY_STEPS = (1, 2, 7, 14)
MONTH_STEPS = (1, 2, 3, 6, 12, 24, 36, 60, 120, 240, 600, 1200, 2400, 6000)
LONGEST_IN_DAYS = 62


def named_days(first: date, last: date) -> list[tuple[date, str]]:
    """Some days from the first to the last, each with its name; a year is told once, where it begins."""
    days = _by_days(first, last) if (last - first).days <= LONGEST_IN_DAYS else _by_months(first, last)
    in_days = any(day.day != 1 for day in days)
    named: list[tuple[date, str]] = []
    for number, day in enumerate(days):
        short = f"{day.day} {MONTHS[day.month - 1]}" if in_days else MONTHS[day.month - 1]
        new_year = number == 0 or day.year != days[number - 1].year
        named.append((day, f"{short}\n{day.year}" if new_year else short))
    return named


def spelt(day: date) -> str:
    """A day in words, such as 4 May 2026."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _by_days(first: date, last: date) -> list[date]:
    """Counted back from the last day, which is always named."""
    span = (last - first).days
    step = next((step for step in DAY_STEPS if span // step < MOST_DAYS), DAY_STEPS[-1])
    found = range(last.toordinal(), first.toordinal() - 1, -step)
    return [date.fromordinal(day) for day in found][::-1]


def _by_months(first: date, last: date) -> list[date]:
    """The first days of months, all as far apart."""
    begin, end = first.year * 12 + first.month - 1, last.year * 12 + last.month - 1
    begin += first.day > 1
    for step in MONTH_STEPS:
        months = range(-(-begin // step) * step, end + 1, step)
        if len(months) <= MOST_MONTHS:
            break
    return [date(month // 12, month % 12 + 1, 1) for month in months]
