"""Why a grade has no price, and what would settle it.

A price that waits is seen by nobody but its author and maintainers. Of those that do only how many there are
is told here, of how many yards: neither what one says nor who says it, nor which yards these are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from gradewright.core.rulebook import Rulebook
from gradewright.core.sightings import Entry, Sighting
from gradewright.core.spoken import Held
from gradewright.core.timeline import days_before

if TYPE_CHECKING:
    from gradewright.core.pricelist import Level, Tiers

DISPUTED = "disputed"


@dataclass(frozen=True, slots=True)
class Waiting:
    """How many prices of how many yards wait: what each author said last, for smaller lots than any that
    has a price. Some of them are `far` from what others are paid, some are `disputed`.
    """

    prices: int
    yards: int
    far: bool
    disputed: bool

    def says(self, grade: str, place: str, below: str | None, bring: str | None) -> str:
        """In words. `below`: from which weight on prices count in the place; `bring`: from which on there is
        one at all, also of further away.
        """
        prices = "1 price" if self.prices == 1 else f"{self.prices} prices"
        yards = "1 yard" if self.yards == 1 else f"{self.yards} yards"
        far = ["far from what others are paid"] if self.far else []
        why = " or ".join([*far, *(["disputed by other members"] if self.disputed else [])])
        each = "" if self.prices == 1 else "each "
        smaller = "" if below is None else f" for less than {below}"
        do = "Ask" if bring is None else f"Bring {bring} or more, or ask"
        others = "enough others post or confirm" if self.disputed else "another member posts or confirms"
        return (
            f"What was posted for {grade} in {place}{smaller} waits and does not count yet: {prices} of "
            f"{yards}, {each}{why}. {do} a yard, and post what it pays: a price counts as soon as {others} "
            "the like at its yard, or a maintainer accepts it."
        )


def waiting_of(
    sightings: Mapping[str, Sequence[Sighting]], tiers: Mapping[str, Tiers], held: Mapping[Entry, Held]
) -> dict[str, Waiting]:
    """By grade, what waits where nothing counts for so small a lot: `tiers` are of what counts."""
    found = {}
    for grade, seen in sightings.items() if held else ():
        counts_from = tiers[grade][0].from_grams if grade in tiers else None
        if counts_from == 0:
            continue
        said: dict[tuple[str, str, Decimal], str] = {}
        for s in sorted(seen, key=lambda s: (s.observed_on, s.entry)):
            if s.entry in held and (counts_from is None or s.from_grams < counts_from):
                said[s.yard, s.author, s.from_grams] = held[s.entry].because
        if said:
            yards, why = {yard for yard, _, _ in said}, set(said.values())
            found[grade] = Waiting(len(said), len(yards), why != {DISPUTED}, DISPUTED in why)
    return found


def unpriced(
    grade: str, rulebook: Rulebook, levels: Sequence[Level], on: date, currency: str, *, waiting: bool
) -> str:
    """Why a grade that is taken has no price in the places from the nearest outwards. Without `waiting`, as
    it was told before prices that wait were: as if nobody had posted them.
    """
    name = rulebook.grades[grade].name
    where = waits_in(grade, levels) if waiting else None
    if where is not None:
        return _waits(grade, rulebook, levels, where)
    smallest = _smallest(grade, levels)
    if smallest is not None:
        return f"{name} is posted only for lots of {smallest} or more. Bring more, or ask the yard."
    other = next((level for level in levels if grade in level.elsewise), None)
    if other is not None:
        return (
            f"{name} is posted in {other.name} in {other.elsewise[grade]}, and prices here are in "
            f"{currency}: nothing is converted. Ask for a yard that pays in {other.elsewise[grade]}."
        )
    since = days_before(on, rulebook.pricing.stale_after).isoformat()
    nobody = f"Nobody has posted a price for {name} in {levels[0].name} or above it since {since}"
    for kin in kin_of(grade, rulebook) if waiting else ():
        where = waits_in(kin, levels)
        if where is not None:
            told = _waits(kin, rulebook, levels, where)
            return f"{nobody}, and it would be priced by {rulebook.grades[kin].name}. {told}"
    return f"{nobody}, nor for anything it is priced by. Ask a yard, and post what it pays."


def waits_in(grade: str, levels: Sequence[Level]) -> Level | None:
    """The nearest place where something of a grade waits."""
    return next((level for level in levels if grade in level.waiting), None)


def kin_of(grade: str, rulebook: Rulebook) -> Iterator[str]:
    """What a grade is priced by where it has no price of its own, the nearest first."""
    relation = rulebook.grades[grade]
    while relation.kin is not None and relation.kin_factor is not None:
        yield relation.kin
        relation = rulebook.grades[relation.kin]


def _waits(grade: str, rulebook: Rulebook, levels: Sequence[Level], where: Level) -> str:
    name, here = rulebook.grades[grade].name, _smallest(grade, [where])
    return where.waiting[grade].says(name, where.name, here, _smallest(grade, levels))


def _smallest(grade: str, levels: Sequence[Level]) -> str | None:
    """From which weight on a grade is priced, where it is for larger lots alone."""
    priced = (tier for level in levels for tier in level.tiers.get(grade, ()))
    smallest = min(priced, key=lambda tier: tier.from_grams, default=None)
    return None if smallest is None else smallest.written
