"""Yards: the map in memory, and adding yards to it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from types import MappingProxyType

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.errors import Conflict, Fault, Path, Refused, UnknownGrade
from gradewright.core.house import HouseRules, Label, Refusal, fold
from gradewright.core.money import Rounding, currency
from gradewright.core.units import mass_unit
from gradewright.db.entries import Line, between, written
from gradewright.db.following import Following
from gradewright.db.house import read_rules, rows_of
from gradewright.db.leaves import seal
from gradewright.db.ledger import Revision, next_revision
from gradewright.db.session import Database
from gradewright.regions.service import RegionService
from gradewright.rulebooks.service import RulebookService, meant, nearest_grades
from gradewright.yards import repository
from gradewright.yards.atlas import Atlas, UnknownYard, Yard
from gradewright.yards.entries import FORMS
from gradewright.yards.models import YardRow

__all__ = ["Atlas", "Label", "Refusal", "UnknownYard", "Yard", "YardService", "fold"]

Yards = MappingProxyType[str, Yard]


class YardService:
    """Reads the map from memory, adds yards to the ledger."""

    def __init__(self, database: Database, regions: RegionService, rulebooks: RulebookService) -> None:
        self._regions = regions
        self._rulebooks = rulebooks
        self._following: Following[Yards] = Following(database, MappingProxyType({}), _load)
        self._atlas = Atlas()

    async def atlas(self) -> Atlas:
        """The map, complete up to the newest revision; the same object until something is added to it."""
        yards = await self._following.get()
        regions = await self._regions.tree()
        if self._atlas.yards is not yards or self._atlas.regions is not regions:
            self._atlas = Atlas(regions, yards)
        return self._atlas

    async def add(self, session: AsyncSession, new: Yard, now: datetime, author: str | None = None) -> Yard:
        """Adds a yard in `session`; takes a revision.

        Raises `UnknownRegion`, `UnknownGrade` (a label or refusal is about none), `Refused` (one is said
        twice), `Conflict` (the slug is taken).
        """
        (await self.atlas()).region(new.region)
        checked = replace(new, currency=currency(new.currency), unit=mass_unit(new.unit).symbol)
        _check_said_once(checked)
        await self._check_grades(checked)
        # Whoever has taken the revision is alone: what is not there now cannot come in between.
        taken = await next_revision(session, now)
        number = taken.number
        if await repository.is_there(session, checked.slug):
            detail = f"There is a yard {checked.slug} already. Yards are only added, never changed."
            raise Conflict(detail, faults=(Fault(detail, ("slug",)),))
        made = replace(
            checked,
            revision=number,
            labels=tuple(replace(label, revision=number, author=author) for label in checked.labels),
            refusals=tuple(replace(said, revision=number, author=author) for said in checked.refusals),
        )
        yard = {**_yard_values(made), "author": author}
        rules = rows_of(made.rules, yard=made.slug, revision=number)
        await repository.add(session, yard)
        await repository.add_rules(session, rules)
        await seal(session, taken, written(FORMS, {"yard": [yard], **rules}))
        return made

    @staticmethod
    async def say(session: AsyncSession, slug: str, said: HouseRules, now: datetime) -> Revision:
        """Adds to a yard's house rules, which somebody has checked, in `session`; takes a revision."""
        taken = await next_revision(session, now)
        rows = rows_of(said, yard=slug, revision=taken.number)
        await repository.add_rules(session, rows)
        await seal(session, taken, written(FORMS, rows))
        return taken

    @staticmethod
    async def entries(session: AsyncSession, after: int, upto: int) -> list[Line]:
        """What was made and said of yards after a revision, up to another, as entries of the ledger."""
        return await between(session, FORMS, after, upto)

    async def _check_grades(self, new: Yard) -> None:
        """A label or refusal is about a grade of the rulebook in force on the day from which it counts."""
        faults: list[Fault] = []
        for index, label in enumerate(new.labels):
            faults += await self._grade_faults(label.grade, label.valid_from, ("labels", index, "grade"))
        for index, refusal in enumerate(new.refusals):
            faults += await self._grade_faults(refusal.grade, refusal.valid_from, ("refuses", index))
        if faults:
            raise UnknownGrade(faults[0].detail, faults=tuple(faults))

    async def _grade_faults(self, grade: str, on: date, at: Path) -> tuple[Fault, ...]:
        rulebook = (await self._rulebooks.in_force(on, at=at)).rulebook
        if grade in rulebook.grades:
            return ()
        near = nearest_grades(rulebook, grade)
        text = f"{grade!r} is not the slug of a grade of rulebook {rulebook.version}. {meant(near)}"
        return (Fault(text, at, tuple(one.slug for one in near)),)


def _check_said_once(new: Yard) -> None:
    faults = []
    labels = [(fold(label.label), label.valid_from) for label in new.labels]
    for index, key in enumerate(labels):
        if key in labels[:index]:
            text = f"{new.labels[index].label!r} stands for a grade from that day already; say it once."
            faults.append(Fault(text, ("labels", index, "label")))
    grades = [refusal.grade for refusal in new.refusals]
    for index, grade in enumerate(grades):
        if grade in grades[:index]:
            faults.append(Fault(f"{grade} is refused already; say it once.", ("refuses", index)))
    if faults:
        raise Refused(faults[0].detail, faults=tuple(faults))


def _yard_values(yard: Yard) -> dict[str, object]:
    return {
        "slug": yard.slug,
        "name": yard.name,
        "region": yard.region,
        "currency": yard.currency,
        "unit": yard.unit,
        "rounding": yard.rounding.value,
        "cash_increment": yard.cash_increment,
        "revision": yard.revision,
    }


async def _load(session: AsyncSession, known: Yards, after: int, upto: int) -> Yards:
    """Adds the yards, labels and refusals of the revisions in between."""
    yards = dict(known)
    for row in await repository.between(session, YardRow, after, upto):
        yards[row.slug] = Yard(
            slug=row.slug,
            name=row.name,
            region=row.region,
            currency=row.currency,
            unit=row.unit,
            rounding=Rounding(row.rounding),
            cash_increment=row.cash_increment,
            revision=row.revision,
        )
    said = await repository.rules_between(session, after, upto)
    for slug in {row.yard for rows in said for row in rows}:
        limits, labels, refusals = ([row for row in rows if row.yard == slug] for rows in said)
        rules = read_rules(yards[slug].rules, limits, labels, refusals)
        yards[slug] = replace(yards[slug], limits=rules.limits, labels=rules.labels, refusals=rules.refusals)
    changed = any(said) or len(yards) != len(known)
    return MappingProxyType(yards) if changed else known
