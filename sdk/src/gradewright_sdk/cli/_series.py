"""The history of a price for people: from where there are prices, a line of bars and a table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
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
ROOMY = 1000
LEAST = 4  # columns: the day and its amounts


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
        _print_table(console, points, at_yard=found.yard is not None)
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


def _print_table(console: Console, points: Sequence[Point], *, at_yard: bool) -> None:
    """The table; where it is too wide its last columns are left out, rather than cutting figures short."""
    columns = _columns(points, at_yard=at_yard)
    titles = list(columns)
    roomy = console.options.update_width(ROOMY)
    while len(columns) > LEAST and console.measure(_table(columns), options=roomy).minimum > console.width:
        columns.popitem()
    console.print(_table(columns))
    if len(columns) < len(titles):
        left_out = " and ".join(titles[len(columns) :])
        console.print(say(f"Without {left_out}, for which a wider terminal is needed.", "dim"))


def _table(columns: Mapping[str, Sequence[str | Text]]) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    for title in columns:
        # The figures are as wide as each other already; only a longer title has to go to the right.
        head = Text(title, justify="right" if title in AMOUNTS else "left")
        table.add_column(head, no_wrap=title != "Day")
    for row in zip(*columns.values(), strict=True):
        table.add_row(*row)
    return table


def _columns(points: Sequence[Point], *, at_yard: bool) -> dict[str, Sequence[str | Text]]:
    """The cells of each column, from left to right."""
    rows = list(_rows(points))
    shown = [point for _, point in rows]
    return {
        "Day": [day for day, _ in rows],
        "Low": rates([point.low for point in shown]),
        "Likely": rates([point.likely for point in shown]),
        "High": rates([point.high for point in shown]),
        "Prices" if at_yard else "Yards": [_behind(point, at_yard=at_yard) for point in shown],
        "Newest": [say(point.newest or "-") for point in shown],
    }


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
