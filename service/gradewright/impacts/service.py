"""Kept valuations, or a list given, valued under a draft and under the version that it is held against."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import AsyncIterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import partial

from gradewright.benchmarks.service import BenchmarkService
from gradewright.core.errors import Fault, GradewrightError, Refused, RulebookError
from gradewright.core.grading import Grader
from gradewright.core.impact import Impact, Piece, Valued, valued
from gradewright.core.money import Rounding
from gradewright.core.observations import Attribute
from gradewright.core.pricelist import PriceList
from gradewright.core.rates import Payer
from gradewright.core.rulebook import Rulebook
from gradewright.db.session import Database
from gradewright.drafts.draft import Draft
from gradewright.drafts.service import DraftService
from gradewright.prices.board import Board, Place
from gradewright.rulebooks.document import canonical, read
from gradewright.rulebooks.service import RulebookService, Version
from gradewright.valuations.kept import KeptRequest, KeptRequests
from gradewright.valuations.lines import outcome_name
from gradewright.valuations.parts import PartGiven
from gradewright.valuations.weights import Weight, weigh
from gradewright.yards.service import YardService

UNREADABLE = "unreadable"
"""What is told of a part in words that a version does not have."""
LISTS_KEPT = 64  # places and days, 0.4 MiB each: people keep valuations of the day
Side = tuple[Version, PriceList]


@dataclass(frozen=True, slots=True)
class PartMoved:
    """A part of a list that is answered or paid otherwise."""

    number: int
    name: str
    currency: str
    before: Valued
    after: Valued


@dataclass(frozen=True, slots=True)
class Looked:
    """How far it is: `done` of `of` lists; at the end with the impact, what was held against what, and the
    first and last day of which valuations were looked at (`span`; None: a list was given).
    """

    done: int
    of: int
    impact: Impact | None = None
    against: str = ""
    version: str = ""
    sha256: str = ""
    revision: int = 0
    each: Sequence[PartMoved] = ()
    span: tuple[date, date] | None = None


class ImpactService:
    """Holds a draft against what people have kept."""

    def __init__(
        self,
        database: Database,
        yards: YardService,
        benchmarks: BenchmarkService,
        rulebooks: RulebookService,
        drafts: DraftService,
    ) -> None:
        self._database, self._yards, self._benchmarks = database, yards, benchmarks
        self._rulebooks, self._drafts = rulebooks, drafts
        self._kept = KeptRequests(database)

    async def of_kept(
        self, draft: Draft, since: date, until: date, against: str | None = None
    ) -> AsyncIterator[Looked]:
        """What the draft changes about the valuations kept from one day to another, both included.

        Each is valued at the prices of its day and place as they are known now. `against`: a published
        version; None: the one that the draft would supersede. Tells how far it is, and ends with the impact.
        Raises `Refused` where the last day is before the first.
        """
        if since > until:
            detail = (
                f"The span ends before it begins: {since} to {until}. Give `from` no later day than `to`, "
                "which is today where it is not given."
            )
            raise Refused(detail, faults=(Fault(detail, ("from",)),))
        first = datetime.combine(since, time.min, UTC)
        end = datetime.combine(until + timedelta(days=1), time.min, UTC)
        work, count = await self._work(draft, against), await self._kept.count(first, end)
        done = 0
        yield Looked(0, count)
        async for requests in self._kept.between(first, end):
            await work.add(requests)
            done += len(requests)
            yield Looked(done, max(count, done))
        yield replace(work.told(done), span=(since, until))

    async def of_list(
        self, draft: Draft, given: KeptRequest, against: str | None = None
    ) -> AsyncIterator[Looked]:
        """The same of one list that is given, with every part that moves.

        What only the draft has words for counts under the draft alone.
        """
        work = await self._work(draft, against)
        work.tell_each = True
        yield Looked(0, 1)
        await work.add([given])
        yield work.told(1)

    async def attributes(self, draft: Draft, against: str | None = None) -> Mapping[str, Attribute]:
        """What a list may observe: what either has words for, what both have as the published one has it."""
        before, after = await self._versions(draft, against)
        return {**after.rulebook.attributes, **before.rulebook.attributes}

    async def _work(self, draft: Draft, against: str | None) -> _Work:
        versions = await self._versions(draft, against)
        revision = (await self._database.newest()).number
        # A board of its own: what is made under a draft must never be kept under a version's name.
        boards = tuple(Board(self._database, self._yards, self._benchmarks) for _ in range(2))
        return _Work(self._yards, boards, versions, revision)

    async def _versions(self, draft: Draft, against: str | None) -> tuple[Version, Version]:
        """The version that a draft is held against, and the draft as one."""
        document = await self._drafts.document(draft)
        try:
            book = await asyncio.to_thread(read, document)
        except RulebookError as error:
            detail = (
                f"{draft.name} cannot be read as a rulebook, so nothing can be graded by it. {error.detail}"
            )
            raise RulebookError(detail, faults=error.faults) from None
        after = Version(book, await asyncio.to_thread(Grader, book), canonical(document).decode())
        if against is not None:
            before = await self._rulebooks.get(against, at=("against",))
        else:
            before = await self._superseded(book)
        return before, after

    async def _superseded(self, book: Rulebook) -> Version:
        """The version that one supersedes, or has superseded where it is published already."""
        version, names = book.version, await self._rulebooks.versions()
        if version not in names:
            instead = (await self._rulebooks.standing(book)).before
            if instead is not None:
                return await self._rulebooks.get(instead, at=("against",))
            return await self._rulebooks.in_force(book.effective_from, at=("against",))
        before = await self._rulebooks.before(version)
        if before is None:
            detail = f"{version} is the earliest version. Name the one to hold it against: against."
            raise Refused(detail, faults=(Fault(detail, ("against",)),))
        return await self._rulebooks.get(before, at=("against",))


@dataclass(slots=True)
class _Work:
    """One look: lists are made for each place and day once, and for both versions together where these count
    prices alike, as most do: making lists is what takes longest."""

    yards: YardService
    boards: Sequence[Board]
    versions: tuple[Version, Version]
    revision: int
    impact: Impact = field(default_factory=Impact)
    each: list[PartMoved] = field(default_factory=list)
    tell_each: bool = False
    _sides: OrderedDict[tuple[Place, date], tuple[Side, Side]] = field(default_factory=OrderedDict)
    _priced_alike: bool = field(init=False)

    def __post_init__(self) -> None:
        one, other = (version.rulebook for version in self.versions)
        self._priced_alike = one.pricing == other.pricing and _priced(one) == _priced(other)

    def told(self, done: int) -> Looked:
        """The end."""
        before, after = (version.rulebook for version in self.versions)
        return Looked(
            done, done, self.impact, before.version, after.version, after.sha256, self.revision, self.each
        )

    async def add(self, requests: Sequence[KeptRequest]) -> None:
        """Value lists under both versions, aside."""
        atlas = await self.yards.atlas()
        work = []
        for request in requests:
            if request.yard is not None:
                yard = atlas.yard(request.yard)
                place, payer = Place(yard.region, request.yard), Payer(Rounding(yard.rounding))
            else:
                place, payer = Place(atlas.region(request.region or "").code), Payer(Rounding.HALF_EVEN)
            work.append((request, place, payer, await self._at(place, request.on)))
        await asyncio.to_thread(partial(self._add, work))

    def _add(self, work: Sequence[tuple[KeptRequest, Place, Payer, tuple[Side, Side]]]) -> None:
        for request, place, payer, sides in work:
            weights = [_weight(part) for part in request.parts]
            told = request.parts
            if self.tell_each:
                told = tuple(_in_words_of(part, *self.versions) for part in told)
            before, after = (
                valued(_pieces(parts, weights, version), prices, payer)
                for parts, (version, prices) in zip((told, request.parts), sides, strict=True)
            )
            grams = [weight.grams for weight in weights]
            currency = sides[0][1].currency
            self.impact.add(request.id, place.region, currency, grams, before, after)
            if self.tell_each:
                pairs = zip(request.parts, before, after, strict=True)
                self.each += [
                    PartMoved(number, part.name, currency, was, now)
                    for number, (part, was, now) in enumerate(pairs)
                    if was != now
                ]

    async def _at(self, place: Place, on: date) -> tuple[Side, Side]:
        """Both versions under the place's own limits, each with the prices of the day as known now."""
        found = self._sides.get((place, on))
        if found is None:
            atlas = await self.yards.atlas()
            limits = atlas.limits(place.region, place.yard, on, self.revision)
            before, after = self.versions
            prices = await self.boards[0].as_known(place, before.rulebook, on, self.revision)
            then = prices
            if not self._priced_alike:
                then = await self.boards[1].as_known(place, after.rulebook, on, self.revision)
            found = (await before.under(limits), prices), (await after.under(limits), then)
            self._sides[place, on] = found
        self._sides.move_to_end((place, on))
        while len(self._sides) > LISTS_KEPT:
            self._sides.popitem(last=False)
        return found


