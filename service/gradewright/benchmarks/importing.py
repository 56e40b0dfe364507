"""Reads the values of a benchmark line by line: what is new, what is corrected, and what cannot be right."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import pairwise

from gradewright.benchmarks.kept import Benchmark
from gradewright.core.benchmarks import Curve
from gradewright.core.errors import Fault, GradewrightError, Refused
from gradewright.core.units import mass_unit

NEW, CHANGED, SAME = "new", "changed", "same"
FAR = Decimal("1.5")
"""From one value to the next a market hardly moves by half: more is a slip of the point, or of a column."""


@dataclass(frozen=True, slots=True)
class ValueLine:
    """One line as it was sent; what could not be read of it is None, and told in `faults`."""

    number: int
    day: date | None
    value: Decimal | None
    currency: str | None = None
    unit: str | None = None
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True)
class ValueChange:
    """What a line changes: a new day, another value than `before`, or nothing."""

    number: int
    day: date
    value: Decimal
    kind: str
    before: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Import:
    """What the lines change, and why they cannot be stored, if they cannot."""

    changes: tuple[ValueChange, ...]
    refusal: GradewrightError | None

    def checked(self) -> list[ValueChange]:
        """What is to be stored. Raises the refusal."""
        if self.refusal is not None:
            raise self.refusal
        return [change for change in self.changes if change.kind != SAME]


def compare(
    benchmark: Benchmark, known: Curve, lines: Sequence[ValueLine], today: date, *, far_off: bool = False
) -> Import:
    """The lines against the values that are known. `far_off`: values far from their neighbours are meant."""
    faults: list[Fault] = []
    changes: list[ValueChange] = []
    there = dict(zip(known.days, known.values, strict=True))
    seen: dict[date, int] = {}
    for line in lines:
        wrong = [*line.faults, *_other_measure(benchmark, line)]
        if line.day is not None:
            wrong += _day(line.day, line.number, seen, today)
            seen.setdefault(line.day, line.number)
        faults += wrong
        if line.day is not None and line.value is not None and not wrong:
            before = there.get(line.day)
            kind = NEW if before is None else SAME if before == line.value else CHANGED
            changes.append(ValueChange(line.number, line.day, line.value, kind, before))
    if not far_off:
        faults += _far_off(there, changes)
    if not faults:
        return Import(tuple(changes), None)
    faults.sort(key=lambda fault: fault.line or 0)
    more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
    detail = f"line {faults[0].line}: {faults[0].detail} Nothing was stored.{more}"
    return Import(tuple(changes), Refused(detail, faults=tuple(faults)))


def _day(day: date, number: int, seen: dict[date, int], today: date) -> Iterator[Fault]:
    if day > today:
        yield Fault(f"{day} has not come yet: only what a market has quoted is kept.", ("date",), line=number)
    if day in seen:
        yield Fault(f"{day} stands in line {seen[day]} already. Keep one of the two.", ("date",), line=number)


def _other_measure(benchmark: Benchmark, line: ValueLine) -> Iterator[Fault]:
    """A line may say what the benchmark is in, and nothing else."""
    kept = f"{benchmark.slug} is kept in {benchmark.measure}"
    if line.currency is not None and line.currency != benchmark.currency:
        yield Fault(f"{kept}, not in {line.currency}: nothing is converted.", ("currency",), line=line.number)
    if line.unit is not None:
        try:
            unit = mass_unit(line.unit).symbol
        except GradewrightError as error:
            suggestions = error.faults[0].suggestions if error.faults else ()
            yield Fault(error.detail, ("unit",), suggestions, line.number)
            return
        if unit != benchmark.unit:
            yield Fault(f"{kept}, not per {unit}: nothing is converted.", ("unit",), line=line.number)


def _far_off(there: dict[date, Decimal], changes: Sequence[ValueChange]) -> Iterator[Fault]:
    """Values half as much again as a neighbour or more, or two thirds of it or less: of the one before, and
    of the one after where that stands there already."""
    values = {**there, **{change.day: change.value for change in changes}}
    days = sorted(values)
    after = dict(pairwise(days))
    before = {later: day for day, later in after.items()}
    stand = there.keys() - {change.day for change in changes if change.kind != SAME}
    for change in changes:
        if change.kind == SAME:
            continue
        found = [(before.get(change.day), "before"), (after.get(change.day), "after")]
        for day, side in found:
            if day is None or (side == "after" and day not in stand):
                continue
            value = values[day]
            if change.value >= FAR * value or change.value * FAR <= value:
                detail = (
                    f"{change.value} is far off the value {side} it, {value} of {day}: is the point in its "
                    "place? If it is right, send it again with far_off=true."
                )
                yield Fault(detail, ("value",), line=change.number)
                break
