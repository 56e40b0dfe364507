"""Published versions: kept for good, compiled once, and chosen by the day."""

from __future__ import annotations

import asyncio
import difflib
import json
from collections import OrderedDict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

import msgspec
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.description import Description, describe
from gradewright.core.errors import Conflict, Fault, NoRulebook, Path, RulebookError, UnknownGrade
from gradewright.core.grading import Grader
from gradewright.core.house_limits import HouseLimit, decided_by, under
from gradewright.core.observations import read_observations
from gradewright.core.rulebook import Rulebook
from gradewright.core.timeline import in_force
from gradewright.db.entries import Line
from gradewright.db.following import Following
from gradewright.db.leaves import seal
from gradewright.db.ledger import next_revision
from gradewright.db.session import Database
from gradewright.rulebooks import document, entries, nearest, repository
from gradewright.rulebooks.check import check
from gradewright.rulebooks.nearest import NearGrade
from gradewright.rulebooks.repository import Dated
from gradewright.rulebooks.standing import Standing, misnamed, stands, that_begin, told_with

_as_sent = msgspec.json.Encoder().encode
DESCRIPTIONS_KEPT = 5_000  # of 3 KiB each, for each version in use
HOUSES_KEPT = 32  # sets of a place's own limits for each version, 0.2 MiB each
HOUSE_DESCRIPTIONS_KEPT = 1_000

