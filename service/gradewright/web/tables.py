"""Tables as files, CSV or JSON Lines: read line by line, and written so that they read back the same.

CSV as spreadsheets write it: with or without a byte order mark, commas, semicolons or tabs, any line ends;
and with decimal commas, where cells are not parted by commas (`web.commas`).
A line is counted as an editor counts it; one with line breaks in quotes has the number that it begins with.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NoReturn

from pydantic_core import ErrorDetails

from gradewright.core.decimals import parse_decimal
from gradewright.core.errors import Fault, GradewrightError, Refused, UnitError
from gradewright.web.commas import Commas
from gradewright.web.wording import detail_of

CSV = "text/csv"
LINES = ("application/x-ndjson", "application/jsonl")
MOST_LINES = 10_000
DELIMITERS = ",;\t"
_SEPARATOR = re.compile(r'"?sep=([,;\t])"?[,;\t ]*(?:\r\n|\n|\r|$)', re.IGNORECASE)


class UnreadableFile(GradewrightError):
    """Not text in UTF-8."""

    slug = "malformed-request"


@dataclass(frozen=True, slots=True)
class Row:
    """What stands in one line: its cells by column, blank ones left out; and what is wrong with the line.
    `unread`: the whole of it cannot be read."""

    line: int
    cells: Mapping[str, str]
    faults: tuple[Fault, ...] = ()
    unread: bool = False

    def lacks(self, *columns: str) -> bool:
        """Whether the line has nothing in any of the columns, not even what cannot be read."""
        there = {*self.cells, *(fault.at[0] for fault in self.faults if fault.at)}
        return not self.unread and there.isdisjoint(columns)

    def fault(self, wrong: ErrorDetails, numbers: Collection[str] = ()) -> Fault:
        """What a model says of a cell, as a fault of the line. Of `numbers` it is said in the words of
        whoever reads numbers: where there is a comma, a currency sign or a letter, and what to write."""
        column = str(wrong["loc"][0])
        says = detail_of(wrong)
        suggestions: tuple[str, ...] = ()
        if wrong["type"] == "missing":
            says = f"the {column} is missing"
        elif column in numbers and column in self.cells:
            try:
                parse_decimal(self.cells[column])
            except UnitError as error:
                says = error.detail
                suggestions = error.faults[0].suggestions if error.faults else ()
        return Fault(says[0].upper() + says[1:].removesuffix(".") + ".", (column,), suggestions, self.line)


@dataclass(frozen=True, slots=True)
class Table:
    """What the files of one kind of table look like.

    `needs`: groups of columns of which one has to be there, each with what is said where none is.
    `example`: a line of JSON Lines. `as_written`: columns whose cells keep the blanks around them. `amounts`:
    those of numbers and of weights. `holds`: what a line is.
    """

    columns: tuple[str, ...]
    needs: tuple[tuple[frozenset[str], str], ...]
    example: str
    holds: str
    as_written: frozenset[str] = frozenset()
    amounts: frozenset[str] = frozenset()

    def read(self, data: bytes, media: str) -> list[Row]:
        """The lines of a file of one of the media types. Raises as `read_csv` does."""
        return self.read_csv(data) if media.lower() == CSV else self.read_lines(data)

    def read_csv(self, data: bytes) -> list[Row]:
        """The lines of a CSV file. Raises `UnreadableFile`, or `Refused` where it cannot be told what its
        lines say; what is wrong with a single line stands in that line."""
        text = _text(data)
        if found := _SEPARATOR.match(text):  # a line of its own, which some spreadsheets write and read
            text = text[found.end() :]
        first = 2 if found else 1
        head = text.lstrip().partition("\n")[0]
        delimiter = found[1] if found else max(DELIMITERS, key=head.count)
        columns: list[str] | None = None
        rows: list[Row] = []
        for line, cells in _records(text, delimiter, first):
            if columns is None:
                columns = self._columns(line, cells)
            else:
                self._room(len(rows), line)
                rows.append(self._row(line, cells, columns, delimiter))
        return self._some(rows if delimiter == "," else self._with_points(rows))

    def read_lines(self, data: bytes) -> list[Row]:
        """The lines of a JSON Lines file. Raises as `read_csv` does."""
        rows: list[Row] = []
        for line, text in enumerate(_text(data).split("\n"), start=1):
            if text.strip():
                self._room(len(rows), line)
                rows.append(self._object(line, text))
        return self._some(rows)

    def write_csv(self, rows: Iterable[Mapping[str, str]]) -> bytes:
        """The rows with a first line that names the columns (RFC 4180)."""
        out = io.StringIO(newline="")
        writer = csv.DictWriter(out, self.columns, restval="", lineterminator="\r\n")
        writer.writeheader()
        writer.writerows(rows)
        return out.getvalue().encode()

    @staticmethod
    def write_lines(rows: Iterable[Mapping[str, str]]) -> bytes:
        """The rows as JSON Lines."""
        made = (json.dumps(row, ensure_ascii=False, separators=(",", ":")) + "\n" for row in rows)
        return "".join(made).encode()

    def _columns(self, line: int, cells: Sequence[str]) -> list[str]:
        """The names of the columns; spare ones at the end, as spreadsheets leave them, have none."""
        width = max(number for number, cell in enumerate(cells, start=1) if cell)
        columns = [cell.casefold().replace(" ", "_").replace("-", "_") for cell in cells[:width]]
        known = ", ".join(self.columns)
        faults = []
        if not any(column in self.columns for column in columns):
            faults.append(f"No column is known: is the first line missing? It names the columns, of {known}.")
        else:
            strange = [column for column in dict.fromkeys(columns) if column not in self.columns]
            faults += [f"{column[:80]!r} is no column; they are {known}." for column in strange]
            twice = {column for column in columns if columns.count(column) > 1 and column in self.columns}
            faults += [
                f"The column {column} stands there twice. Keep one of the two." for column in sorted(twice)
            ]
            faults += [says for among, says in self.needs if not among & set(columns)]
        if faults:
            _refuse(line, *faults)
        return columns

    def _row(self, line: int, cells: Sequence[str], columns: Sequence[str], delimiter: str) -> Row:
        named = {name: cell for name, cell in zip(columns, cells, strict=False) if cell}
        for name in named.keys() - self.as_written:
            named[name] = named[name].strip()
        if "currency" in named:
            named["currency"] = named["currency"].upper()
        if any(cells[len(columns) :]):
            detail = (
                f"There are {len(cells)} cells under {len(columns)} columns: "
                f"a {delimiter!r} inside a value needs quotes around it."
            )
            return Row(line, named, (Fault(detail, line=line),))
        return Row(line, named)

    def _with_points(self, rows: Sequence[Row]) -> list[Row]:
        """The rows with decimal points in their amounts; with faults where a point may be none."""
        amounts = [(row, {name: row.cells[name] for name in self.amounts & row.cells.keys()}) for row in rows]
        commas = Commas.of(cell for _, cells in amounts for cell in cells.values())
        found = []
        for row, cells in amounts:
            told = {name: commas.doubt(cell) for name, cell in cells.items()}
            faults = tuple(Fault(f"{says}.", (name,), line=row.line) for name, says in told.items() if says)
            read = {name: commas.with_point(cell) for name, cell in cells.items() if not told[name]}
            kept = {name: cell for name, cell in row.cells.items() if not told.get(name)}
            found.append(replace(row, cells=kept | read, faults=(*row.faults, *faults)))
        return found

    def _object(self, line: int, text: str) -> Row:
        twice: list[str] = []

        def pairs(found: list[tuple[str, Any]]) -> dict[str, Any]:
            made = dict(found)
            if len(made) != len(found):
                names = [name for name, _ in found]
                twice.extend(name for name in made if names.count(name) > 1)
            return made

        try:
            found = json.loads(text, object_pairs_hook=pairs)
        except json.JSONDecodeError as error:
            return _unread(line, f"This is not JSON ({error.msg}, column {error.colno}).")
        except (ValueError, RecursionError):  # more digits, or deeper, than can be read
            return _unread(line, "This is no JSON that can be read.")
        if not isinstance(found, dict):
            return _unread(line, f"This is not an object. Write one a line: {self.example}.")
        faults = [
            Fault(f"The name {name[:80]!r} is given twice.", line=line) for name in dict.fromkeys(twice)
        ]
        cells: dict[str, str] = {}
        for name, value in found.items():
            if name not in self.columns:
                detail = f"A line has no {name[:80]!r}; it has {', '.join(self.columns)}."
                faults.append(Fault(detail.encode("utf-8", "replace").decode(), line=line))
            elif isinstance(value, str):
                cells[name] = value
            elif value is not None:
                faults.append(Fault('Write this as text, in quotes, such as "3.35".', (name,), line=line))
        return Row(line, cells, tuple(faults))

    def _room(self, there: int, line: int) -> None:
        if there >= MOST_LINES:
            most = f"A list has at most {MOST_LINES} {self.holds}s, and more stand here."
            _refuse(line, f"{most} Send it in parts.")

    def _some(self, rows: list[Row]) -> list[Row]:
        if not rows:
            _refuse(1, f"There is no {self.holds} in the file.")
        return rows


def _text(data: bytes) -> str:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        detail = f"Byte {error.start} cannot be read as UTF-8. Save the file as UTF-8 text."
        raise UnreadableFile(_whole(line, detail), faults=(Fault(detail, line=line),)) from None
    if (place := text.find("\x00")) >= 0:
        line = text.count("\n", 0, place) + 1
        _refuse(line, "This line has a NUL character: is the file UTF-16? Save it as UTF-8 text.")
    return text


def _records(text: str, delimiter: str, first: int) -> Iterator[tuple[int, list[str]]]:
    """The records that are not blank, cells stripped, each with the line that it begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    begins = first
    try:
        for record in reader:
            line, begins = begins, reader.line_num + first
            cells = [cell.strip(" \t\r\n") for cell in record]
            if any(cells):
                yield line, cells
    except csv.Error as error:
        says = "a quote is not closed" if "unexpected end" in str(error) else str(error)
        _refuse(begins, f"From here on this cannot be read as CSV: {says}.")


def _unread(line: int, detail: str) -> Row:
    return Row(line, {}, (Fault(detail, line=line),), unread=True)


def _whole(line: int, detail: str) -> str:
    return f"line {line}: {detail} Nothing was stored."


def _refuse(line: int, *details: str) -> NoReturn:
    faults = tuple(Fault(detail, line=line) for detail in details)
    raise Refused(_whole(line, details[0]), faults=faults)
