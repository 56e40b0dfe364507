"""Benchmarks: as they were known at any revision, and adding to them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace
from datetime import datetime
from types import MappingProxyType

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.benchmarks import repository
from gradewright.benchmarks.entries import BENCHMARK, FORMS
from gradewright.benchmarks.importing import Import, ValueChange, ValueLine, compare
from gradewright.benchmarks.kept import Benchmark, Benchmarks
from gradewright.core.aging import Aging, aging
from gradewright.core.benchmarks import Reading, curve
from gradewright.core.errors import Conflict, Fault, Refused
from gradewright.core.money import currency
from gradewright.core.rulebook import Rulebook
from gradewright.core.units import mass_unit
from gradewright.db.entries import Line, between, written
from gradewright.db.following import Following
from gradewright.db.leaves import seal
from gradewright.db.ledger import Revision, next_revision
from gradewright.db.session import Database


class BenchmarkService:
    """Reads benchmarks from memory, adds to the ledger."""

    def __init__(self, database: Database) -> None:
        self._following = Following(database, Benchmarks(), self._load)

    async def all(self) -> Benchmarks:
        """All of them, complete up to the newest revision; the same object until something is added."""
        return await self._following.get()

    async def aging(self, rulebook: Rulebook, revision: int | None = None) -> Aging:
        """How prices age by a version of the rulebook, with the benchmarks as known at a revision."""
        return ages(rulebook, await self.all(), revision)

    @staticmethod
    async def _load(session: AsyncSession, known: Benchmarks, after: int, upto: int) -> Benchmarks:
        made = await repository.benchmarks_between(session, after, upto)
        values = await repository.values_between(session, after, upto)
        if not made and not values:
            return known
        found = dict(known.by_slug)
        for row in made:
            found[row.slug] = Benchmark(
                row.slug, row.name, row.currency, row.unit, row.source, row.revision
            )  # fmt: skip
        added: dict[str, list[Reading]] = {}
        for slug, day, value, revision in values:
            added.setdefault(slug, []).append(Reading(day, value, revision))
        for slug, readings in added.items():
            found[slug] = replace(found[slug], readings=(*found[slug].readings, *readings))
        return Benchmarks(MappingProxyType(found))

    @staticmethod
    async def add(
        session: AsyncSession, new: Benchmark, now: datetime, author: str | None = None
    ) -> Benchmark:
        """Adds a benchmark in `session`; takes a revision. Raises `Refused`, `Conflict`.

        The currency is checked against ISO 4217; the unit is stored by its symbol.
        """
        checked = _checked(new)
        revision = await next_revision(session, now)
        if await repository.is_there(session, checked.slug):
            raise _there_already(checked.slug, "slug")
        made = replace(checked, revision=revision.number)
        row = {**{k: v for k, v in asdict(made).items() if k != "readings"}, "author": author}
        await repository.add(session, row)
        await seal(session, revision, [BENCHMARK.of(row)])
        return made

    async def compare(
        self,
        slug: str,
        lines: Sequence[ValueLine],
        now: datetime,
        *,
        far_off: bool = False,
        new: Benchmark | None = None,
    ) -> Import:
        """What lines would change against the newest values; `new`: of a benchmark that is not there yet.

        Raises `UnknownBenchmark`, `Conflict` where the new one is there, and `Refused`.
        """
        known = await self.all()
        if new is not None:
            if slug in known.by_slug:
                raise _there_already(slug, "benchmark")
            return compare(_checked(new), curve(slug, ()), lines, now.date(), far_off=far_off)
        return compare(known.get(slug), known.curve(slug), lines, now.date(), far_off=far_off)

    @staticmethod
    async def record(
        session: AsyncSession,
        slug: str,
        changes: Sequence[ValueChange],
        now: datetime,
        author: str | None = None,
    ) -> Revision | None:
        """Adds new and corrected values in `session`; takes a revision, none where nothing changes.

        Raises `Conflict` where somebody has recorded values of the same days since they were compared.
        """
        if not changes:
            return None
        revision = await next_revision(session, now)
        # Whoever has taken the revision is alone: what is there now is what the values stand against.
        there = await repository.newest_values(session, slug, [change.day for change in changes])
        if any(there.get(change.day) != change.before for change in changes):
            raise Conflict(
                f"Somebody recorded values of {slug} for the same days at the same time. Nothing was stored: "
                "send the file again, and only what is new in it counts."
            )
        rows = [
            {
                "benchmark": slug,
                "day": change.day,
                "revision": revision.number,
                "value": change.value,
                "author": author,
            }
            for change in changes
        ]
        await repository.add_values(session, rows)
        await seal(session, revision, written(FORMS, {"reading": rows}))
        return revision

    @staticmethod
    async def entries(session: AsyncSession, after: int, upto: int) -> list[Line]:
        """The benchmarks and values recorded after a revision, up to another, as entries of the ledger."""
        return await between(session, FORMS, after, upto)


def _checked(new: Benchmark) -> Benchmark:
    """A new benchmark with its unit by its symbol, and a currency of ISO 4217. Raises `Refused`."""
    if (new.unit is None) != (new.currency is None):
        missing = "unit" if new.unit is None else "currency"
        detail = f"A price is in a currency per unit: name the {missing} too, or neither for an index."
        raise Refused(detail, faults=(Fault(detail, (missing,)),))
    return replace(
        new,
        currency=None if new.currency is None else currency(new.currency),
        unit=None if new.unit is None else mass_unit(new.unit).symbol,
    )


def _there_already(slug: str, at: str) -> Conflict:
    detail = f"There is a benchmark {slug} already. Add values to it."
    return Conflict(detail, faults=(Fault(detail, (at,)),))


def ages(rulebook: Rulebook, benchmarks: Benchmarks, revision: int | None = None) -> Aging:
    """How prices age by a version of the rulebook, with the benchmarks as known at a revision."""
    if rulebook.pricing.benchmarks is None:
        return aging(rulebook, {})
    return aging(rulebook, benchmarks.curves(revision))
