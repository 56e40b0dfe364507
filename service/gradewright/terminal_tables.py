"""Tables on a terminal: words wrap where there is room for fewer, and nothing is ever cut."""

from __future__ import annotations

import os
import textwrap
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from rich.console import Console, ConsoleOptions, RenderResult
from rich.measure import Measurement
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

PADDING = 2
ANY_WIDTH = 10_000


@dataclass(frozen=True, slots=True)
class Slug:
    """A name that breaks after its hyphens alone, where it has to."""

    text: str

    def __rich_measure__(self, console: Console, options: ConsoleOptions) -> Measurement:
        return Measurement(max(map(len, self._lines(1)), default=0), len(self.text))

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        yield Text("\n".join(self._lines(options.max_width)))

    def _lines(self, width: int) -> list[str]:
        return textwrap.wrap(self.text, width, break_long_words=False)


def print_table(
    heads: Sequence[str],
    rows: Iterable[Sequence[str | Slug]],
    *,
    wraps: Collection[str] = (),
    right: Collection[str] = (),
    below: str | None = None,
) -> None:
    """Columns under their heads, of which those in `wraps` give way and those in `right` hold figures. The
    one that is `below` has a line of its own under each row where one line is too short for all.

    As wide as the terminal; wider where what may not be broken takes more, and into a pipe, which has no
    width.
    """
    console, lines = Console(), [[_cell(cell) for cell in row] for row in rows]
    columns = {
        head: _measured(console, [Text(head), *(line[n] for line in lines)]) for n, head in enumerate(heads)
    }
    watched = console.is_terminal or os.environ.get("COLUMNS", "").isdigit()
    whole = console.width if watched else ANY_WIDTH
    hangs = sum(each.maximum + PADDING for each in columns.values()) > whole
    under = heads.index(below) if below is not None and hangs else None
    beside = {head: each for n, (head, each) in enumerate(columns.items()) if n != under}
    widths = _widths(beside, wraps, whole - PADDING * len(beside))
    console.width = max(console.width, sum(widths.values()) + PADDING * len(widths))
    table = _table(widths, right)
    for line in lines:
        if under is not None:
            # What is told below is no cell: the table so far is printed, and goes on without its heads.
            table.add_row(*(cell for n, cell in enumerate(line) if n != under))
            console.print(table)
            console.print(Padding(line[under], (0, 0, 0, 3)))
            table = _table(widths, right, heads=False)
        else:
            table.add_row(*line)
    if under is None:
        console.print(table)


def _table(widths: Mapping[str, int], right: Collection[str], *, heads: bool = True) -> Table:
    table = Table(box=None, show_header=heads)
    for head, width in widths.items():
        table.add_column(head, justify="right" if head in right else "left", width=width)
    return table


def _cell(cell: str | Slug) -> Text | Slug:
    return Text(cell) if isinstance(cell, str) else cell


def _measured(console: Console, cells: Iterable[Text | Slug]) -> Measurement:
    """The width below which something would break that may not, and that which takes one line."""
    wide = console.options.update(width=ANY_WIDTH)
    found = [Measurement.get(console, wide, cell) for cell in cells]
    return Measurement(max(one.minimum for one in found), max(one.maximum for one in found))


def _widths(columns: Mapping[str, Measurement], wraps: Collection[str], room: int) -> dict[str, int]:
    """The widths of the columns: what is left of `room` by those that keep theirs is shared by the others."""
    widths = {head: each.maximum for head, each in columns.items()}
    giving = sorted((head for head in columns if head in wraps), key=lambda head: widths[head])
    left = room - sum(width for head, width in widths.items() if head not in wraps)
    for place, head in enumerate(giving):
        share = left // (len(giving) - place)
        widths[head] = min(columns[head].maximum, max(columns[head].minimum, share))
        left -= widths[head]
    return widths
