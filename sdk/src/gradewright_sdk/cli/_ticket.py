"""A scale ticket in a file: what its rows are, and where its faults stand."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk._exceptions import sentence
from gradewright_sdk.cli._failures import Exit, Failure, Json, fail
from gradewright_sdk.cli._files import (
    FileFault,
    FileFaults,
    as_text,
    column_name,
    csv_rows,
    pointer_steps,
    without_name,
)
from gradewright_sdk.cli._matches import bins_of
from gradewright_sdk.cli._values import near

if TYPE_CHECKING:
    from collections.abc import Iterator

COLUMNS = ("what", "label", "grade", "gross", "tare", "deduction", "net", "price", "per", "amount", "bin")
OF_LINES = COLUMNS[1:-1]
WHATS = ("line", "charge", "total", "cash")
NEEDED = {
    "line": ("label", "net", "price", "amount"),
    "charge": ("label", "amount"),
    "total": ("amount",),
    "cash": ("amount",),
}
NOTHING = "Nothing was settled."
SETTLED = ("#/ticket", "#/ticket/number")
TAKE_BACK = "Take it back: gradewright-client settlement {} --withdraw REASON"
KEPT = re.compile(r"\bs-[0-9a-f]+\b")
TEMPLATE = """what,label,grade,gross,tare,deduction,net,price,per,amount,bin
line,#2 Cu,,12.4 lb,0.4 lb,,12 lb,3.10,lb,37.20,
line,shred,light-iron,,,2 lb,48 lb,0.08,lb,3.84,
charge,gate,,,,,,,,1.50,
total,,,,,,,,,39.54,
"""


@dataclass
class TicketFile:
    """What a file has: lines, charges and sums as the request has them, each with its line of the file."""

    lines: list[Json] = field(default_factory=list)
    charges: list[Json] = field(default_factory=list)
    sums: dict[str, str] = field(default_factory=dict)
    matches: list[Json] = field(default_factory=list)
    options: list[int] = field(default_factory=list)  # of matches that were typed, the number of the option
    places: dict[tuple[str, int], int] = field(default_factory=dict)

    @property
    def ticket(self) -> Json:
        """The ticket as the service takes it, but for its day and number."""
        return {"lines": self.lines, "charges": self.charges, **self.sums}

    def place_of(self, file: str, steps: Sequence[str]) -> tuple[str, str] | None:
        """The line of the file, or the option, and the column, that a pointer's steps lead to."""
        match steps:
            case ["#", "ticket", ("lines" | "charges") as list_, number, *rest] if number.isdigit():
                line = self.places.get((list_, int(number)))
            case ["#", "ticket", ("total" | "cash") as sum_]:
                line, rest = self.places.get((sum_, 0)), ["amount"]
            case ["#", "ticket"]:
                return file, ""
            case ["#", "ticket" | "against", ("on" | "number" | "valuation") as option]:
                return f"--{option}", option
            case ["#", "matches", number, *rest] if number.isdigit():
                line = self.places.get(("matches", int(number)))
                if line is None:
                    typed = self.options[int(number) - len(self.matches)]
                    return f"--match number {typed}", "".join(rest[:1])
                rest = ["bin"]  # the column that says it, whatever it says
            case ["#", "against", "bins", number, *rest] if number.isdigit():
                return f"--bin number {int(number) + 1}", "".join(rest[:1])
            case _:
                return None
        column = "".join(rest[:1])
        where = f"{file}: line {line}" + (f", {column}" if column else "")
        return None if line is None else (where, column)


