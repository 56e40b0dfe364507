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


def stacked(title: Text, heads: Sequence[str], entries: Sequence[Entry]) -> Iterator[RenderableType]:
    """The title with the heads of the figures, then the entries; the figures stand under each other."""
    widths = [
        max(len(head), *(entry.figures[n].cell_len for entry in entries)) if entries else len(head)
        for n, head in enumerate(heads)
    ]
    yield _line(title, [say(head, "bold") for head in heads], widths)
    for entry in entries:
        yield _line(entry.name, entry.figures, widths)
        if entry.below is not None:
            yield Padding(entry.below, (0, 0, 0, 2))


def _line(name: Text, figures: Sequence[Text], widths: Sequence[int]) -> Table:
    right = Text()
    for figure, width in zip(figures, widths, strict=True):
        right.append(" " * (2 + width - figure.cell_len)).append_text(figure)
    line = Table.grid(expand=True)
    line.add_column(ratio=1, overflow="fold")
    line.add_column(no_wrap=True)
    line.add_row(name, right)
    return line


def hanging(lines: Iterable[tuple[object, object]], gap: int = 1) -> Table:
    """Lines that begin with a mark, a number or a name; what wraps stays to the right of it."""
    table = Table.grid(padding=(0, gap, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    for mark, text in lines:
        table.add_row(say(mark), say(text))
    return table
