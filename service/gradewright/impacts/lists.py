"""A file of parts, as the operator's command takes it: CSV with a column for each observation, or JSON."""

from __future__ import annotations

import csv
import difflib
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import typer
from pydantic import ValidationError

from gradewright.core.observations import Attribute, Kind
from gradewright.impacts.schemas import ListIn
from gradewright.terminal import Stop
from gradewright.web.wording import detail_of

OWN = ("name", "count", "weight", "weight_each", "grade")
DELIMITERS = ",;\t"
YES_NO = {"yes": True, "true": True, "no": False, "false": False}


def list_in(path: Path, place: Mapping[str, str | None], attributes: Mapping[str, Attribute]) -> ListIn:
    """The parts in a file, to be valued in a place. Every fault is told with its line, then it stops."""
    text = path.read_text(encoding="utf-8-sig")
    if path.suffix in (".json", ".jsonl"):
        lines, parts = _of_json(path, text)
    else:
        rows = [(line, row) for line, row in _of_csv(path, text, attributes) if row]
        lines, parts = [line for line, _ in rows], [row for _, row in rows]
    given = {name: value for name, value in place.items() if value is not None}
    try:
        return ListIn.model_validate_json(json.dumps({**given, "parts": parts}))
    except ValidationError as error:
        faults = error.errors(include_url=False, include_input=False)
    for fault in faults:
        at = fault["loc"]
        number = at[1] if len(at) > 1 and at[0] == "parts" else None
        line = lines[number] if isinstance(number, int) and number < len(lines) else 1
        told = ", ".join(str(step) for step in at[2:]) or ", ".join(str(step) for step in at)
        typer.echo(f"{path.name}:{line}: {told or 'the file'}: {detail_of(fault)}", err=True)
    raise Stop(f"{path.name} cannot be valued: {len(faults)} fault(s).")


def _of_json(path: Path, text: str) -> tuple[list[int], list[Any]]:
    """One list of parts, or a part on each line; with the lines on which they stand, where that is known."""
    try:
        if text.lstrip().startswith("["):
            parts: list[Any] = json.loads(text)
            return [1] * len(parts), parts
        rows = [(number, line) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]
        return [number for number, _ in rows], [json.loads(line) for _, line in rows]
    except ValueError as error:
        raise Stop(f"{path.name} is not JSON that can be read: {error}") from None


def _of_csv(
    path: Path, text: str, attributes: Mapping[str, Attribute]
) -> Iterator[tuple[int, dict[str, Any]]]:
    """The line and the part of each row; blank cells are not known."""
    first = text.partition("\n")[0]
    reader = csv.DictReader(text.splitlines(), delimiter=max(DELIMITERS, key=first.count))
    known = (*OWN, *attributes)
    for column in (name.strip() for name in reader.fieldnames or ()):
        if column not in known:
            near = difflib.get_close_matches(column, known, n=3)
            meant = (
                f"did you mean {' or '.join(near)}?" if near else f"write {', '.join(OWN)}, or an attribute"
            )
            raise Stop(f"{path.name}:1: there is no column {column!r}; {meant}")
    for row in reader:
        cells = {
            str(name).strip(): value.strip()
            for name, value in row.items()
            if isinstance(value, str) and value.strip()
        }
        part: dict[str, Any] = {name: cells[name] for name in OWN if name in cells}
        if part.get("count", "").isdecimal():
            part["count"] = int(part["count"])
        seen = {name: _typed(attributes[name], cells[name]) for name in cells if name in attributes}
        yield reader.line_num, part | ({"observed": seen} if seen else {})


def _typed(attribute: Attribute, text: str) -> str | bool | int:
    """A cell as an observation; what it cannot be is told by whoever reads it."""
    if attribute.kind is Kind.YES_NO:
        return YES_NO.get(text.casefold(), text)
    if attribute.kind is Kind.YEAR and text.isdecimal():
        return int(text)
    return text