Limits = tuple[HouseLimit, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Version:
    """A published version, ready to answer: the rulebook, its compiled index, and the document as stored."""

    rulebook: Rulebook
    grader: Grader
    text: str
    usual: Version | None = None
    """The version with its own limits, where this one has a place's."""
    own: Mapping[str, HouseLimit] = field(default_factory=dict)
    _described: dict[bytes, Description] = field(default_factory=dict)
    _houses: OrderedDict[Limits, Version] = field(default_factory=OrderedDict)

    def describe(self, raw: Mapping[str, Any]) -> Description:
        """What the version says of observations as given; `ObservationError` for those it cannot read.

        People describe the same things in the same words: what was said of them is remembered.
        """
        key = _as_sent(raw)  # as JSON, in which 1 and true are two things
        found = self._described.get(key)
        if found is None:
            found = self._describe(raw)
            if len(self._described) >= (DESCRIPTIONS_KEPT if self.usual is None else HOUSE_DESCRIPTIONS_KEPT):
                self._described.clear()
            self._described[key] = found
        return found

    def _describe(self, raw: Mapping[str, Any]) -> Description:
        described = describe(self.grader, read_observations(self.rulebook.attributes, raw))
        if self.usual is None:
            return described
        house = decided_by(self.usual.grader, self.grader, self.own, described.observed)
        return replace(described, house=house) if house else described

    async def under(self, limits: Limits) -> Version:
        """The version with a place's own limits: compiled once, and kept. Itself where none is of its own."""
        if not limits:
            return self
        found = self._houses.get(limits)
        if found is None:
            # Compiling takes a twentieth of a second: other requests go on meanwhile.
            found = self._houses[limits] = await asyncio.to_thread(self._with, limits)
        self._houses.move_to_end(limits)
        while len(self._houses) > HOUSES_KEPT:
            self._houses.popitem(last=False)
        return found

    def _with(self, limits: Limits) -> Version:
        rulebook, own = under(self.rulebook, limits)
        return Version(rulebook, Grader(rulebook), self.text, self, own) if own else self


class RulebookService:
    """Reads, chooses and keeps versions. Compiled versions stay in memory: they are few and never change."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._published: Following[tuple[Dated, ...]] = Following(database, (), _published)
        self._compiled: dict[str, Version] = {}

    async def all(self) -> tuple[Version, ...]:
        """Every version, the earliest in force first."""
        return tuple([await self.get(version) for version in await self.versions()])

    async def versions(self) -> tuple[str, ...]:
        """The name of every version, the earliest in force first, without compiling any."""
        published = sorted(await self._published.get(), key=lambda dated: dated.effective_from)
        return tuple(dated.version for dated in published)

    async def before(self, version: str) -> str | None:
        """The name of the published version that was in force before one, or would have been; None where that
        is the earliest.
        """
        published = sorted(await self._published.get(), key=lambda dated: dated.effective_from)
        names = [dated.version for dated in told_with(version, published)]
        place = names.index(version)
        return names[place - 1] if place else None

    async def replaced_by(self, rulebook: Rulebook) -> tuple[str, ...]:
        """The published versions that are never in force because of this one: those that it names, and those
        that begin on the same day."""
        day, number = rulebook.effective_from, _number(rulebook.version)
        return tuple(
            dated.version
            for dated in await self._published.get()
            if dated.version in rulebook.instead_of
            or (dated.effective_from == day and _number(dated.version) < number)
        )

    async def standing(self, rulebook: Rulebook, session: AsyncSession | None = None) -> Standing:
        """How it stands to the published versions, be it one or not: as `session` sees them, if given."""
        published = await self._published.get() if session is None else await repository.dated(session)
        return stands(rulebook, published, _number)

    async def in_force(self, on: date, *, known_at: int | None = None, at: Path = ("on",)) -> Version:
        """The newest version that is effective on a day or before; `NoRulebook` where there is none.

        `known_at`: of those that were published by that revision. `at`: where the request names the day.
        """
        published = await self._known(known_at)
        found = in_force(that_begin(published), on)
        if found is not None:
            return await self.get(found.version)
        if not published:
            if known_at is not None:
                detail = (
                    f"No rulebook had been published by revision {known_at}. Name one, or a later revision."
                )
                raise NoRulebook(detail, faults=(Fault(detail, ("known_at",)),))
            raise NoRulebook("No rulebook has been published here. Load one: gradewright rulebooks load.")
        earliest = min(dated.effective_from for dated in published)
        detail = f"No rulebook was in force on {on.isoformat()}; the earliest is effective from {earliest}."
        raise NoRulebook(detail, faults=(Fault(detail, at),))

    async def over(self, days: Iterable[date], *, known_at: int | None = None) -> dict[date, Version | None]:
        """The version that is in force on each of the days; None where none is yet. `known_at`: as above."""
        published = that_begin(await self._known(known_at))
        found = {day: in_force(published, day) for day in days}
        return {day: None if dated is None else await self.get(dated.version) for day, dated in found.items()}

    async def _known(self, known_at: int | None) -> tuple[Dated, ...]:
        published = await self._published.get()
        if known_at is None:
            return published
        return tuple(dated for dated in published if dated.revision <= known_at)

    async def get(self, version: str, *, at: Path = ("rulebook",)) -> Version:
        """A version by name; `NoRulebook` names the nearest if there is none of that name."""
        found = self._compiled.get(version)
        if found is None:
            async with self._database.read() as session:
                row = await repository.find(session, version)
            if row is None:
                known = [dated.version for dated in await self._published.get()]
                near = tuple(difflib.get_close_matches(version, known, n=3, cutoff=0.3))
                listed = ", ".join(known) or "none"
                detail = f"There is no rulebook {version[:80]!r}. Published versions: {listed}."
                raise NoRulebook(detail, faults=(Fault(detail, at, near),))
            rulebook = document.read(json.loads(row.document))
            found = self._compiled[version] = Version(rulebook, Grader(rulebook), row.document)
        return found

    async def text(self, version: str) -> str | None:
        """The document that is published as a version, canonically; None where none is."""
        async with self._database.read() as session:
            row = await repository.find(session, version)
        return None if row is None else row.document

    async def publish(self, source: dict[str, Any], now: datetime) -> tuple[Rulebook, bool]:
        """Check a document and keep it for good: the version, and whether it is new.

        The same document again changes nothing. A `Conflict`: another document of a published version, or
        one that would never be in force, as a version with a higher number begins on the same day or one is
        in force instead of it, or one that is to be in force instead of what it cannot be. A
        `RulebookError` with every fault: one that does not do what its own examples say.
        """
        rulebook = document.read(source)
        async with self._database.read() as session:
            if await _is_kept(session, rulebook):  # looked at when it was published
                return rulebook, False
        faults = check(rulebook)
        if faults:
            told = "; ".join(fault.detail for fault in faults[:3])
            detail = f"{len(faults)} fault(s) in rulebook {rulebook.version}: {told}"
            raise RulebookError(detail, faults=faults)
        async with self._database.write() as session:
            if await _is_kept(session, rulebook):
                return rulebook, False
            # A version takes a revision of the ledger, so that every worker notices it.
            revision = await next_revision(session, now)
            if await _is_kept(session, rulebook):  # by another, while this one waited for its turn
                await session.rollback()
                return rulebook, False
            await _may_begin(session, rulebook)
            row = await repository.add(session, rulebook, document.canonical(source).decode(), revision)
            await seal(session, revision, [entries.RULEBOOK.of(row)])
        return rulebook, True

    @staticmethod
    async def entries(session: AsyncSession, after: int, upto: int) -> list[Line]:
        """The versions published after a revision, up to another, as entries of the ledger."""
        return await entries.between(session, after, upto)

    @staticmethod
    async def copies(
        session: AsyncSession, after: int, upto: int, recorded: Mapping[int, str]
    ) -> list[tuple[int, str, str]]:
        """Where a version's document is not the one that its entry stands for: revision, version, what."""
        return await entries.copies(session, after, upto, recorded)


async def _is_kept(session: AsyncSession, rulebook: Rulebook) -> bool:
    """Whether this very document is published; `Conflict` where another is, under its version."""
    row = await repository.find(session, rulebook.version)
    if row is not None and row.sha256 != rulebook.sha256:
        raise Conflict(
            f"Version {rulebook.version} is published and can never change. "
            "Give the corrected document a version of its own."
        )
    return row is not None


async def _may_begin(session: AsyncSession, rulebook: Rulebook) -> None:
    """`Conflict` where the version would never be in force: of two that begin together the higher one is.
    And where it names some that it cannot be in force instead of.
    """
    day, published = rulebook.effective_from, await repository.dated(session)
    unfit = "; ".join(detail for detail, _ in misnamed(rulebook, published, unknown=False))
    if unfit:
        raise Conflict(unfit)
    holding = [dated.version for dated in that_begin(published) if dated.effective_from == day]
    newest = max((name for name in holding if name not in rulebook.instead_of), key=_number, default=None)
    if newest is not None and _number(rulebook.version) <= _number(newest):
        raise Conflict(
            f"Version {newest} begins on {day} too, and of two that begin on one day the one with the higher "
            f"number is in force: {rulebook.version} never would be. Give it a higher number, or another day."
        )


def _number(version: str) -> tuple[int, ...]:
    """What versions are ordered by: 2018.10 comes after 2018.9."""
    return tuple(map(int, version.split(".")))


async def _published(
    session: AsyncSession, known: tuple[Dated, ...], after: int, upto: int
) -> tuple[Dated, ...]:
    """The versions in the order in which they are numbered: 2018.10 comes after 2018.9."""
    found = await repository.dated(session)
    return tuple(sorted(found, key=lambda dated: _number(dated.version)))


def resolve_grade(rulebook: Rulebook, named: str, at: tuple[str | int, ...]) -> str:
    """The slug for a slug, name or trade alias; `UnknownGrade` points at it and names what is near."""
    slug = rulebook.grade_named(named)
    if slug is not None:
        return slug
    near = nearest_grades(rulebook, named)
    detail = f"{named!r} is not a grade of rulebook {rulebook.version}. {meant(near)}"
    raise UnknownGrade(detail, faults=(Fault(detail, at, tuple(one.slug for one in near)),))


def meant(near: Sequence[NearGrade]) -> str:
    """The sentence that tells of grades that may have been meant, or where to look for them."""
    if not near:
        return "See the rulebook's list of grades."
    return f"Did you mean {' or '.join(map(str, near))}?"


def nearest_grades(rulebook: Rulebook, named: str) -> tuple[NearGrade, ...]:
    """Up to three grades that may have been meant by what names none; none where nothing is like it."""
    return nearest.nearest_grades(rulebook, named)