def _priced(rulebook: Rulebook) -> Mapping[str, object]:
    """What prices rest on, grade by grade, besides the version's pricing."""
    return {slug: (each.kin, each.kin_factor, each.follows) for slug, each in rulebook.grades.items()}


def _pieces(parts: Sequence[PartGiven], weights: Sequence[Weight], version: Version) -> list[Piece]:
    return [
        Piece(*_answered(part, version), weight.grams, weight.ratio)
        for part, weight in zip(parts, weights, strict=True)
    ]


def _in_words_of(part: PartGiven, version: Version, other: Version) -> PartGiven:
    """A part without what another version has words for, and this one has not."""
    if part.observed is None:
        return part
    observed = {
        name: value
        for name, value in part.observed.items()
        if _readable(version, name, value) or not _readable(other, name, value)
    }
    return replace(part, observed=observed)


def _readable(version: Version, name: str, value: object) -> bool:
    attribute = version.rulebook.attributes.get(name)
    if attribute is None:
        return False
    try:
        attribute.read(value)
    except GradewrightError:
        return False
    return True


def _answered(part: PartGiven, version: Version) -> tuple[str, str | None]:
    """What a version answers to a part: how, and which grade."""
    if part.grade is not None:
        grade = version.rulebook.grade_named(part.grade)
        return ("named", grade) if grade is not None else (UNREADABLE, None)
    try:
        described = version.describe(part.observed or {})
    except GradewrightError:
        return UNREADABLE, None
    return outcome_name(described.outcome), described.grade


def _weight(part: PartGiven) -> Weight:
    return weigh(part.weight, 1) if part.weight is not None else weigh(part.weight_each or "", part.count)
