"""Hauls on the command line: the file of bins, and the plan for people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.text import Text

from gradewright_sdk.cli._cautions import by_grade
from gradewright_sdk.cli._files import FileFault, FileFaults, as_text, column_name, csv_rows, pointer_steps
from gradewright_sdk.cli._layout import Entry, stacked
from gradewright_sdk.cli._show import number, rate, say
from gradewright_sdk.cli._values import near

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from gradewright_sdk._exceptions import Fault
    from gradewright_sdk._models import Haul, HaulPile, HaulStop, PiledBin

COLUMNS = ("name", "grade", "weight", "lots", "lower_to")
NEEDED = ("grade", "weight")


@dataclass(frozen=True, slots=True)
class BinsFile:
    """The bins in the order of the file, as the service takes them, and the line on which each stands."""

    bins: tuple[dict[str, object], ...]
    lines: tuple[int, ...]

    def locate(self, fault: Fault) -> FileFault | None:
        """Where in the file a fault of the service stands; None if it is of no bin."""
        steps = pointer_steps(fault.pointer)
        if steps[:2] != ["#", "bins"] or not steps[2:] or not steps[2].isdigit():
            return None
        column = steps[3] if len(steps) > 3 else ""
        return FileFault(self.lines[int(steps[2])], column, fault.detail, fault.suggestions)


def read_bins(data: bytes) -> BinsFile:
    """The bins in a CSV file. Raises FileFaults with everything that can be told without the service."""
    faults: list[FileFault] = []
    columns: list[str] | None = None
    bins, lines = [], []
    for line, row in csv_rows(as_text(data), faults):
        if columns is None:
            columns = [column_name(cell) for cell in row]
            faults += _heading(columns, line)
            if faults:
                break
            continue
        cells = {name: cell for name, cell in zip(columns, row, strict=False) if cell}
        wrong = [FileFault(line, name, "a bin needs it") for name in NEEDED if name not in cells]
        lots = cells.get("lots", "1")
        if not (lots.isascii() and lots.isdigit()):
            wrong.append(FileFault(line, "lots", f"{lots!r} is no whole number"))
        faults += wrong
        if wrong:
            continue
        found: dict[str, object] = {"name": cells.get("name", cells["grade"])}
        found |= {name: cells[name] for name in NEEDED}
        if "lots" in cells:
            found["lots"] = int(lots)
        if "lower_to" in cells:
            named = [each.strip() for each in cells["lower_to"].split("+")]
            found["lower_to"] = [] if named == ["none"] else named
        bins.append(found)
        lines.append(line)
    if not faults and not bins:
        faults.append(FileFault(1, "", "there is no bin in the file"))
    if faults:
        raise FileFaults(faults)
    return BinsFile(tuple(bins), tuple(lines))


def _heading(columns: Sequence[str], line: int) -> Iterator[FileFault]:
    for name in columns:
        if name not in COLUMNS:
            says = f"{name!r} is no column; they are {', '.join(COLUMNS)}"
            yield FileFault(line, "", says, near(name, COLUMNS))
    missing = [name for name in NEEDED if name not in columns]
    if missing:
        yield FileFault(line, "", f"missing columns: {', '.join(missing)}")


def print_haul(console: Console, found: Haul) -> None:
    """All of it: where what goes, what stays, what is left, the second choice, cautions."""
    place = found.region or ", ".join(found.yards)
    console.print(say(f"{place}, {found.on}, amounts in {found.currency}, likely", "bold"))
    for trip in found.trips:
        of = f"Trip {trip.trip}, " if len(found.trips) > 1 else "One trip, "
        console.print()
        console.print(say(f"{of}{trip.shown}", "bold"))
        for stop in trip.stops:
            _in(console, *_stop(stop))
        if trip.says is not None:
            _in(console, say(f"{trip.says} (--hold-back)", "yellow"))
    if not found.trips:
        console.print()
        console.print(say("Nothing goes.", "bold"))
    if found.kept:
        console.print()
        console.print(say("Kept", "bold"))
        for kept in found.kept:
            how = " (--estimates)" if kept.says.endswith("with estimates.") else ""
            how = ' (--bin "GRADE WEIGHT in 8 lots", or the column lots)' if kept.why == "too-heavy" else how
            says = say(f"{kept.says}{how}", "dim")
            _in(console, say(f"{kept.name}: {kept.shown}"), Padding(says, (0, 0, 0, 2)))
    console.print()
    costs = found.costs
    told = ((costs.trips, "trips"), (costs.stops, "stops"), (costs.piles, "piles"))
    of = ", ".join(f"{number(cost)} for {name}" for cost, name in told if cost.amount)
    console.print(say(f"Paid {number(found.paid.likely)}{f', costs {of}' if of else ''}"))
    left = found.left
    proof = found.proof.says
    if proof.startswith("No plan") and any(trip.loss for trip in found.trips):
        proof = proof.replace("No plan", "No plan that takes all that can go", 1)
    how = " (--seconds)" if found.proof.says.endswith("more seconds allow more work.") else ""
    console.print(
        say(
            f"Left {number(left.likely)} {found.currency}"
            f" ({number(left.low)} to {number(left.high)}). {proof}{how}",
            "bold",
        )
    )
    console.print(say(f"Second choice: {found.second.says}"))
    if found.left_out:
        console.print(say(f"Without a grade, and so left out: {'; '.join(found.left_out)}.", "yellow"))
    for line in by_grade(found.cautions):
        console.print(line)
    pins = found.pins
    kept_as = f", kept as {found.id}" if found.id else ""
    console.print(say(f"By rulebook {pins.rulebook}, ledger revision {pins.revision}{kept_as}.", "dim"))


def _in(console: Console, *lines: RenderableType) -> None:
    for line in lines:
        console.print(Padding(line, (0, 0, 0, 2)))


def _stop(stop: HaulStop) -> Iterator[RenderableType]:
    """A yard, and under it each pile with what is in it."""
    entries = []
    for pile in stop.piles:
        name = f'{pile.grade_name}, say "{pile.labels[0]}"' if pile.labels else pile.grade_name
        figures = [
            say(pile.shown),
            say(f"{rate(pile.price.likely)}/{pile.price.per}"),
            say(number(pile.amount.likely)),
        ]
        entries.append(Entry(say(name), figures, _inside(pile)))
    yield from stacked(say(stop.name, "bold"), ("", "", number(stop.paid.likely)), entries)


def _inside(pile: HaulPile) -> Text | None:
    """The bins of a pile, where they are more than the pile itself, and what to ask."""
    names = {pile.grade, pile.grade_name}
    lines = []
    if len(pile.bins) > 1 or pile.bins[0].name not in names:
        lines.append(say("; ".join(_named(each) for each in pile.bins), "dim"))
    if pile.ask is not None:
        lines.append(say(pile.ask, "yellow"))
    return Text("\n").join(lines) if lines else None


def _named(each: PiledBin) -> str:
    lots = f" ({each.lots} lots)" if each.lots > 1 else ""
    return f"{each.name}{lots} {each.shown}{' in this cheaper grade' if each.lowered else ''}"
