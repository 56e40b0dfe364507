"""The wire forms of benchmarks: what they are, their values, and what a file would change."""

from __future__ import annotations

from collections import Counter
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError

from gradewright.benchmarks.importing import Import, ValueChange, ValueLine
from gradewright.benchmarks.kept import Benchmark
from gradewright.core.benchmarks import Curve
from gradewright.core.decimals import plain
from gradewright.core.errors import Fault, Refused
from gradewright.regions.schemas import CurrencyCode, CurrencyText, UnitName, UnitText
from gradewright.web.fields import Day, In, KnownAt, Name, Out, PositiveDecimal, Slug, TextForm, YesNo
from gradewright.web.tables import Row, Table
from gradewright.web.wording import detail_of

VALUES = Table(
    columns=("date", "value", "currency", "unit"),
    needs=(
        (frozenset({"date"}), "There is no column date."),
        (frozenset({"value"}), "There is no column value."),
    ),
    example='{"date": "2026-05-04", "value": "9412.50"}',
    holds="value",
    amounts=frozenset({"value"}),
)
"""The files in which values come and go."""

Source = Annotated[
    str,
    TextForm(
        r"^[^\x00-\x20\x7f]([^\x00-\x1f\x7f]*[^\x00-\x20\x7f])?$",
        says="where its values are from and under which terms, on one line of at most 400 characters",
        example="Monthly averages, statistical office, open licence",
        longest=400,
    ),
]


class BenchmarkIn(In):
    """A new benchmark. Without currency and unit it is an index."""

    slug: Slug
    name: Name
    currency: CurrencyCode | None = None
    unit: UnitName | None = None
    source: Source

    def benchmark(self) -> Benchmark:
        """The benchmark that is meant."""
        return Benchmark(self.slug, self.name, self.currency, self.unit, self.source)


class ValueOut(Out):
    """The value of a day."""

    date: Day
    value: PositiveDecimal


class BenchmarkOut(Out):
    """A benchmark: how many days have a value, the first and the last of them. `revision` made it."""

    slug: Slug
    name: str
    currency: str | None
    unit: str | None
    source: str
    revision: int
    days: int
    first: ValueOut | None
    last: ValueOut | None

    @classmethod
    def of(cls, benchmark: Benchmark, curve: Curve) -> BenchmarkOut:
        """The wire form."""
        return cls(**_told(benchmark, curve))


class BenchmarkList(Out):
    """All benchmarks, by name."""

    benchmarks: list[BenchmarkOut]


class BenchmarkValues(BenchmarkOut):
    """A benchmark with its values of a span, ascending, as known at a revision."""

    known_at: int
    values: list[ValueOut]

    @classmethod
    def within(
        cls, benchmark: Benchmark, curve: Curve, asked: BenchmarkQuery, known_at: int
    ) -> BenchmarkValues:
        """The wire form of the values of a span."""
        values = [
            ValueOut(date=day, value=value)
            for day, value in zip(curve.days, curve.values, strict=True)
            if (asked.since is None or day >= asked.since) and (asked.until is None or day <= asked.until)
        ]
        return cls(**_told(benchmark, curve), known_at=known_at, values=values)

    def rows(self) -> list[dict[str, str]]:
        """Its values as lines of a file that can be imported again."""
        measure = {"currency": self.currency, "unit": self.unit}
        rest = {name: told for name, told in measure.items() if told is not None}
        return [
            {"date": each.date.isoformat(), "value": plain(each.value), **rest} for each in self.values
        ]  # fmt: skip


class BenchmarkQuery(In):
    """Which values."""

    since: Annotated[Day | None, Field(alias="from", description="From this day on.")] = None
    until: Annotated[Day | None, Field(alias="to", description="Up to this day.")] = None
    known_at: Annotated[KnownAt | None, Field(description="As known then; default now.")] = None
    format: Annotated[
        Literal["json", "csv"] | None, Field(description="JSON or CSV; default by Accept, else JSON.")
    ] = None


