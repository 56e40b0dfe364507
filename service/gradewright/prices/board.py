"""Price lists in memory: today's for the newest revision, and a bounded number of older ones.

A worker keeps a list until a posting touches one of its yards, so that an answer at today's prices reads
no database.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import partial
from typing import TypeVar

from gradewright.benchmarks.kept import Benchmarks
from gradewright.benchmarks.service import BenchmarkService, ages
from gradewright.collector import seldom
from gradewright.core.better import Step
from gradewright.core.pricelist import Level, PriceList, Tiers, tiers_of
from gradewright.core.rulebook import Rulebook
from gradewright.core.units import mass_unit
from gradewright.core.unpriced import Waiting, waiting_of
from gradewright.db.session import Database
from gradewright.prices import repository
from gradewright.prices.better import better_of
from gradewright.prices.counting import NO_LOT, Asked, Counted, aside, count
from gradewright.prices.repository import Seen
from gradewright.yards.service import Atlas, YardService

NEWEST_KEPT = 128  # a list of 140 grades takes 0.2 MiB
OLDER_KEPT = 64
STANDINGS_KEPT = 64  # of the authors of a region by one revision: the same for lists of all days
Key = TypeVar("Key")
Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Place:
    """Where prices are asked for: a region, or one yard in it."""

    region: str
    yard: str | None = None


@dataclass(frozen=True, slots=True)
class _View:
    """One place to look for prices: a yard, its region, or one above."""

    kind: str
    code: str
    name: str


@dataclass(frozen=True, slots=True)
class _Kept:
    prices: PriceList
    atlas: Atlas
    benchmarks: Benchmarks
    yards: frozenset[str]
    revision: int


class Board:
    """Hands out price lists, computed once."""

    def __init__(self, database: Database, yards: YardService, benchmarks: BenchmarkService) -> None:
        self._database = database
        self._yards = yards
        self._benchmarks = benchmarks
        self._synced = 0
        self._newest: OrderedDict[tuple[Place, date, str], _Kept] = OrderedDict()
        self._older: OrderedDict[tuple[Place, date, str, int], PriceList] = OrderedDict()
        self._standings: OrderedDict[
            tuple[str, str, str, int, frozenset[str] | None], Mapping[str, Decimal]
        ] = OrderedDict()

    async def newest(self, place: Place, rulebook: Rulebook, on: date) -> tuple[PriceList, int]:
        """The list at the newest revision that this worker knows, and the revision that it is known at.

        That is the newest, where nothing that was said since can change the list. How much an author's word
        weighs depends on what they post anywhere, and on the day of the revision: a list that weighs authors
        is kept until something is said in its own regions, and is known at the revision that it was made at.
        """
        revision, atlas, benchmarks = await self._in_step()
        # Nothing is awaited from there to the look-up: what is kept is as known at that very revision.
        key = (place, on, rulebook.version)
        kept = _found(self._newest, key)
        if kept is None or kept.atlas is not atlas or kept.benchmarks is not benchmarks:
            # Also the yards that were added since: a posting about one of them touches this list.
            yards = frozenset(yard.slug for code in atlas.lineage(place.region) for yard in atlas.under(code))
            with seldom():
                prices = await self._build(atlas, benchmarks, place, rulebook, on, revision)
            kept = _Kept(prices, atlas, benchmarks, yards, revision)
            # A posting may have come while this list was being built: then it is not kept, only answered.
            if self._synced == revision:
                _keep(self._newest, key, kept, NEWEST_KEPT)
        return kept.prices, revision if rulebook.pricing.standing is None else kept.revision

    async def _in_step(self) -> tuple[int, Atlas, Benchmarks]:
        """The newest revision, and the map and benchmarks at it or later, with all lists forgotten that it
        has outdated."""
        while True:
            revision = max((await self._database.newest()).number, self._synced)
            await self._drop_touched(revision)
            atlas, benchmarks = await self._yards.atlas(), await self._benchmarks.all()
            if self._synced == revision:  # else others went on while this one waited
                return revision, atlas, benchmarks

    async def as_known(self, place: Place, rulebook: Rulebook, on: date, revision: int) -> PriceList:
        """The list as it was known at an older revision."""
        key = (place, on, rulebook.version, revision)
        found = _found(self._older, key)
        if found is None:
            atlas, benchmarks = await self._yards.atlas(), await self._benchmarks.all()
            with seldom():  # a country's thousands of rows stay until the list is there
                found = await self._build(atlas, benchmarks, place, rulebook, on, revision)
            _keep(self._older, key, found, OLDER_KEPT)
        return found

    async def _drop_touched(self, revision: int) -> None:
        """Forget the lists that postings since the last look are about."""
        if revision <= self._synced:
            return
        if self._newest:  # else there is nothing to forget, and the first look would read every posting
            async with self._database.read() as session:
                touched = await repository.touched(session, self._synced, revision)
            for key in [key for key, kept in self._newest.items() if kept.yards & touched]:
                self._newest.pop(key, None)
        self._synced = max(self._synced, revision)

    async def _build(
        self,
        atlas: Atlas,
        benchmarks: Benchmarks,
        place: Place,
        rulebook: Rulebook,
        on: date,
        revision: int,
    ) -> PriceList:
        region = atlas.region(place.region)
        yard = atlas.yard(place.yard) if place.yard is not None else None
        terms = yard if yard is not None else region
        aging = ages(rulebook, benchmarks, revision)
        wanted: frozenset[str] | None = None
        levels: list[Level] = []
        better: Mapping[str, tuple[Step, ...]] = {}
        async with self._database.read() as session:
            # From the nearest outwards; further ones only for grades that no nearer one prices for any lot.
            for views in _steps(atlas, place):
                if wanted is not None and not wanted:
                    break
                yards = [found.slug for found in atlas.under(views[-1].code, revision)]
                most = rulebook.pricing.most_yards_above if levels else None
                asked = Asked(
                    yards, terms.currency, on, revision, rulebook.pricing, aging, wanted, most,
                    everywhere=atlas.holds_all(views[-1].code, revision),
                )  # fmt: skip
                key = (views[-1].code, terms.currency, rulebook.version, revision, wanted)
                counted = await count(session, asked, _found(self._standings, key))
                _keep(self._standings, key, counted.standing, STANDINGS_KEPT)
                if not levels:
                    better = better_of(counted, asked, atlas, place.yard)
                for view in views:
                    work = partial(_level, view, counted, replace(asked, grades=wanted))
                    level = await aside(len(counted.rows), work)
                    levels.append(level)
                    known = _for_any_lot(level.tiers)
                    wanted = (frozenset(rulebook.grades) if wanted is None else wanted) - known
        refused = atlas.refusals(place.region, place.yard, on, revision)
        return PriceList(
            rulebook,
            levels,
            on=on,
            currency=terms.currency,
            unit=mass_unit(terms.unit),
            refused=refused,
            better=better,
        )


def _steps(atlas: Atlas, place: Place) -> Iterable[list[_View]]:
    """The places to look in, in order. A yard and its region are read at once: it is judged among them."""
    views: list[_View] = []
    if place.yard is not None:
        views.append(_View("yard", place.yard, atlas.yard(place.yard).name))
    for number, code in enumerate(atlas.lineage(place.region)):
        views.append(_View("parent" if number else "region", code, atlas.region(code).name))
        yield views
        views = []


def _level(view: _View, counted: Counted, asked: Asked) -> Level:
    """What one place says of the grades that no nearer one prices for any lot."""
    here = [row for row in counted.rows if asked.grades is None or row.grade in asked.grades]
    seen = {grade: s for grade, s in counted.seen.items() if asked.grades is None or grade in asked.grades}
    if view.kind == "yard":
        here = [row for row in here if row.yard == view.code]
        seen = {grade: [one for one in s if one.yard == view.code] for grade, s in seen.items()}
    tiers = tiers_of(seen, asked.on, asked.pricing, counted.standing, counted.held, counted.said)
    elsewise = in_another_currency(here, asked.currency)
    # Of a region, which always stands behind a yard: which yard's prices wait is nobody else's business.
    waiting: Mapping[str, Waiting] = {}
    if view.kind != "yard":
        waiting = waiting_of(seen, tiers, counted.held)
    return Level(view.kind, view.code, view.name, tiers, elsewise, counted.held, counted.speaking, waiting)


def _for_any_lot(tiers: Mapping[str, Tiers]) -> frozenset[str]:
    return frozenset(grade for grade, steps in tiers.items() if steps[0].from_grams == NO_LOT)


def in_another_currency(rows: Collection[Seen], currency: str) -> dict[str, str]:
    """By grade, a currency other than this one in which it was posted."""
    others = sorted((row.grade, row.currency) for row in rows if row.currency != currency)
    return dict(others)


def _found(memory: OrderedDict[Key, Value], key: Key) -> Value | None:
    """What is kept under the key. It is then the last to go: days gone by do not drive out today's list."""
    if key in memory:
        memory.move_to_end(key)
    return memory.get(key)


def _keep(memory: OrderedDict[Key, Value], key: Key, value: Value, most: int) -> None:
    memory[key] = value
    while len(memory) > most:
        memory.popitem(last=False)
