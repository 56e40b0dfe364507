"""The yards that a haul may go to: what each pays for the grades that are asked about, and in which words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from gradewright.core.errors import CurrencyError, Fault, Refused
from gradewright.core.haul.plan import Buyer, Step
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.rulebook import Rulebook
from gradewright.core.units import parse_mass
from gradewright.prices.board import Place
from gradewright.prices.service import PriceService
from gradewright.yards.service import Atlas, Yard

MOST_YARDS = 12


@dataclass(frozen=True, slots=True)
class Offers:
    """One yard's prices, by grade and ascending by from-weight; what it refuses; its labels by grade."""

    yard: Yard
    prices: Mapping[str, tuple[tuple[Fraction, Price], ...]]
    refused: frozenset[str]
    labels: Mapping[str, tuple[str, ...]]

    def buyer(self) -> Buyer:
        """What the plan is made by."""
        steps = {
            grade: tuple(Step(at_least, price.scale) for at_least, price in offered)
            for grade, offered in self.prices.items()
        }
        return Buyer(steps, self.yard.rounding)


def yards_of(atlas: Atlas, region: str | None, yards: Iterable[str], revision: int) -> tuple[Yard, ...]:
    """The yards named, or all in a region as known then. Raises `Refused` for none and for too many,
    `CurrencyError` for several currencies.
    """
    at: tuple[str | int, ...] = ("region",)
    if region is None:
        at = ("yards",)
        found = tuple(atlas.yard(slug, revision, at=("yards", number)) for number, slug in enumerate(yards))
    else:
        found = atlas.under(atlas.region(region, revision).code, revision)
    if not found:
        detail = f"There is no yard in {region}. Ask for a region around it, or name yards."
        raise Refused(detail, faults=(Fault(detail, at),))
    if len(found) > MOST_YARDS:
        detail = (
            f"There are {len(found)} yards there; a haul looks at up to {MOST_YARDS}. Name them as yards."
        )
        raise Refused(detail, faults=(Fault(detail, at),))
    paying = {yard.currency: yard for yard in reversed(found)}
    if len(paying) > 1:
        told = " and ".join(f"{paying[code].name} pays in {code}" for code in sorted(paying))
        detail = f"{told}: nothing is converted. Name yards that pay in one currency."
        raise CurrencyError(detail, faults=(Fault(detail, at),))
    return found


async def offers_of(
    service: PriceService,
    yard: Yard,
    grades: Iterable[str],
    *,
    rulebook: Rulebook,
    on: date,
    revision: int,
    estimates: bool,
) -> Offers:
    """What a yard pays for some grades on a day as known at a revision. Without `estimates` its own prices
    alone; else what stands in for them too.
    """
    prices, _ = await service.list_for(Place(yard.region, yard.slug), rulebook, on, revision)
    found = {grade: tuple(_offered(prices, grade, estimates=estimates)) for grade in grades}
    labels: dict[str, tuple[str, ...]] = {}
    for label in (await service.atlas()).label_terms(yard.slug, on, revision):
        labels[label.grade] = (*labels.get(label.grade, ()), label.label)
    known = {grade: offered for grade, offered in found.items() if offered}
    return Offers(yard, known, frozenset(prices.refused), labels)


def _offered(prices: PriceList, grade: str, *, estimates: bool) -> Iterable[tuple[Fraction, Price]]:
    base = prices.price(grade)
    told = set()
    for price in ((base,) if base is not None else ()) + prices.tiers(grade):
        if price in told or (price.shown.basis.kind != "yard" and not estimates):
            continue
        told.add(price)
        from_weight = price.shown.from_weight
        yield Fraction(parse_mass(from_weight).grams) if from_weight else Fraction(0), price
