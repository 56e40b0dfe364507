"""Files that people write: their text, their rows, and what is wrong in them, by line."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from urllib.parse import unquote

from gradewright_sdk._exceptions import sentence


@dataclass(frozen=True, slots=True)
class FileFault:
    """One thing wrong in a file: the line (from 1), the column if it is one's, and what to write instead."""

    line: int
    column: str
    says: str
    suggestions: tuple[str, ...] = ()

    def __str__(self) -> str:
        place = f"line {self.line}, {self.column}" if self.column else f"line {self.line}"
        return f"{place}: {sentence(self.says, self.suggestions)}"


class FileFaults(Exception):
    """All the faults of a file."""

    def __init__(self, faults: Sequence[FileFault]) -> None:
        super().__init__(f"{len(faults)} faults")
        self.faults = tuple(sorted(faults, key=lambda fault: fault.line))


def as_text(data: bytes) -> str:
    """UTF-8 text, with or without a byte order mark. Raises FileFaults."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise FileFaults([FileFault(line, "", "this is not UTF-8; save the file as UTF-8 text")]) from error


def csv_rows(text: str, faults: list[FileFault]) -> Iterator[tuple[int, list[str]]]:
    """The rows that are not blank, cells stripped, each with the line it begins on; the first names the
    columns.

    Cells are parted by commas, semicolons or tabs, whichever the first line has most of. A row with more
    cells than there are columns is a fault, one with fewer lacks the last.
    """
    head = text.lstrip().partition("\n")[0]
    delimiter = max(",;\t", key=head.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    width: int | None = None
    begins = 1
    try:
        for row in reader:
            line, begins = begins, reader.line_num + 1
            cells = [cell.strip() for cell in row]
            if not any(cells):
                continue
            if width is not None and any(cells[width:]):
                says = f"{len(row)} cells under {width} columns; a {delimiter!r} inside a value needs quotes"
                faults.append(FileFault(line, "", says))
                continue
            width = width or len(cells)
            yield line, cells[:width]
    except csv.Error as error:
        faults.append(FileFault(begins, "", f"this cannot be read as CSV ({error})"))


def column_name(cell: str) -> str:
    """A column's name however it is capitalised, with blanks or hyphens for underscores."""
    return cell.casefold().replace(" ", "_").replace("-", "_")


def pointer_steps(pointer: str | None) -> list[str]:
    """The steps of a JSON pointer in a URI fragment (RFC 6901): "#/parts/3/weight" -> #, parts, 3, weight."""
    return [unquote(step).replace("~1", "/").replace("~0", "~") for step in (pointer or "").split("/")]
