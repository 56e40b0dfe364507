"""Whole lists of a yard: checked line by line, held against its newest prices, stored all or nothing; and
the list of any day, as known at any revision."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

from gradewright.benchmarks.service import BenchmarkService
from gradewright.clock import Clock
from gradewright.core.errors import GradewrightError, Refused
from gradewright.core.rulebook import Rulebook
from gradewright.core.sightings import Entry
from gradewright.core.spoken import Held
from gradewright.core.timeline import days_before
from gradewright.db.knowing import KnownAt
from gradewright.db.session import Database
from gradewright.prices import list_repository
from gradewright.prices.counting import Asked, aside, count
from gradewright.prices.given import Checked
from gradewright.prices.list_changes import (
    GONE,
    REFUSED,
    UNKNOWN,
    Change,
    Claim,
    Key,
    against,
    key_of,
)
from gradewright.prices.list_reader import ListLine, ListReader
from gradewright.prices.overtaken import overtaken
from gradewright.prices.postings import Given, PostingService
from gradewright.prices.repository import Seen
from gradewright.prices.service import PriceService
from gradewright.rulebooks.service import RulebookService
from gradewright.yards.service import Atlas, Yard, YardService


@dataclass(frozen=True, slots=True)
class Comparison:
    """A list against the newest prices of its yard, as they were at a revision; what is `gone` comes last."""

    rulebook: str
    revision: int
    changes: Sequence[Change]
    refusal: GradewrightError | None = None

    def prices(self) -> list[Checked]:
        """What is stored. Raises with every fault of every line where there is one."""
        if self.refusal is not None:
            raise self.refusal
        return [change.checked for change in self.changes if change.checked is not None]


@dataclass(frozen=True, slots=True)
class YardList:
    """The newest prices of a yard on a day, as known at a revision."""

    yard: Yard
    on: date
    revision: int
    claims: Sequence[Claim]


class ListService:
    """Reads and compares lists; they are stored as postings."""

    def __init__(
        self,
        database: Database,
        yards: YardService,
        rulebooks: RulebookService,
        benchmarks: BenchmarkService,
        prices: PriceService,
        postings: PostingService,
        clock: Clock,
    ) -> None:
        self._database = database
        self._yards = yards
        self._rulebooks = rulebooks
        self._benchmarks = benchmarks
        self._prices = prices
        self._postings = postings
        self._clock = clock

    async def compare(self, author: str, given: Given, lines: Sequence[ListLine]) -> Comparison:
        """What the author's list would change, and which of its prices would wait: today, or on its own day
        where that is too long ago to count today.

        Raises only for what concerns it as a whole: its yard, its day.
        """
        atlas = await self._yards.atlas()
        yard = atlas.yard(given.yard)
        if faults := self._postings.day_faults(given.observed_on):
            raise Refused(faults[0].detail, faults=tuple(faults))
        on = given.observed_on
        rulebook = (await self._rulebooks.in_force(on, at=("observed_on",))).rulebook
        claims, revision = await self._claims(yard, rulebook, on, None)
        before = {claim.key: claim for claim in claims}
        reader = ListReader(atlas, yard, rulebook, on)
        changes, refusal = await aside(len(lines), partial(_compared, reader, lines, before))
        coming = _coming(author, given, changes, revision)
        held = await self._held_coming(atlas, yard, on, revision, coming)
        judged = [
            replace(change, held=held.get(coming[at][1:3])) if at in coming else change
            for at, change in enumerate(changes)
        ]
        return Comparison(rulebook.version, revision, judged, refusal)

    async def of(self, slug: str, on: date, known_at: KnownAt) -> YardList:
        """The list of a yard on a day: for each grade and from-weight what was posted last, by whomever.

        Left out are prices that wait, were withdrawn or rejected, or are too old to count on the day; and
        grades that the yard does not take, or that the rulebook of the day does not have.
        """
        revision = await self._prices.known(known_at)
        yard = (await self._yards.atlas()).yard(slug, revision)
        rulebook = (await self._rulebooks.in_force(on, known_at=revision)).rulebook
        claims, revision = await self._claims(yard, rulebook, on, revision)
        atlas = await self._yards.atlas()
        labelled = [_fitting(atlas, yard, claim, on, revision) for claim in claims]
        return YardList(yard, on, revision, labelled)

    async def _claims(
        self, yard: Yard, rulebook: Rulebook, on: date, known_at: int | None
    ) -> tuple[list[Claim], int]:
        """The newest prices of a yard that do not wait, in the order of the rulebook; and the revision."""
        revision = await self._prices.revision(known_at)
        atlas = await self._yards.atlas()
        held = await self._held(atlas, yard, rulebook, on, revision)
        refused = atlas.refusals(yard.region, yard.slug, on, revision)
        order = {grade: number for number, grade in enumerate(rulebook.grades) if grade not in refused}
        newest: dict[Key, Claim] = {}
        waiting: set[Claim] = set()
        grades: set[str] | None = None
        while grades is None or grades:
            async with self._database.read() as session:
                claims = await list_repository.newest_claims(
                    session,
                    yard.slug,
                    since=days_before(on, rulebook.pricing.stale_after),
                    until=on,
                    revision=revision,
                    grades=grades,
                    besides=[claim.entry for claim in waiting],
                )
            # In place of a price that waits, the one before it stands, if there is one.
            wait = {claim for claim in claims if claim.entry in held}
            for claim in claims:
                there = newest.get(claim.key)
                if (
                    claim not in wait
                    and claim.grade in order
                    and (there is None or _seen(there) < _seen(claim))
                ):
                    newest[claim.key] = claim
            waiting |= wait
            grades = {claim.grade for claim in wait}
        listed = sorted(newest.values(), key=lambda claim: (order[claim.grade], *claim.key[1:]))
        return listed, revision

    async def _held_coming(
        self, atlas: Atlas, yard: Yard, on: date, revision: int, coming: Mapping[int, Seen]
    ) -> Mapping[Entry, Held]:
        """What would wait today, with prices that are still to be stored; from their day on, where it is
        tomorrow already at the yard. What would not count today, as it is too old or a newer price of its
        author stands in its place, is judged as of its own day, by the rulebook of that."""
        day, rows = max(self._clock().date(), on), list(coming.values())
        rulebook = (await self._rulebooks.in_force(day)).rulebook
        held = await self._held(atlas, yard, rulebook, day, revision, rows)
        if on == day or not rows:
            return held
        since = days_before(day, rulebook.pricing.stale_after)
        if on >= since:
            async with self._database.read() as session:
                behind = await overtaken(session, rows, held, since=since, until=day, revision=revision)
        else:
            behind = {row[1:3] for row in rows}
        if not behind:
            return held
        rulebook = (await self._rulebooks.in_force(on)).rulebook
        then = await self._held(atlas, yard, rulebook, on, revision, rows)
        return {**held, **{entry: why for entry, why in then.items() if entry in behind}}

    async def _held(
        self,
        atlas: Atlas,
        yard: Yard,
        rulebook: Rulebook,
        on: date,
        revision: int,
        coming: Sequence[Seen] = (),
    ) -> Mapping[Entry, Held]:
        """The prices of the yard's region that wait: a yard is judged among those around it."""
        if rulebook.pricing.holding is None:
            return {}
        region = atlas.region(yard.region)
        yards = [found.slug for found in atlas.under(region.code, revision)]
        aging = await self._benchmarks.aging(rulebook, revision)
        # By what its author weighs when the list is stored: of whatever day it is, that is today.
        asked = Asked(
            yards, region.currency, on, revision, rulebook.pricing, aging,
            coming=coming, coming_on=self._clock().date(),
        )  # fmt: skip
        async with self._database.read() as session:
            return (await count(session, asked)).held


