"""How lists are laid out: a name with its figures, and what is to be said of it across the whole width
below.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.measure import Measurement
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from gradewright_sdk.cli._show import say

GAP = "  "
IN = 4
ROOMY = 42
"""Figures that take no more than so many columns leave room for names on a terminal of 80."""
MOST = 80
"""Where all are too wide, the widths are those of so many percent of the entries, the shortest ones."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A name, its figures from left to right, and what is told of it in the line below, if anything."""

    name: Text
    figures: Sequence[Text]
    below: Text | None = None


@dataclass(frozen=True, slots=True)
class Unbroken:
    """Figures and names in a line, that breaks between them only, and is set in then; what does not fit into
    a line by itself is broken like any text.
    """

    pieces: Sequence[Text]

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The lines of so many columns."""
        line, *rest = [piece.copy() for piece in self.pieces]
        for piece in rest:
            if line.cell_len + len(GAP) + piece.cell_len > options.max_width:
                yield line
                line = Text(GAP)
            else:
                line.append(GAP)
            line.append_text(piece)
        yield line

    def __rich_measure__(self, console: Console, options: ConsoleOptions) -> Measurement:
        """From the longest piece to all of them in a line."""
        widths = [piece.cell_len for piece in self.pieces]
        return Measurement(max(widths), sum(widths) + len(GAP) * (len(widths) - 1))


@dataclass(frozen=True, slots=True)
class SetIn:
    """Text whose lines after the first are set in: a name that wraps is one name."""

    text: Text

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The lines of so many columns."""
        if self.text.cell_len <= options.max_width:
            yield self.text
            return
        room = max(options.max_width - IN, 1)
        first, *rest = self.text.wrap(console, room, overflow="fold")
        yield first
        for line in rest:
            yield Text(" " * min(IN, options.max_width - 1)).append_text(line)

    def __rich_measure__(self, console: Console, options: ConsoleOptions) -> Measurement:
        """As of the text itself."""
        return Measurement.get(console, options, self.text)


def stacked(title: Text, heads: Sequence[str], entries: Sequence[Entry]) -> Iterator[RenderableType]:
    """The title with the heads of the figures, then the entries; the figures stand under each other.

    Where a few have figures much wider than the others', theirs stand below their names instead.
    """
    widths = _widths(heads, [entry.figures for entry in entries])
    yield _line(title, [say(head, "bold") for head in heads], widths)
    for entry in entries:
        wide = [figure.cell_len > width for figure, width in zip(entry.figures, widths, strict=True)]
        if any(wide):
            yield SetIn(entry.name)
            yield Padding(Text(GAP).join(entry.figures), (0, 0, 0, IN))
        else:
            yield _line(entry.name, entry.figures, widths)
        if entry.below is not None:
            yield Padding(entry.below, (0, 0, 0, 2))


def _widths(heads: Sequence[str], rows: Sequence[Sequence[Text]]) -> list[int]:
    """How wide the columns of figures are: as the widest of each, or of most where that is too wide."""
    narrow_first = sorted(rows, key=lambda row: sum(figure.cell_len for figure in row))
    for most in (rows, narrow_first[: -(-len(rows) * MOST // 100)]):
        widths = [max(len(head), *(row[n].cell_len for row in most), 0) for n, head in enumerate(heads)]
        if sum(widths) + len(GAP) * len(widths) <= ROOMY:
            break
    return widths


def _line(name: Text, figures: Sequence[Text], widths: Sequence[int]) -> Table:
    right = Text()
    for figure, width in zip(figures, widths, strict=True):
        right.append(" " * (2 + width - figure.cell_len)).append_text(figure)
    line = Table.grid(expand=True)
    line.add_column(ratio=1, overflow="fold")
    line.add_column(no_wrap=True)
    line.add_row(SetIn(name), right)
    return line


def hanging(lines: Iterable[tuple[object, object]], gap: int = 1) -> Table:
    """Lines that begin with a mark, a number or a name; what wraps stays to the right of it."""
    table = Table.grid(padding=(0, gap, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    for mark, text in lines:
        table.add_row(say(mark), say(text))
    return table
