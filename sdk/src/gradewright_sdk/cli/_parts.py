"""A file of parts, CSV or JSON Lines, read into parts with the line each stands on; every fault at once."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gradewright_sdk._inputs import Observation, Part
from gradewright_sdk.cli._files import FileFault, FileFaults, as_text, column_name, csv_rows, pointer_steps
from gradewright_sdk.cli._values import BadValue, count_number, near, observation, weight_text

if TYPE_CHECKING:
    from gradewright_sdk._exceptions import Fault
    from gradewright_sdk._models import Attribute, Rulebook

FIXED = ("name", "count", "weight", "weight_each", "grade")
Cells = Mapping[str, object]


@dataclass(frozen=True, slots=True)
class PartsFile:
    """The parts in the order of the file, and the line on which each begins."""

    parts: tuple[Part, ...]
    lines: tuple[int, ...]

    def locate(self, fault: Fault, skipped: int = 0) -> FileFault | None:
        """The place in the file that a fault of the service points at ("#/parts/3/weight"), None if it is no
        part's.

        `skipped` is how many parts of the file went before those that were sent.
        """
        steps = pointer_steps(fault.pointer)
        if steps[:2] != ["#", "parts"] or not steps[2:] or not steps[2].isdigit():
            return None
        index = int(steps[2]) + skipped
        if index >= len(self.lines):
            return None
        column = steps[-1] if len(steps) > 3 else ""
        return FileFault(self.lines[index], column, fault.detail, fault.suggestions)


def read_parts(data: bytes, rulebook: Rulebook, *, kind: str) -> PartsFile:
    """The parts in `data`, which is of `kind` "csv" or "jsonl". Raises FileFaults with everything wrong
    in it.
    """
    text = as_text(data)
    faults: list[FileFault] = []
    rows = (_csv_rows if kind == "csv" else _json_rows)(text, rulebook, faults)
    parts, lines = [], []
    for line, cells in rows:
        reader = _RowReader(line, cells, rulebook, faults)
        parts.append(reader.part())
        lines.append(line)
    if not faults and not parts:
        faults.append(FileFault(1, "", "there is no part in the file"))
    if faults:
        raise FileFaults(faults)
    return PartsFile(tuple(parts), tuple(lines))


def guess_kind(name: str, data: bytes) -> str:
    """What a file holds: by the end of its name, else by its first character."""
    ending = name.rpartition(".")[2].casefold()
    if ending in {"jsonl", "ndjson", "json"}:
        return "jsonl"
    return "jsonl" if ending != "csv" and data.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] in {b"{", b"["} else "csv"


def _csv_rows(text: str, rulebook: Rulebook, faults: list[FileFault]) -> Iterator[tuple[int, Cells]]:
    columns: list[str] | None = None
    for line, row in csv_rows(text, faults):
        if columns is None:
            columns = _columns(row, line, rulebook, faults)
            if faults:
                return
            continue
        yield line, {name: cell for name, cell in zip(columns, row, strict=False) if cell}


def _columns(row: Sequence[str], line: int, rulebook: Rulebook, faults: list[FileFault]) -> list[str]:
    columns: list[str] = []
    known = [*FIXED, *rulebook.attributes]
    for cell in row:
        name = column_name(cell)
        if not name:
            faults.append(FileFault(line, "", f"column {len(columns) + 1} has no name"))
        elif name not in known:
            says = f"{cell!r} is neither {', '.join(FIXED)} nor an attribute of the rulebook"
            faults.append(FileFault(line, "", says, near(name, known)))
        elif name in columns:
            faults.append(FileFault(line, "", f"column {name} comes twice"))
        columns.append(name)
    if "weight" not in columns and "weight_each" not in columns:
        says = "there is no column weight or weight_each; the first line names the columns"
        faults.append(FileFault(line, "", says))
    return columns


class _Twice(ValueError):
    pass


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found: dict[str, object] = {}
    for name, value in pairs:
        if name in found:
            raise _Twice(f"{name} comes twice")
        found[name] = value
    return found


def _json_rows(text: str, rulebook: Rulebook, faults: list[FileFault]) -> Iterator[tuple[int, Cells]]:
    for line, written in enumerate(text.split("\n"), start=1):
        if not written.strip():
            continue
        try:
            found = json.loads(written, object_pairs_hook=_once)
        except json.JSONDecodeError as error:
            says = f"this is not JSON ({error.msg} at character {error.colno}); write one object a line"
            faults.append(FileFault(line, "", says))
            continue
        except (_Twice, RecursionError) as error:
            faults.append(FileFault(line, "", str(error)))
            continue
        if not isinstance(found, dict):
            faults.append(FileFault(line, "", "this is not an object; write one part a line: {…}"))
            continue
        observed = found.pop("observed", None) or {}
        if not isinstance(observed, dict):
            faults.append(FileFault(line, "observed", 'write {"attribute": value, …}'))
            continue
        strange = [name for name in found if name not in FIXED] + [
            name for name in observed if name not in rulebook.attributes
        ]
        for name in strange:
            known = rulebook.attributes if name in observed else (*FIXED, "observed")
            inside = "no attribute of the rulebook" if name in observed else "nothing that a part has"
            faults.append(FileFault(line, name, f"{name!r} is {inside}", near(name, known)))
        if not strange:
            yield line, {**_without_none(found), **_without_none(observed)}


def _without_none(cells: Mapping[str, object]) -> dict[str, object]:
    return {name: value for name, value in cells.items() if value is not None}


@dataclass(slots=True)
class _RowReader:
    """Reads one row; what is wrong goes to `faults`."""

    line: int
    cells: Cells
    rulebook: Rulebook
    faults: list[FileFault]

    def part(self) -> Part:
        weight, weight_each = self._text("weight", weight_text), self._text("weight_each", weight_text)
        grade = self._text("grade", str.strip)
        if ("weight" in self.cells) == ("weight_each" in self.cells):
            both = "weight" in self.cells
            self._fault("weight", "give weight or weight_each, not both" if both else "there is no weight")
        observed = self._observed()
        if grade is not None and observed:
            says = (
                f"a grade and observations ({', '.join(observed)}): leave one out, a grade is taken as named"
            )
            self._fault("grade", says)
        elif "grade" not in self.cells and not observed:
            self._fault("grade", "no grade, and nothing observed to tell it by")
        name = self._text("name", str.strip) or f"line {self.line}"
        return Part(name, self._count(), weight, weight_each, observed or None, grade)

    def _fault(self, column: str, says: str, suggestions: tuple[str, ...] = ()) -> None:
        self.faults.append(FileFault(self.line, column, says, suggestions))

    def _text(self, column: str, read: Callable[[str], str]) -> str | None:
        value = self.cells.get(column)
        if value is None:
            return None
        if not isinstance(value, str):
            self._fault(column, f"{_as_json(value)} is not text; write it in quotes, a weight with its unit")
            return None
        try:
            return read(value)
        except BadValue as error:
            self._fault(column, error.says, error.suggestions)
            return None

    def _count(self) -> int | None:
        value = self.cells.get("count")
        if value is None or (isinstance(value, int) and not isinstance(value, bool) and value >= 1):
            return value
        try:
            return count_number(value if isinstance(value, str) else _as_json(value))
        except BadValue as error:
            self._fault("count", error.says)
            return None

    def _observed(self) -> dict[str, Observation]:
        observed: dict[str, Observation] = {}
        for name, value in self.cells.items():
            attribute = self.rulebook.attributes.get(name)
            if attribute is None:
                continue
            try:
                observed[name] = _typed(attribute, value)
            except BadValue as error:
                self._fault(name, error.says, error.suggestions)
                # A faulty observation still counts as one, or the row would be said to have none.
                observed[name] = ""
        return observed


def _typed(attribute: Attribute, value: object) -> Observation:
    if isinstance(value, str):
        return observation(attribute, value)
    if isinstance(value, bool) and attribute.kind == "yes_no":
        return value
    if isinstance(value, int) and not isinstance(value, bool) and attribute.kind == "year":
        return observation(attribute, str(value))
    how = {"yes_no": "write true or false", "year": "write it in full, such as 1998"}
    raise BadValue(
        f"{_as_json(value)} does not fit; {how.get(attribute.kind, 'write it as text, with its unit')}"
    )


def _as_json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)