def read_ticket(data: bytes) -> TicketFile:
    """The ticket in a CSV file. Raises FileFaults with everything that can be told without the service."""
    faults: list[FileFault] = []
    columns: list[str] | None = None
    found = TicketFile()
    for line, row in csv_rows(as_text(data), faults):
        if columns is None:
            columns = [column_name(cell) for cell in row]
            faults += _heading(columns, line)
            if faults:
                break
            continue
        cells = {name: cell for name, cell in zip(columns, row, strict=False) if cell}
        wrong = [*_wrong(cells, line, found)]
        faults += wrong
        if not wrong:
            _take(cells, line, found)
    if not faults and not found.lines:
        faults.append(FileFault(1, "", "there is no line of a ticket in the file; --template prints one"))
    if not faults and "total" not in found.sums:
        faults.append(FileFault(1, "", "there is no row total; --template prints a ticket"))
    if faults:
        raise FileFaults(faults)
    return found


def explain(ctx: typer.Context, error: ex.APIError, file: str, found: TicketFile) -> None:
    """End with each fault at the line of the file that it is about; else raise the error on."""
    lines: list[str] = []
    errors: list[Json] = []
    for fault in error.errors:
        at = found.place_of(file, pointer_steps(fault.pointer))
        if at is None:
            raise error
        place, column = at
        says = without_name(fault.detail, column)
        lines.append(f"{place}: {sentence(says, fault.suggestions)}")
        errors.append({"place": place, "detail": says, "suggestions": list(fault.suggestions)})
        if isinstance(error, ex.Conflict) and fault.pointer in SETTLED:
            kept = KEPT.search(fault.detail)
            lines.append(TAKE_BACK.format(kept[0] if kept is not None else "SETTLEMENT"))
    if not lines:
        raise error
    more = {"status": error.status, "request_id": error.request_id}
    if not any(line.endswith("Nothing was stored.") for line in lines):
        lines.append(NOTHING)
    fail(ctx, Failure(error.type, error.title, tuple(lines), Exit.REFUSED, tuple(errors), more))


def _heading(columns: Sequence[str], line: int) -> Iterator[FileFault]:
    for name in columns:
        if name not in COLUMNS:
            says = f"{name!r} is no column; they are {', '.join(COLUMNS)}"
            yield FileFault(line, "", says, near(name, COLUMNS))
    missing = [name for name in ("label", "net", "price", "amount") if name not in columns]
    if missing and not set(columns) - set(COLUMNS):
        yield FileFault(line, "", f"missing columns: {', '.join(missing)}; --template prints a ticket")


def _wrong(cells: Mapping[str, str], line: int, found: TicketFile) -> Iterator[FileFault]:
    what = cells.get("what", "line")
    if what not in WHATS:
        yield FileFault(line, "what", f"a row is {', '.join(WHATS)}, not {what!r}", near(what, WHATS))
        return
    for name in NEEDED[what]:
        if name not in cells:
            why = ": the yard's own word, beside a grade too" if (what, name) == ("line", "label") else ""
            yield FileFault(line, name, f"a {what} needs it{why}")
    if what != "line":
        allowed = {"what", *NEEDED[what], *(("label",) if what != "charge" else ())}
        for name in cells:
            if name not in allowed:
                yield FileFault(line, name, f"a {what} has none: leave it blank")
    elif "bin" in cells:
        try:
            bins_of(cells["bin"])
        except ValueError:
            says = "write a bin, copper-no2, or several that are on the line together, copper-no1+copper-no2"
            yield FileFault(line, "bin", says)
    if what in found.sums:
        yield FileFault(line, "what", f"there is a row {what} already")


def _take(cells: Mapping[str, str], line: int, found: TicketFile) -> None:
    what = cells.get("what", "line")
    if what == "charge":
        found.places["charges", len(found.charges)] = line
        found.charges.append({"label": cells["label"], "amount": cells["amount"]})
    elif what != "line":
        found.places[what, 0] = line
        found.sums[what] = cells["amount"]
    else:
        found.places["lines", len(found.lines)] = line
        found.lines.append({name: cells[name] for name in OF_LINES if name in cells})
        for bin_ in bins_of(cells["bin"]) if "bin" in cells else ():
            found.places["matches", len(found.matches)] = line
            found.matches.append({"line": len(found.lines), **bin_})
