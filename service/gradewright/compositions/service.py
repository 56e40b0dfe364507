"""What kinds of device are made of: as it was known at any revision, and adding to it."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.compositions import repository
from gradewright.compositions.entries import FORMS
from gradewright.compositions.given import Given, read
from gradewright.compositions.kept import Compositions, DeviceKind
from gradewright.compositions.loading import kept_of, load
from gradewright.compositions.models import ComponentRow, CompositionRow
from gradewright.core.composition import Record, Typical
from gradewright.core.errors import Conflict, GradewrightError, NotAllowed, NotFound
from gradewright.db.entries import Line, between, written
from gradewright.db.following import Following
from gradewright.db.knowing import KnownAt, revision_of
from gradewright.db.leaves import seal
from gradewright.db.ledger import Revision, next_revision
from gradewright.db.session import Database
from gradewright.regions.service import RegionService
from gradewright.rulebooks.service import RulebookService, Version, resolve_grade


@dataclass(frozen=True, slots=True)
class Checked:
    """A record that can be stored: its rows without name and revision, and the kind, if it is new."""

    given: Given
    parts: Sequence[Mapping[str, Any]]
    rulebook: str
    new_kind: DeviceKind | None


@dataclass(frozen=True, slots=True)
class Recorded:
    """What was stored: the record, and the revision that it took."""

    name: str
    revision: Revision


class CompositionService:
    """Reads what came out of devices from memory, adds to the ledger."""

    def __init__(self, database: Database, regions: RegionService, rulebooks: RulebookService) -> None:
        self._database = database
        self._regions = regions
        self._rulebooks = rulebooks
        self._following = Following(database, Compositions(), load)

    async def all(self) -> Compositions:
        """All of it, complete up to the newest revision; the same object until something is added."""
        return await self._following.get()

    async def typical(
        self, kind: str, *, on: date | None = None, known_at: KnownAt = None
    ) -> tuple[DeviceKind, Typical | None]:
        """A kind, and what its records say together: those made on a day or before it, as known at a
        revision or an instant; None where none counts. Raises `UnknownDeviceKind`.
        """
        revision = await revision_of(self._database, known_at)
        known = await self.all()
        return known.get(kind, revision), known.typical(kind, on, revision)

    async def rulebook(self, today: date) -> Version:
        """The rulebook by which records are graded today. Raises `NoRulebook`."""
        return await self._rulebooks.in_force(today)

    async def check(self, given: Given, now: datetime) -> Checked:
        """A record read against the rulebook of today. Raises `UnknownDeviceKind`, `UnknownRegion`,
        `UnknownGrade` or `Refused` with every fault.
        """
        version = await self.rulebook(now.date())
        known = await self.all()
        reading = read(given, version, now.date())
        if given.kind in known.by_slug:
            if given.new_kind is not None:
                detail = f"{given.kind} is there already: leave new_kind out."
                reading.wrong(detail, ("new_kind",))
        elif given.new_kind is None:
            try:
                known.get(given.kind)
            except GradewrightError as error:
                if not reading.faults:
                    raise _or_new(error) from error
                reading.refused(error)
        if given.region is not None:
            try:
                (await self._regions.tree()).get(given.region)
            except GradewrightError as error:
                if not reading.faults:
                    raise
                reading.refused(error)
        parts = reading.checked()
        return Checked(given, parts, version.rulebook.version, _new_kind(given, version))

    async def beside(self, checked: Checked, author: str) -> tuple[Record, list[Record], str]:
        """A record that is not stored yet, as it would count; those of its kind that do; the kind's name."""
        known = await self.all()
        own: dict[str, Any] = {"id": "", "revision": known.changed + 1, "author": author}
        row = CompositionRow(**own, **_row(checked))
        parts = [ComponentRow(composition="", revision=row.revision, **part) for part in checked.parts]
        kind = checked.new_kind or known.get(row.kind)
        others = [kept.record for kept in known.counted(row.kind)]
        return kept_of(row, parts, 0).record, others, kind.name

    @staticmethod
    async def record(
        session: AsyncSession,
        checked: Sequence[Checked],
        now: datetime,
        author: str | None = None,
        names: Sequence[str] = (),
    ) -> list[Recorded]:
        """Adds records in `session`, all at one revision; raises `Conflict` where somebody has made the same
        kind meanwhile. `names`: theirs; made up where none are given.
        """
        revision = await next_revision(session, now)
        kinds = {one.new_kind.slug: one.new_kind for one in checked if one.new_kind is not None}
        for slug in kinds:
            if await repository.is_kind(session, slug):
                raise Conflict(f"Somebody has just made the kind {slug}: send it again without new_kind.")
        named = names or [f"c-{secrets.token_hex(10)}" for _ in checked]
        own = {"revision": revision.number, "author": author}
        rows: dict[str, list[dict[str, Any]]] = {
            "device_kind": [{**asdict(kind), **own} for kind in kinds.values()],
            "composition": [
                {"id": name, **_row(one), **own} for name, one in zip(named, checked, strict=True)
            ],
            "component": [
                {"composition": name, "revision": revision.number, **part}
                for name, one in zip(named, checked, strict=True)
                for part in one.parts
            ],
        }
        await repository.add(session, rows)
        await seal(session, revision, written(FORMS, rows))
        return [Recorded(name, revision) for name in named]

    async def corrected(self, kind: str, name: str, grade: str | None, now: datetime) -> DeviceKind:
        """A kind as it is to be told from now on. Raises `NotFound`, `UnknownGrade`, and `Conflict` where it
        is told so already.
        """
        known = (await self.all()).at(kind)
        if known is None:
            raise NotFound(f"There is no kind of device {kind[:80]!r} here.")
        version = await self.rulebook(now.date())
        slug = None if grade is None else resolve_grade(version.rulebook, grade, ("grade",))
        told = DeviceKind(kind, name, slug, known.revision)
        if told == known:
            raise Conflict(f"{kind} is told so already. Nothing was stored.")
        return told

    @staticmethod
    async def correct(
        session: AsyncSession, told: DeviceKind, now: datetime, author: str, reason: str
    ) -> Revision:
        """Tells a kind otherwise in `session`, from the revision on that it takes."""
        revision = await next_revision(session, now)
        row = {"kind": told.slug, "name": told.name, "grade": told.grade, "author": author, "reason": reason}
        rows = {"device_kind_correction": [{**row, "revision": revision.number}]}
        await repository.add(session, rows)
        await seal(session, revision, written(FORMS, rows))
        return revision

    @staticmethod
    async def withdraw(
        session: AsyncSession,
        kind: str,
        name: str,
        now: datetime,
        author: str,
        reason: str,
        *,
        any_ones: bool,
    ) -> Revision:
        """Takes a record back in `session`; takes a revision. `any_ones`: a maintainer may take back what
        others recorded. Raises `NotFound`, `NotAllowed`, `Conflict`.
        """
        revision = await next_revision(session, now)
        found = await repository.record(session, name)
        if found is None or found.kind != kind:
            raise NotFound(f"There is no record {name[:80]!r} of a {kind[:80]!r}.")
        if found.author != author and not any_ones:
            theirs = "the operator's" if found.author is None else f"{found.author}'s"
            raise NotAllowed(f"{name} is {theirs}: whoever recorded it takes it back, or a maintainer.")
        if await repository.is_withdrawn(session, name):
            raise Conflict(f"{name} was taken back already.")
        row = {"composition": name, "author": author, "reason": reason, "revision": revision.number}
        rows = {"composition_withdrawal": [row]}
        await repository.add(session, rows)
        await seal(session, revision, written(FORMS, rows))
        return revision

    @staticmethod
    async def entries(session: AsyncSession, after: int, upto: int) -> list[Line]:
        """Kinds, records, parts and later words of the revisions after one, up to another."""
        return await between(session, FORMS, after, upto)


def _or_new(error: GradewrightError) -> GradewrightError:
    """An unknown kind may be a new one."""
    added = f"{error.detail} If it is none of those that there are, send new_kind with its name."
    return type(error)(added, faults=tuple(replace(fault, detail=added) for fault in error.faults))


def _new_kind(given: Given, version: Version) -> DeviceKind | None:
    if given.new_kind is None:
        return None
    named = given.new_kind.grade
    grade = None if named is None else resolve_grade(version.rulebook, named, ("new_kind", "grade"))
    return DeviceKind(given.kind, given.new_kind.name, grade)


def _row(checked: Checked) -> dict[str, Any]:
    given = checked.given
    names = ("kind", "taken_on", "weight", "made_year", "model", "minutes", "region")
    told = {name: getattr(given, name) for name in (*names, "source", "from_memory", "note")}
    return {**told, "rulebook": checked.rulebook}
