"""The rows of a file of parts, CSV or JSON Lines: cells by name, each row with the line it stands on."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gradewright_sdk.cli._files import FileFault, column_name, csv_rows
from gradewright_sdk.cli._values import near

if TYPE_CHECKING:
    from gradewright_sdk._models import Rulebook

FIXED = ("name", "count", "weight", "weight_each", "grade")
LISTED = "`gradewright-client attributes` lists them"


@dataclass(frozen=True, slots=True)
class Row:
    """One part as it stands in the file; `whole` unless there are cells whose names nobody knows."""

    line: int
    cells: Mapping[str, object]
    whole: bool = True


def csv_parts(text: str, rulebook: Rulebook, faults: list[FileFault]) -> Iterator[Row]:
    """The rows of a CSV file. What is wrong goes to `faults`; with a faulty first line there are no rows."""
    columns: list[str] | None = None
    for line, row in csv_rows(text, faults):
        if columns is None:
            columns = [column_name(cell) for cell in row]
            wrong = list(_heading(row, line, (*FIXED, *rulebook.attributes)))
            if wrong:
                faults += wrong
                return
            continue
        yield Row(line, {name: cell for name, cell in zip(columns, row, strict=False) if cell})


def _heading(row: Sequence[str], line: int, known: Sequence[str]) -> Iterator[FileFault]:
    columns = [column_name(cell) for cell in row]
    if not any(name in known for name in columns):
        says = (
            "there is no column that is known: is the header missing? The first line names the columns, "
            f"{', '.join(FIXED)} and attributes of the rulebook ({LISTED})"
        )
        yield FileFault(line, "", says)
        return
    for number, (cell, name) in enumerate(zip(row, columns, strict=True)):
        if not name:
            yield FileFault(line, "", f"column {number + 1} has no name")
        elif name not in known:
            says = f"{cell!r} is neither {', '.join(FIXED)} nor an attribute of the rulebook ({LISTED})"
            yield FileFault(line, "", says, near(name, known))
        elif name in columns[:number]:
            yield FileFault(line, "", f"column {name} comes twice")
    if "weight" not in columns and "weight_each" not in columns:
        says = "there is no column weight or weight_each; the first line names the columns"
        yield FileFault(line, "", says)


class _Unreadable(ValueError):
    """A line that cannot be read, with what its fault says."""


def _once(pairs: Iterable[tuple[str, object]]) -> dict[str, object]:
    found: dict[str, object] = {}
    for name, value in pairs:
        if name in found:
            raise _Unreadable(f"{name} comes twice")
        found[name] = value
    return found


def _parsed(written: str) -> object:
    """The JSON of one line. Raises _Unreadable."""
    try:
        return json.loads(written, object_pairs_hook=_once)
    except json.JSONDecodeError as error:
        says = f"this is not JSON ({error.msg} at character {error.colno}); write one object a line"
        raise _Unreadable(says) from error
    except RecursionError as error:
        raise _Unreadable("this is nested too deeply for a part") from error
    except _Unreadable:
        raise
    except ValueError as error:  # Python reads no integer of more than 4300 digits
        raise _Unreadable("a number in this has too many digits to be read") from error


def json_parts(text: str, rulebook: Rulebook, faults: list[FileFault]) -> Iterator[Row]:
    """The rows of a JSON Lines file. What is wrong goes to `faults`."""
    for line, written in enumerate(text.split("\n"), start=1):
        if not written.strip():
            continue
        try:
            found = _parsed(written)
        except _Unreadable as error:
            faults.append(FileFault(line, "", str(error)))
            continue
        if not isinstance(found, dict):
            faults.append(FileFault(line, "", "this is not an object; write one part a line: {…}"))
            continue
        observed = found.pop("observed", None) or {}
        if not isinstance(observed, dict):
            faults.append(FileFault(line, "observed", 'write {"attribute": value, …}'))
            continue
        strange = [*_strange(found, observed, rulebook, line)]
        faults += strange
        cells = {name: found[name] for name in FIXED if found.get(name) is not None}
        cells |= {
            name: value
            for name, value in observed.items()
            if name in rulebook.attributes and value is not None
        }
        yield Row(line, cells, whole=not strange)


def _strange(
    found: Mapping[str, object], observed: Mapping[str, object], rulebook: Rulebook, line: int
) -> Iterator[FileFault]:
    for name in found:
        if name not in FIXED:
            inside = "; it belongs inside observed" if name in rulebook.attributes else ""
            says = f"{name!r} is nothing that a part has{inside}"
            yield FileFault(line, name, says, near(name, (*FIXED, "observed")) if not inside else ())
    for name in observed:
        if name not in rulebook.attributes:
            says = f"{name!r} is no attribute of the rulebook ({LISTED})"
            yield FileFault(line, name, says, near(name, rulebook.attributes))