def _coming(author: str, given: Given, changes: Sequence[Change], revision: int) -> dict[int, Seen]:
    """The entries that the lines would be at the next revision, by the place of each among the changes."""
    checked = [(at, change.checked) for at, change in enumerate(changes) if change.checked is not None]
    return {
        at: Seen(
            one.grade, revision + 1, line, given.yard, author, given.observed_on, given.evidence,
            one.price, one.currency, one.per, one.from_weight,
        )
        for line, (at, one) in enumerate(checked, start=1)
    }  # fmt: skip


def _seen(claim: Claim) -> tuple[date, int, int]:
    return claim.observed_on, claim.revision, claim.line


def _fitting(atlas: Atlas, yard: Yard, claim: Claim, on: date, revision: int) -> Claim:
    """Without its label where the yard uses that for another grade by then."""
    if claim.label is None:
        return claim
    grade = atlas.grade_for_label(yard.slug, claim.label, on, revision)
    return claim if grade in (None, claim.grade) else replace(claim, label=None)


def _compared(
    reader: ListReader, lines: Sequence[ListLine], before: Mapping[Key, Claim]
) -> tuple[list[Change], GradewrightError | None]:
    changes: list[Change] = []
    missing = dict(before)
    for line in lines:
        read = reader.line(line)
        if read.checked is not None:
            changes.append(against(line.number, read.checked, missing.pop(key_of(read.checked), None)))
        else:
            kind = UNKNOWN if read.unknown else REFUSED
            # A line that has to be mended is not missing.
            for key in [key for key in missing if key[0] == read.named]:
                del missing[key]
            changes.append(
                Change(
                    line.number, kind, faults=read.faults, near=read.near, label=line.label, grade=line.grade
                )
            )
    changes += [Change(None, GONE, before=claim) for claim in missing.values()]
    faults = [fault for change in changes for fault in change.faults]
    return changes, reader.refusal(faults) if faults else None
