"""Files that people write: their text, their rows, and what is wrong in them, by line."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from urllib.parse import unquote

from gradewright_sdk._exceptions import GradewrightError, sentence
from gradewright_sdk.cli._commas import Commas

DELIMITERS = ",;\t"
TEXTS = frozenset({"name", "label", "grade", "kind", "what", "bin", "bins", "note"})
"""Columns in which a comma is part of a name."""
SEPARATOR = re.compile(r'"?sep=([,;\t])"?[,;\t ]*(?:\r\n|\n|\r|$)', re.IGNORECASE)


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
    """All the faults of a file; `unchecked` is what kept the service from looking at the rest of it."""

    def __init__(self, faults: Sequence[FileFault], unchecked: GradewrightError | None = None) -> None:
        super().__init__(f"{len(faults)} faults")
        self.faults = tuple(sorted(faults, key=lambda fault: fault.line))
        self.unchecked = unchecked


def as_text(data: bytes) -> str:
    """UTF-8 text, with or without a byte order mark. Raises FileFaults."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise FileFaults([FileFault(line, "", "this is not UTF-8; save the file as UTF-8 text")]) from error


def csv_rows(text: str, faults: list[FileFault]) -> Iterator[tuple[int, list[str]]]:
    """The rows that are not blank, cells stripped, each with the line it begins on; the first names the
    columns. Where cells are not parted by commas, amounts may have decimal commas (see `_commas`).

    Cells are parted by commas, semicolons or tabs, whichever the first line has most of, or as a line before
    it says (`sep=;`, as spreadsheets write it). Spare columns at the end have neither name nor values. A row
    with more cells than there are columns is a fault, one with fewer lacks the last.
    """
    said, text = _separator(text)
    head = text.lstrip().partition("\n")[0]
    delimiter = said or max(DELIMITERS, key=head.count)
    first = 2 if said else 1
    if delimiter == ",":
        yield from _rows(text, delimiter, first, faults)
        return
    names, *others = [row for _, row in _rows(text, delimiter, first, [])] or [[]]
    amounts = [n for n, name in enumerate(map(column_name, names)) if name not in TEXTS]
    commas = Commas.of(row[n] for row in others for n in amounts if n < len(row))
    for number, (line, row) in enumerate(_rows(text, delimiter, first, faults)):
        for n in amounts if number else ():
            if n < len(row):
                if says := commas.doubt(row[n]):
                    faults.append(FileFault(line, column_name(names[n]), says))
                row[n] = commas.with_point(row[n])
        yield line, row


def _rows(text: str, delimiter: str, first: int, faults: list[FileFault]) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    width = spare = 0
    begins = first
    try:
        for row in reader:
            line, begins = begins, reader.line_num + first
            cells = [cell.strip() for cell in row]
            if not any(cells):
                continue
            if not width:
                spare = len(cells)
                width = max(number for number, cell in enumerate(cells, start=1) if cell)
            strange = next((n for n, cell in enumerate(cells) if n >= width and cell), None)
            if strange is not None:
                faults.append(FileFault(line, "", _beyond(cells, strange, width, spare, delimiter)))
                continue
            yield line, cells[:width]
    except csv.Error as error:
        faults.append(FileFault(begins, "", f"this cannot be read as CSV ({error})"))


def _separator(text: str) -> tuple[str, str]:
    """The delimiter that a first line of its own names, "" if there is none, and the text after that line."""
    match = SEPARATOR.match(text)
    return (match[1], text[match.end() :]) if match else ("", text)


def _beyond(cells: Sequence[str], strange: int, width: int, spare: int, delimiter: str) -> str:
    if strange < spare:
        return f"{cells[strange]!r} stands in column {strange + 1}, which has no name in the first line"
    return f"{len(cells)} cells under {width} columns; a {delimiter!r} inside a value needs quotes"


def column_name(cell: str) -> str:
    """A column's name however it is capitalised, with blanks or hyphens for underscores."""
    return cell.casefold().replace(" ", "_").replace("-", "_")


def without_name(says: str, name: str) -> str:
    """What is said of a name that stands before it anyhow, so that it is not named twice."""
    return says.removeprefix(f"{name}: ") if name else says


def at(where: str, steps: Sequence[str]) -> str:
    """A place and, where more steps follow, the last of them: "--bin number 2, weight"."""
    return f"{where}, {steps[-1]}" if steps else where


def pointer_steps(pointer: str | None) -> list[str]:
    """The steps of a JSON pointer in a URI fragment (RFC 6901): "#/parts/3/weight" -> #, parts, 3, weight."""
    return [unquote(step).replace("~1", "/").replace("~0", "~") for step in (pointer or "").split("/")]
