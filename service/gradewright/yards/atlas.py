"""The map in memory: regions and yards, and what each says of limits, labels and grades, at any revision
and day."""

from __future__ import annotations

import difflib
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from operator import attrgetter
from types import MappingProxyType

from gradewright.core.errors import Fault, NotFound, Path
from gradewright.core.house import HouseRules, Label, NotTaken, OwnLimit, Refusal, Speaker, fold, last_words
from gradewright.core.house import known as _known
from gradewright.core.house_limits import HouseLimit
from gradewright.core.money import Rounding
from gradewright.regions.service import Region, RegionTree


class UnknownYard(NotFound):
    """No yard of that slug, or none yet at the revision asked for."""

    slug = "unknown-yard"


@dataclass(frozen=True, slots=True)
class Yard:
    """A yard, its terms, and all that it ever said of limits, labels and refusals."""

    slug: str
    name: str
    region: str
    currency: str
    unit: str
    rounding: Rounding
    cash_increment: Decimal | None
    labels: tuple[Label, ...] = ()
    refusals: tuple[Refusal, ...] = ()
    revision: int = 0
    limits: tuple[OwnLimit, ...] = ()

    @property
    def rules(self) -> HouseRules:
        """All that it ever said."""
        return HouseRules(self.limits, self.labels, self.refusals)


@dataclass(frozen=True, slots=True)
class House:
    """Where rules are said: a region, or one yard in it."""

    region: str
    yard: str | None = None

    @property
    def code(self) -> str:
        """The yard's slug or the region's code."""
        return self.yard or self.region


