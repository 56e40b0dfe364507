"""A price list: for a region or yard, a day and a revision, every grade's price and what it rests on.

An immutable value. A grade that has no price of its own takes the nearest region's above, then its kin's
times a factor, and says so; otherwise it is unpriced and says why.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from itertools import pairwise
from types import MappingProxyType
from typing import Any

from gradewright.core.basis import Basis, Kin, MovedBasis, in_words, moved, shown_rate
from gradewright.core.better import Step
from gradewright.core.consensus import Memory, Quote
from gradewright.core.decimals import EXACT
from gradewright.core.house import NotTaken
from gradewright.core.nobody_alone import quoted
from gradewright.core.rates import Rate, Scale, scale
from gradewright.core.rulebook import Pricing, Rulebook
from gradewright.core.sightings import ENTRY, Entry, Sighting
from gradewright.core.spoken import NOTHING_SAID, Held, Said
from gradewright.core.units import MassUnit, plain
from gradewright.core.unpriced import Waiting, kin_of, unpriced, waits_in

NO_LOT = Decimal(0)
KILOGRAM = Decimal(1000)
NOTHING_REFUSED: Mapping[str, NotTaken] = MappingProxyType({})
NOTHING_BETTER: Mapping[str, tuple[Step, ...]] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Shown:
    """A price as answered: per one of the list's unit, with its basis."""

    low: str
    likely: str
    high: str
    per: str
    from_weight: str | None
    basis: Basis


@dataclass(frozen=True, slots=True, eq=False)
class Price:
    """What is behind a shown price, exactly; one for each grade and tier, so compared by identity."""

    likely: Rate
    scale: Scale
    shown: Shown


@dataclass(frozen=True, slots=True)
class Tier:
    """A quote that holds for lots of `from_grams` or more; `written` is how the from-weight was posted."""

    from_grams: Decimal
    written: str | None
    quote: Quote


Tiers = tuple[Tier, ...]


@dataclass(frozen=True, slots=True)
class Level:
    """One place to look for a price: the yard itself, its region, or a region above.

    `elsewise`: by grade, another currency in which it is posted there; nothing is converted. `held`: what
    waits instead of counting. `speaking`: by grade, of how many yards those whose prices are here were drawn.
    `waiting`: by grade, what of it waits where it has no price for any lot.
    """

    kind: str
    code: str
    name: str
    tiers: Mapping[str, Tiers]
    elsewise: Mapping[str, str] = field(default_factory=dict)
    held: Mapping[Entry, Held] = field(default_factory=dict)
    speaking: Mapping[str, int] = field(default_factory=dict)
    waiting: Mapping[str, Waiting] = field(default_factory=dict)


