"""A file of parts, CSV or JSON Lines, read into parts with the line each stands on; every fault at once."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from gradewright_sdk._inputs import Observation, Part
from gradewright_sdk.cli._files import FileFault, as_text, pointer_steps, without_name
from gradewright_sdk.cli._rows import Row, csv_parts, json_parts
from gradewright_sdk.cli._values import BadValue, count_number, observation, weight_text

if TYPE_CHECKING:
    from gradewright_sdk._exceptions import Fault
    from gradewright_sdk._models import Attribute, Rulebook

LONGEST = 60  # signs of a value that are repeated in what is said of it


@dataclass(frozen=True, slots=True)
class PartsFile:
    """The parts in the order of the file, the line on which each begins, and what is wrong in the file.

    Where something is wrong with a row, its part has what could be read of it, so that the service can look
    at that too; a row of which too little could be read has no part.
    """

    parts: tuple[Part, ...]
    lines: tuple[int, ...]
    faults: tuple[FileFault, ...] = ()

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
        says = without_name(fault.detail, column)
        return FileFault(self.lines[index], column, says, fault.suggestions)


def read_parts(data: bytes, rulebook: Rulebook, *, kind: str) -> PartsFile:
    """The parts in `data`, which is of `kind` "csv" or "jsonl". Raises FileFaults if it is not text."""
    text = as_text(data)
    faults: list[FileFault] = []
    rows = (csv_parts if kind == "csv" else json_parts)(text, rulebook, faults)
    parts, lines = [], []
    for row in rows:
        reader = _RowReader(row, rulebook)
        part = reader.part()
        faults += reader.faults
        if part is not None:
            parts.append(part)
            lines.append(row.line)
    if not faults and not parts:
        faults.append(FileFault(1, "", "there is no part in the file"))
    return PartsFile(tuple(parts), tuple(lines), tuple(sorted(faults, key=lambda fault: fault.line)))


def guess_kind(name: str, data: bytes) -> str:
    """What a file holds: by the end of its name, else by its first character."""
    ending = name.rpartition(".")[2].casefold()
    if ending in {"jsonl", "ndjson", "json"}:
        return "jsonl"
    return "jsonl" if ending != "csv" and data.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] in {b"{", b"["} else "csv"


@dataclass(slots=True)
class _RowReader:
    """Reads one row; what is wrong goes to `faults`."""

    row: Row
    rulebook: Rulebook
    faults: list[FileFault] = field(default_factory=list)

    def part(self) -> Part | None:
        """What could be read of the part; None if that is less than a part has to have."""
        cells = self.row.cells
        weight, weight_each = self._text("weight", weight_text), self._text("weight_each", weight_text)
        grade = self._text("grade", str.strip)
        if ("weight" in cells) == ("weight_each" in cells):
            both = "weight" in cells
            self._fault("weight", "give weight or weight_each, not both" if both else "there is no weight")
        seen = [name for name in cells if name in self.rulebook.attributes]
        observed = self._observed(seen)
        if grade is not None and seen:
            says = f"a grade and observations ({', '.join(seen)}): leave one out, a grade is taken as named"
            self._fault("grade", says)
        elif "grade" not in cells and not seen and self.row.whole:
            self._fault("grade", "no grade, and nothing observed to tell it by")
        name = self._text("name", str.strip) or f"line {self.row.line}"
        count = self._count()
        if (weight is None) == (weight_each is None) or (grade is None) == (not observed):
            return None
        return Part(name, count, weight, weight_each, observed or None, grade)

    def _fault(self, column: str, says: str, suggestions: tuple[str, ...] = ()) -> None:
        self.faults.append(FileFault(self.row.line, column, says, suggestions))

    def _text(self, column: str, read: Callable[[str], str]) -> str | None:
        value = self.row.cells.get(column)
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
        value = self.row.cells.get("count")
        if value is None:
            return None
        try:
            return count_number(value if isinstance(value, str) else _as_json(value))
        except BadValue as error:
            self._fault("count", error.says)
            return None

    def _observed(self, names: list[str]) -> dict[str, Observation]:
        observed: dict[str, Observation] = {}
        for name in names:
            try:
                observed[name] = _typed(self.rulebook.attributes[name], self.row.cells[name])
            except BadValue as error:
                self._fault(name, error.says, error.suggestions)
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
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= LONGEST else f"{text[:LONGEST]}…"