@dataclass(frozen=True, slots=True)
class Atlas:
    """All regions and yards. The same object is handed out until something is added to it.

    `revision` in every method: as known then; None for the newest. What a place says counts from its
    day on; of two words about one thing the later day wins, then the later revision. A yard's own word goes
    before its region's, and that before the word of the region above.
    """

    regions: RegionTree = field(default_factory=RegionTree)
    yards: Mapping[str, Yard] = field(default_factory=lambda: MappingProxyType({}))
    _limited: bool = field(init=False, compare=False)
    _inside: dict[str, tuple[Yard, ...]] = field(init=False, compare=False, repr=False, default_factory=dict)

    def __post_init__(self) -> None:
        limited = any(yard.limits for yard in self.yards.values())
        limited = limited or any(rules.limits for rules in self.regions.rules.values())
        object.__setattr__(self, "_limited", limited)

    def region(self, code: str, revision: int | None = None, *, at: Path = ("region",)) -> Region:
        """The region of that code. Raises `UnknownRegion`, pointing at `at`."""
        return self.regions.get(code, revision, at=at)

    def lineage(self, code: str, revision: int | None = None) -> tuple[str, ...]:
        """The region's code and those of the regions around it, nearest first."""
        return self.regions.lineage(code, revision)

    def yard(self, slug: str, revision: int | None = None, *, at: Path = ("yard",)) -> Yard:
        """The yard of that slug. Raises `UnknownYard`, pointing at `at`."""
        found = self.yards.get(slug)
        if found is not None and _known(found.revision, revision):
            return found
        if found is not None:
            detail = (
                f"The yard {slug} was not known yet at revision {revision}, but from {found.revision} on."
            )
            raise UnknownYard(detail, faults=(Fault(detail, at),))
        known = self.all(revision)
        near = difflib.get_close_matches(slug.lower(), [yard.slug for yard in known], n=3, cutoff=0.6)
        named = [yard.slug for yard in known if fold(yard.name) == fold(slug)]
        suggestions = tuple(dict.fromkeys([*named, *near]))
        listed = " or ".join(suggestions) or "one of GET /v1/yards"
        detail = f"There is no yard {slug[:80]!r}; write {listed}."
        raise UnknownYard(detail, faults=(Fault(detail, at, suggestions),))

    def all(self, revision: int | None = None) -> tuple[Yard, ...]:
        """The yards, by slug."""
        known = (yard for yard in self.yards.values() if _known(yard.revision, revision))
        return tuple(sorted(known, key=attrgetter("slug")))

    def under(self, region: str, revision: int | None = None) -> tuple[Yard, ...]:
        """The yards in a region and in all regions below it, by slug."""
        code = self.regions.get(region, revision).code
        here = self._inside.get(code)
        if here is None:  # once for each region: a country has thousands
            inside = self.regions.under(code)
            within = (yard for yard in self.yards.values() if yard.region in inside)
            here = self._inside[code] = tuple(sorted(within, key=attrgetter("slug")))
        return tuple([yard for yard in here if _known(yard.revision, revision)])

    def holds_all(self, region: str, revision: int | None = None) -> bool:
        """Whether no yard is outside of a region, as where a service is for one country."""
        known = sum(_known(yard.revision, revision) for yard in self.yards.values())
        return len(self.under(region, revision)) == known

    def speakers(self, region: str, yard: str | None, revision: int | None = None) -> Iterator[Speaker]:
        """Who has a word in a place, from the nearest outwards."""
        if yard is not None:
            said = self.yard(yard, revision)
            yield Speaker(said.slug, said.name, True, said.rules)
        for code in self.lineage(region, revision):
            yield Speaker(code, self.region(code).name, False, self.regions.rules_of(code))

    def limited(self, house: House) -> tuple[House, ...]:
        """The place itself, then the regions and yards in it with limits of their own: all others there have
        those of a region around them."""
        if house.yard is not None:
            return (house,)
        inside = sorted(self.regions.under(house.region) - {house.region})
        regions = (House(code) for code in inside if self.regions.rules_of(code).limits)
        yards = (House(yard.region, yard.slug) for yard in self.under(house.region) if yard.limits)
        return (house, *regions, *yards)

    def saying(self, house: House, said: HouseRules) -> Atlas:
        """The map as it would be if a place said more of its limits: the latest word of each day."""
        limits = tuple(replace(limit, revision=sys.maxsize) for limit in said.limits)
        if house.yard is not None:
            yard = self.yards[house.yard]
            changed = {house.yard: replace(yard, limits=(*yard.limits, *limits))}
            return replace(self, yards=MappingProxyType({**self.yards, **changed}))
        rules = self.regions.rules_of(house.region)
        more = {house.region: replace(rules, limits=(*rules.limits, *limits))}
        regions = replace(self.regions, rules=MappingProxyType({**self.regions.rules, **more}))
        return replace(self, regions=regions)

    def limits(
        self, region: str, yard: str | None, on: date, revision: int | None = None
    ) -> tuple[HouseLimit, ...]:
        """The limits that hold in a place on a day instead of the rulebook's, by name."""
        if not self._limited:  # every valuation asks
            return ()
        found: dict[str, HouseLimit] = {}
        for speaker in self.speakers(region, yard, revision):
            for name, said in last_words(speaker.rules.limits, on, revision).items():
                if said.given is not None and name not in found:
                    found[name] = HouseLimit(
                        name, said.given, speaker.code, speaker.within, said.valid_from, said.says
                    )
        return tuple(found[name] for name in sorted(found))

    def refusals(
        self, region: str, yard: str | None, on: date, revision: int | None = None
    ) -> dict[str, NotTaken]:
        """The grades that a place does not take on a day, and by whose word."""
        found: dict[str, NotTaken | None] = {}
        for speaker in self.speakers(region, yard, revision):
            for grade, said in last_words(speaker.rules.refusals, on, revision).items():
                taken = NotTaken(speaker.name, speaker.is_yard, said.valid_from, said.reason)
                found.setdefault(grade, None if said.lifted else taken)
        return {grade: not_taken for grade, not_taken in found.items() if not_taken is not None}

    def labels(self, slug: str, on: date, revision: int | None = None) -> tuple[str, ...]:
        """The labels in use at a yard on a day, as they are written there."""
        return tuple(label.label for label in self.label_terms(slug, on, revision))

    def label_terms(self, slug: str, on: date, revision: int | None = None) -> tuple[Label, ...]:
        """The labels in use at a yard on a day, with the grades that they stand for."""
        return tuple(self.label_table(self.yard(slug, revision).region, slug, on, revision).values())

    def grade_for_label(self, slug: str, label: str, on: date, revision: int | None = None) -> str | None:
        """The grade that a label stands for at a yard on a day; None where it stands for none."""
        found = self.label_table(self.yard(slug, revision).region, slug, on, revision).get(fold(label))
        return found.grade if found else None

    def label_begins(self, slug: str, label: str, after: date, revision: int | None = None) -> date | None:
        """The first day after `after` on which a label stands for a grade at a yard; None: never."""
        region, folded = self.yard(slug, revision).region, fold(label)
        days = {
            said.valid_from
            for speaker in self.speakers(region, slug, revision)
            for said in speaker.rules.labels
            if said.valid_from > after and fold(said.label) == folded
        }
        there = (day for day in sorted(days) if self.grade_for_label(slug, label, day, revision) is not None)
        return next(there, None)

    def refused(self, slug: str, on: date, revision: int | None = None) -> frozenset[str]:
        """The grades that a yard does not take on a day."""
        return frozenset(self.refusals(self.yard(slug, revision).region, slug, on, revision))

    def label_table(
        self, region: str, yard: str | None, on: date, revision: int | None = None
    ) -> dict[str, Label]:
        """The labels in use in a place on a day, by their folded text."""
        found: dict[str, Label] = {}
        for speaker in self.speakers(region, yard, revision):
            for folded, said in last_words(speaker.rules.labels, on, revision).items():
                found.setdefault(folded, said)
        return {folded: said for folded, said in found.items() if not said.lifted}
