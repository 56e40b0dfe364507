"""The history of a price for people: from where there are prices, a line of bars and a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from rich.table import Table
from rich.text import Text

from gradewright_sdk.cli._show import rate, rates, say, sparkline

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import Point, Series

LABEL = 30  # columns for what the bars mean
AMOUNTS = ("Low", "Likely", "High")


def print_series(console: Console, found: Series) -> None:
    """All of it; the days before the first price are told in a line, days without one in a row each run."""
    where = f"at {found.yard}" if found.yard else f"in {found.region}"
    lot = f", for {found.weight}" if found.weight else ""
    console.print(say(f"{found.grade} {where}, {found.currency} per {found.per}{lot}", "bold"))
    first = next((n for n, point in enumerate(found.points) if point.likely is not None), None)
    if first is None:
        console.print(say("No price was known on any of these days.", "yellow"))
    else:
        points = found.points[first:]
        _print_bars(console, points)
        if first:
            since = f"Prices exist from {points[0].on}; the {first} earlier days asked about have none."
            if first == 1:
                since = f"Prices exist from {points[0].on}; the day asked about before it has none."
            console.print(say(since, "dim"))
        console.print(_table(points, at_yard=found.yard is not None))
    console.print(say(f"Known at ledger revision {found.known_at}, by {_rulebooks(found)}.", "dim"))


def _rulebooks(found: Series) -> str:
    """The version of all days, or those of the first and the last."""
    by = list(dict.fromkeys(point.rulebook for point in found.points if point.rulebook)) or [found.rulebook]
    return f"rulebook {by[0]}" if len(by) == 1 else f"rulebooks {by[0]} to {by[-1]}"


def _print_bars(console: Console, points: Sequence[Point]) -> None:
    """The last points that fit in a line, and between which prices the bars go."""
    shown = [point.likely for point in points][-max(console.width - LABEL, 10) :]
    known = [price for price in shown if price is not None]
    if known:
        amounts = [price.amount if price is not None else None for price in shown]
        bars = sparkline(amounts, plain=not console.encoding.startswith("utf"))
        console.print(say(f"{bars}  likely, {rate(min(known))} to {rate(max(known))}"))


def _table(points: Sequence[Point], *, at_yard: bool) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("Day", no_wrap=True)
    for title in AMOUNTS:
        # The figures are as wide as each other already; only a longer title has to go to the right.
        table.add_column(Text(title, justify="right"), no_wrap=True)
    table.add_column("Prices" if at_yard else "Yards", no_wrap=True)
    table.add_column("Newest", no_wrap=True)
    rows = list(_rows(points))
    columns = (
        rates([point.low for _, point in rows]),
        rates([point.likely for _, point in rows]),
        rates([point.high for _, point in rows]),
    )
    for (day, point), low, likely, high in zip(rows, *columns, strict=True):
        table.add_row(day, low, likely, high, _behind(point, at_yard=at_yard), say(point.newest or "-"))
    return table


def _behind(point: Point, *, at_yard: bool) -> Text:
    """How many prices of a yard, or how many yards of a region, of which few are said to be few."""
    if at_yard:
        return say(f"{point.entries:>6}")
    return say(f"{point.yards:>5} only", "yellow") if point.thin else say(f"{point.yards:>5}")


def _rows(points: Sequence[Point]) -> Iterator[tuple[str, Point]]:
    """Each point with a price, and one for each run of points without."""
    for priced, run in groupby(points, lambda point: point.likely is not None):
        found = list(run)
        if priced or len(found) == 1:
            yield from ((str(point.on), point) for point in found)
        else:
            yield f"{found[0].on} to {found[-1].on}", found[-1]