class PriceList:
    """Answers `price(grade, lot)`. Shared by all requests: what it answers never changes."""

    __slots__ = (
        "_cache",
        "_for_any_lot",
        "_levels",
        "_one_price",
        "better",
        "currency",
        "on",
        "place",
        "refused",
        "rulebook",
        "unit",
    )

    def __init__(
        self,
        rulebook: Rulebook,
        levels: Sequence[Level],
        *,
        on: date,
        currency: str,
        unit: MassUnit,
        refused: Mapping[str, NotTaken] = NOTHING_REFUSED,
        better: Mapping[str, tuple[Step, ...]] = NOTHING_BETTER,
    ) -> None:
        """`refused`: what the place does not take, by its own word or that of a region around it. `better`:
        by grade what its yards, or the yard itself, pay better from a weight on."""
        self.rulebook = rulebook
        self.on = on
        self.currency = currency
        self.unit = unit
        self.place = levels[0]
        self._levels = tuple(levels)
        self.refused = refused
        self.better = better
        self._cache: dict[tuple[str, Decimal], Price] = {}
        nearest = self._levels[0].tiers
        one_price = (slug for slug, tiers in nearest.items() if len(tiers) == 1 and not tiers[0].from_grams)
        self._one_price = frozenset(slug for slug in one_price if slug in rulebook.grades)
        self._for_any_lot: dict[str, Price] = {}

    def price(self, grade: str, lot_grams: Decimal = NO_LOT) -> Price | None:
        """The price of a grade for a lot of so many grams; None if there is none: see `why_unpriced`."""
        price = self.for_any_lot(grade)
        return price if price is not None else self._search(grade, lot_grams)

    def for_any_lot(self, grade: str) -> Price | None:
        """The price of a grade that has one here, whatever the lot; None where `price` has to be asked."""
        price = self._for_any_lot.get(grade)
        if (
            price is None and grade in self._one_price
        ):  # told when it is asked for: most lists are asked for few
            price = self._search(grade, NO_LOT)
            if price is not None:
                self._for_any_lot[grade] = price
        return price

    def _search(self, grade: str, lot_grams: Decimal) -> Price | None:
        """From the nearest place outwards, and then the same for kin."""
        if grade in self.refused:
            return None
        kin, factor = grade, Decimal(1)
        while True:
            for level in self._levels:
                tier = _tier(level.tiers.get(kin, ()), lot_grams)
                if tier is not None:
                    return self._priced(grade, kin, factor, level, tier)
            relation = self.rulebook.grades[kin]
            if relation.kin is None or relation.kin_factor is None:
                return None
            kin, factor = relation.kin, EXACT.multiply(factor, relation.kin_factor)

    def worth(self) -> dict[str, Decimal]:
        """The likely price per kilogram, for any lot, of every grade that has one."""
        found = ((grade, self.price(grade)) for grade in self.rulebook.grades)
        return {grade: price.likely.per(KILOGRAM) for grade, price in found if price is not None}

    def why_unpriced(self, grade: str, *, waiting: bool = True) -> str:
        """Why a grade has no price, and what would settle it. Without `waiting`, in the words of before what
        waits was told: see `core.unpriced`."""
        if grade in self.refused:
            return self.refused[grade].says(self.rulebook.grades[grade].name)
        return unpriced(grade, self.rulebook, self._levels, self.on, self.currency, waiting=waiting)

    def waits(self, grade: str) -> bool:
        """Whether what was posted of a grade without a price, or of what it is priced by, waits."""
        return any(
            waits_in(each, self._levels) is not None for each in (grade, *kin_of(grade, self.rulebook))
        )

    def tiers(self, grade: str) -> tuple[Price, ...]:
        """The prices for larger lots, ascending by from-weight."""
        steps = {
            tier.from_grams
            for level in self._levels
            for tier in level.tiers.get(grade, ())
            if tier.from_grams
        }
        prices = (self.price(grade, step) for step in sorted(steps))
        return tuple(price for price in prices if price is not None)

    def steps(self, grade: str) -> tuple[Decimal, ...]:
        """The weights of a lot, ascending, from each of which on a grade may have another price."""
        if self.for_any_lot(grade) is not None:
            return ()
        every = (grade, *kin_of(grade, self.rulebook))
        levels = [level.tiers.get(one, ()) for one in every for level in self._levels]
        starts = sorted({tier.from_grams for tiers in levels for tier in tiers if tier.from_grams})
        prices = [self.price(grade, start) for start in (NO_LOT, *starts)]
        steps = zip(starts, pairwise(prices), strict=True)
        return tuple(start for start, (before, price) in steps if price is not before)

    def _priced(self, grade: str, kin: str, factor: Decimal, level: Level, tier: Tier) -> Price:
        key = (grade, tier.from_grams)
        found = self._cache.get(key)
        if found is None:
            found = self._cache[key] = self._show(grade, kin if kin != grade else None, factor, level, tier)
        return found

    def _show(self, grade: str, kin: str | None, factor: Decimal, level: Level, tier: Tier) -> Price:
        q = tier.quote
        low, likely, high = (q.low.times(factor), q.likely.times(factor), q.high.times(factor))
        basis = self._basis(grade, kin, factor, level, q)
        shown = Shown(
            low=shown_rate(low, self.unit),
            likely=shown_rate(likely, self.unit),
            high=shown_rate(high, self.unit),
            per=self.unit.symbol,
            from_weight=tier.written,
            basis=basis,
        )
        return Price(likely, scale(low, likely, high, self.currency), shown)

    def _basis(self, grade: str, kin: str | None, factor: Decimal, level: Level, q: Quote) -> Basis:
        told: dict[str, Any] = {
            "kind": "kin" if kin else level.kind,
            "place": level.code,
            "yards": q.yards,
            "entries": q.entries,
            "newest": q.newest,
            "oldest": q.oldest,
            "thin": q.thin,
            "kin": Kin(kin, plain(factor)) if kin else None,
            "says": self._says(grade, kin, factor, level, q),
        }
        return Basis(**told) if q.moves is None else MovedBasis(**told, moved=moved(q.moves, self.unit))

    def _says(self, grade: str, kin: str | None, factor: Decimal, level: Level, q: Quote) -> str:
        age = (self.on - q.newest).days
        old = "today" if age == 0 else "yesterday" if age == 1 else f"{age} days old"
        among = level.speaking.get(kin or grade)
        drawn = f" of {among}" if among is not None else ""
        said = f"{q.yards}{drawn} yard{'s' if drawn or q.yards != 1 else ''} in {level.name}, newest {old}"
        if level.kind == "yard":
            said = f"{level.name}'s own price, {old}"
        if level.kind == "parent":
            said = f"none nearer; {said}"
        if q.moves is not None:
            said = f"{said}; {in_words(q.moves)}"
        if kin is not None:
            said = f"none of its own; {plain(factor)} of {self.rulebook.grades[kin].name} ({said})"
        return said


def tiers_of(
    sightings: Mapping[str, Sequence[Sighting]],
    on: date,
    pricing: Pricing,
    standing: Mapping[str, Decimal] | None = None,
    held: Collection[Entry] = (),
    said: Mapping[Entry, Said] = NOTHING_SAID,
) -> dict[str, Tiers]:
    """Per grade a quote for every from-weight posted; the held ones do not count, of what members have
    `said`."""
    found: dict[str, Tiers] = {}
    for grade, seen in sightings.items():
        # Of one from-weight in two spellings ("100 lb", "1600 oz") the newest stands.
        written = {s.from_grams: s.from_weight for s in sorted(seen, key=ENTRY)}
        memory: Memory = {}
        quotes = (
            (step, quoted(seen, on, step, pricing, standing, held, said, memory))
            for step in sorted({NO_LOT, *written})
        )
        tiers = tuple(Tier(step, written.get(step), q) for step, q in quotes if q is not None)
        if tiers:
            found[grade] = tiers
    return found


def _tier(tiers: Tiers, lot_grams: Decimal) -> Tier | None:
    """The tier of the highest from-weight that the lot reaches."""
    reached = None
    for tier in tiers:
        if tier.from_grams > lot_grams:
            break
        reached = tier
    return reached
