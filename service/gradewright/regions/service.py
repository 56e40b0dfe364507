"""Regions: the tree as it was at any revision, and adding to it."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime
from types import MappingProxyType

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.errors import Conflict, Fault, NotFound, Path, Refused
from gradewright.core.house import NO_RULES, HouseRules, known
from gradewright.core.money import currency
from gradewright.core.units import mass_unit
from gradewright.db.entries import Line, between, written
from gradewright.db.following import Following
from gradewright.db.house import read_rules, rows_of
from gradewright.db.leaves import seal
from gradewright.db.ledger import Revision, next_revision
from gradewright.db.session import Database
from gradewright.regions import repository
from gradewright.regions.entries import FORMS, REGION
from gradewright.regions.models import RegionRow

CODE = r"^[A-Z]{2}(-[A-Z0-9]{1,3}(-[A-Z0-9]{1,16})?)?$"
"""ISO 3166-1 country, ISO 3166-2 subdivision, or a locality under one."""


class UnknownRegion(NotFound):
    """No region of that code, or none yet at the revision asked for."""

    slug = "unknown-region"


@dataclass(frozen=True, slots=True)
class Region:
    """A region; `currency` and `unit` are what its price lists are shown in."""

    code: str
    name: str
    parent: str | None
    currency: str
    unit: str
    revision: int = 0


@dataclass(frozen=True, slots=True)
class RegionTree:
    """All regions, and their house rules; every question can be asked as of an earlier revision."""

    regions: Mapping[str, Region] = field(default_factory=lambda: MappingProxyType({}))
    rules: Mapping[str, HouseRules] = field(default_factory=lambda: MappingProxyType({}))

    def all(self, revision: int | None = None) -> tuple[Region, ...]:
        """The regions known at `revision`, by code."""
        there = (region for region in self.regions.values() if known(region.revision, revision))
        return tuple(sorted(there, key=lambda region: region.code))

    def get(self, code: str, revision: int | None = None, *, at: Path = ("region",)) -> Region:
        """The region of that code as known at `revision`. Raises `UnknownRegion`, pointing at `at`."""
        found = self.regions.get(code)
        if found is not None and known(found.revision, revision):
            return found
        if found is not None:
            detail = (
                f"The region {code} was not known yet at revision {revision}, but from {found.revision} on."
            )
            raise UnknownRegion(detail, faults=(Fault(detail, at),))
        there = self.all(revision)
        near = difflib.get_close_matches(code.upper(), [region.code for region in there], n=3, cutoff=0.6)
        named = [region.code for region in there if region.name.casefold() == code.casefold()]
        suggestions = tuple(dict.fromkeys([*named, *near]))
        listed = " or ".join(suggestions) or "one of GET /v1/regions"
        detail = f"There is no region {code[:80]!r}; write {listed}."
        raise UnknownRegion(detail, faults=(Fault(detail, at, suggestions),))

    def rules_of(self, code: str) -> HouseRules:
        """All that a region ever said of limits, labels and refusals."""
        return self.rules.get(code, NO_RULES)

    def lineage(self, code: str, revision: int | None = None) -> tuple[str, ...]:
        """The region's code and those of the regions around it, nearest first."""
        found = []
        step: str | None = code
        while step is not None:
            found.append(step)
            step = self.get(step, revision).parent
        return tuple(found)

    def under(self, code: str, revision: int | None = None) -> frozenset[str]:
        """The codes of a region and of all regions below it."""
        inside = {self.get(code, revision).code}
        for region in self.all(revision):  # a parent's code begins its child's, so it comes first
            if region.parent in inside:
                inside.add(region.code)
        return frozenset(inside)