class ImportQuery(In):
    """How a file is taken."""

    dry_run: Annotated[
        YesNo | None, Field(description="true: nothing is stored; told is what would change.")
    ] = None
    far_off: Annotated[
        YesNo | None,
        Field(description="true: values half as much again as a neighbour, or two thirds of it, are meant."),
    ] = None
    name: Annotated[
        Name | None, Field(description="With `source`: the benchmark is made first, and is called so.")
    ] = None
    source: Annotated[
        Source | None,
        Field(description="The benchmark is made first: where its values are from, and under which terms."),
    ] = None
    currency: Annotated[
        CurrencyCode | None, Field(description="What a benchmark that is made is in; with `unit`.")
    ] = None
    unit: Annotated[
        UnitName | None, Field(description="What a benchmark that is made is per; with `currency`.")
    ] = None

    def new(self, slug: str) -> Benchmark | None:
        """The benchmark that is to be made with the values; None where it is there. Raises `Refused`."""
        said = {"name": self.name, "source": self.source, "currency": self.currency, "unit": self.unit}
        if not any(said.values()):
            return None
        for name in ("name", "source"):
            if said[name] is None:
                detail = f"To make the benchmark first, give its name and its source: {name} is missing."
                raise Refused(detail, faults=(Fault(detail, (name,)),))
        try:
            return BenchmarkIn.model_validate({"slug": slug, **said}).benchmark()
        except ValidationError as error:  # of the slug: all else was read already
            detail = f"{slug!r} cannot be the slug of a benchmark: {detail_of(error.errors()[0])}"
            raise Refused(detail, faults=(Fault(detail, ("benchmark",)),)) from None


class ValueChangeOut(Out):
    """A line of the file, and what it changes."""

    line: int
    date: Day
    value: PositiveDecimal
    change: Literal["new", "changed"]
    before: PositiveDecimal | None

    @classmethod
    def of(cls, change: ValueChange) -> ValueChangeOut:
        """The wire form."""
        return cls(
            line=change.number,
            date=change.day,
            value=change.value,
            change=change.kind,  # type: ignore[arg-type]
            before=change.before,
        )


class Imported(Out):
    """What a file of values changes; `revision` is null where nothing was stored. `made`: the benchmark is
    new, and was made with them; in a dry run it would be."""

    benchmark: Slug
    made: bool
    dry_run: bool
    revision: int | None
    new: int
    changed: int
    same: int
    changes: list[ValueChangeOut]

    @classmethod
    def of(cls, slug: str, found: Import, *, made: bool, dry_run: bool, revision: int | None) -> Imported:
        """The wire form. Raises the refusal where there is one."""
        changes = found.checked()
        counted = Counter(change.kind for change in found.changes)
        return cls(
            benchmark=slug,
            made=made,
            dry_run=dry_run,
            revision=revision,
            **{kind: counted[kind] for kind in ("new", "changed", "same")},
            changes=[ValueChangeOut.of(change) for change in changes],
        )


class _ValueIn(In):
    """One line of a file, cell by cell."""

    date: Day | None = None
    value: PositiveDecimal | None = None
    currency: CurrencyText | None = None
    unit: UnitText | None = None


def line_of(row: Row) -> ValueLine:
    """What the service takes; a cell that cannot be read is left out of it and told as a fault."""
    faults = list(row.faults)
    cells: dict[str, Any] = dict(row.cells)
    missing = [name for name in ("date", "value") if row.lacks(name)]
    try:
        read = _ValueIn.model_validate(cells)
    except ValidationError as error:
        for wrong in error.errors(include_url=False, include_input=False):
            faults.append(row.fault(wrong, numbers=("value",)))
            cells.pop(str(wrong["loc"][0]), None)
        read = _ValueIn.model_validate(cells)
    faults += [Fault(f"The {name} is missing.", (name,), line=row.line) for name in missing]
    return ValueLine(row.line, read.date, read.value, read.currency, read.unit, tuple(faults))


def _told(benchmark: Benchmark, curve: Curve) -> dict[str, Any]:
    values = [ValueOut(date=day, value=value) for day, value in _ends(curve)]
    return {
        **{
            name: getattr(benchmark, name)
            for name in ("slug", "name", "currency", "unit", "source", "revision")
        },
        "days": len(curve.days),
        "first": values[0] if values else None,
        "last": values[-1] if values else None,
    }


def _ends(curve: Curve) -> list[tuple[Any, Any]]:
    pairs = list(zip(curve.days, curve.values, strict=True))
    return [pairs[0], pairs[-1]] if pairs else []
