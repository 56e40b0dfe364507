"""Lists of one kind of thing: a table, or where a title would be chopped in it, the title below its row."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.console import Console
from rich.table import Table

from gradewright_sdk.cli._layout import Entry, stacked
from gradewright_sdk.cli._show import say

GAP = 2


def print_listed(
    console: Console, titles: Sequence[str], rows: Sequence[Sequence[str]], *, below: bool = False
) -> None:
    """Rows under their titles; with `below` the last column has a line of its own where one is too short."""
    if below and _one_line(titles, rows) > console.width:
        first, *others = titles[:-1]
        entries = [Entry(say(name), [*map(say, cells)], say(last, "dim")) for name, *cells, last in rows]
        for line in stacked(say(first, "bold"), others, entries):
            console.print(line)
        return
    table = Table(box=None, padding=(0, GAP, 0, 0), pad_edge=False)
    for number, title in enumerate(titles):
        # What is copied into other commands stands in the first column: never in two pieces.
        table.add_column(title, overflow="fold", no_wrap=number == 0)
    for row in rows:
        table.add_row(*map(say, row))
    console.print(table)


def _one_line(titles: Sequence[str], rows: Sequence[Sequence[str]]) -> int:
    """How wide a table has to be in which nothing wraps."""
    return sum(max(map(cell_len, column)) + GAP for column in zip(titles, *rows, strict=True)) - GAP