class RegionService:
    """Reads the tree from memory, adds regions to the ledger."""

    def __init__(self, database: Database) -> None:
        self._following = Following(database, RegionTree(), self._load)

    async def tree(self) -> RegionTree:
        """The tree, complete up to the newest revision; the same object until a region is added."""
        return await self._following.get()

    @staticmethod
    async def _load(session: AsyncSession, tree: RegionTree, after: int, upto: int) -> RegionTree:
        rows = await repository.between(session, RegionRow, after, upto)
        rules = await _rules(session, tree.rules, after, upto)
        if not rows and rules is tree.rules:
            return tree
        added = {
            row.code: Region(row.code, row.name, row.parent, row.currency, row.unit, row.revision)
            for row in rows
        }
        return RegionTree(MappingProxyType({**tree.regions, **added}), rules)

    @staticmethod
    async def add(session: AsyncSession, new: Region, now: datetime, author: str | None = None) -> Region:
        """Adds a region in `session`; takes a revision. Raises `Refused`, `Conflict`, `UnknownRegion`.

        The currency is checked against ISO 4217; the unit is stored by its symbol.
        """
        checked = replace(new, currency=currency(new.currency), unit=mass_unit(new.unit).symbol)
        _check_code(checked)
        # Whoever has taken the revision is alone: what is not there now cannot come in between.
        revision = await next_revision(session, now)
        country = checked.code.partition("-")[0]
        wanted = [code for code in (checked.code, checked.parent, country) if code is not None]
        there = await repository.codes_among(session, wanted)
        if checked.code in there:
            detail = f"There is a region {checked.code} already. Regions are only added, never changed."
            raise Conflict(detail, faults=(Fault(detail, ("code",)),))
        if checked.parent is not None and checked.parent not in there:
            detail = f"There is no region {checked.parent!r} to stand under. Make it first, or give null."
            raise UnknownRegion(detail, faults=(Fault(detail, ("parent",)),))
        if checked.parent is None and country != checked.code and country in there:
            detail = (
                f"{checked.code} lies in {country}, which is here: name it as the parent, so that its prices "
                f"stand in where {checked.code} has none. Regions are only added, never changed."
            )
            raise Refused(detail, faults=(Fault(detail, ("parent",), (country,)),))
        made = replace(checked, revision=revision.number)
        row = {**asdict(made), "author": author}
        await repository.add(session, row)
        await seal(session, revision, [REGION.of(row)])
        return made

    @staticmethod
    async def say(session: AsyncSession, code: str, said: HouseRules, now: datetime) -> Revision:
        """Adds to a region's house rules, which somebody has checked, in `session`; takes a revision."""
        taken = await next_revision(session, now)
        rows = rows_of(said, region=code, revision=taken.number)
        await repository.add_rules(session, rows)
        await seal(session, taken, written(FORMS, rows))
        return taken

    @staticmethod
    async def entries(session: AsyncSession, after: int, upto: int) -> list[Line]:
        """The regions made after a revision, up to another, as entries of the ledger."""
        return await between(session, FORMS, after, upto)


async def _rules(
    session: AsyncSession, rules: Mapping[str, HouseRules], after: int, upto: int
) -> Mapping[str, HouseRules]:
    """The house rules with those of the revisions in between; the same object where there are none."""
    said = await repository.rules_between(session, after, upto)
    if not any(said):
        return rules
    found = dict(rules)
    for code in {row.region for rows in said for row in rows}:
        limits, labels, refusals = ([row for row in rows if row.region == code] for rows in said)
        found[code] = read_rules(found.get(code, NO_RULES), limits, labels, refusals)
    return MappingProxyType(found)


def _check_code(new: Region) -> None:
    if not re.fullmatch(CODE, new.code):
        detail = (
            f"{new.code[:80]!r} is not the code of a region. Write a country (XO), a subdivision (XO-KEL) "
            "or a locality under one (XO-KEL-EAST)."
        )
        raise Refused(detail, faults=(Fault(detail, ("code",)),))
    if new.parent is not None and not new.code.startswith(new.parent + "-"):
        above = new.code.rpartition("-")[0]
        detail = (
            f"{new.parent[:80]!r} cannot be the parent of {new.code}: a parent's code begins the child's."
        )
        raise Refused(detail, faults=(Fault(detail, ("parent",), (above,) if above else ()),))
