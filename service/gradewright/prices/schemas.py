"""The wire forms of price lists."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field

from gradewright.core.basis import without_spare
from gradewright.core.errors import Fault, GradewrightError, Refused
from gradewright.core.pricelist import PriceList, Shown
from gradewright.core.units import parse_mass
from gradewright.regions.schemas import RegionCode
from gradewright.web.fields import Day, In, KnownAt, Name, Out, Slug, TextForm
from gradewright.yards.schemas import YardSlug

Weight = Annotated[
    str,
    # Loose on purpose: the reader of weights says far better than a pattern what is wrong with one.
    TextForm(
        r"^[^\x00-\x1f\x7f]+$",
        says="a weight with its unit",
        example="2 lb 3 oz",
        longest=80,
    ),
]


class PriceQuery(In):
    """Which price list."""

    region: RegionCode | None = None
    yard: YardSlug | None = None
    on: Annotated[Day | None, Field(description="Prices of this day; default today (UTC).")] = None
    known_at: Annotated[KnownAt | None, Field(description="As known then; default now.")] = None
    weight: Annotated[Weight | None, Field(description="Prices for a lot of this weight.")] = None
    grade: Annotated[Name | None, Field(description="Only this grade.")] = None


class KinOut(Out):
    """The grade whose price stands in, and what it is multiplied by."""

    grade: Slug
    factor: str


class MovedLikelyOut(Out):
    """The likely price as it was `seen`, per one of the unit, and what it was multiplied by: `times`, from
    its benchmark's value `before` (of the day `before_on`) to `after`. Where kin stand in, it is the kin's.
    """

    seen: str
    seen_on: Day
    times: str
    before: str
    before_on: Day
    after: str
    after_on: Day


class MovedOut(Out):
    """How many of the entries moved with a benchmark since they were seen, by which share of its own move.

    `likely` is null where the likely price itself did not move.
    """

    benchmark: Slug
    share: str
    entries: int
    likely: MovedLikelyOut | None


class BasisOut(Out):
    """What a price rests on; `moved`: what of that moved with a benchmark."""

    kind: Literal["yard", "region", "parent", "kin"]
    place: str
    yards: int
    entries: int
    newest: Day
    oldest: Day
    thin: bool
    kin: KinOut | None
    says: str
    moved: MovedOut | None = None


class ShownOut(Out):
    """A price per one of the unit, with what it rests on."""

    low: str
    likely: str
    high: str
    per: str
    from_weight: str | None
    basis: BasisOut


class TierOut(Out):
    """The price for larger lots."""

    from_weight: str
    low: str
    likely: str
    high: str


class GradePriceOut(ShownOut):
    """The price of one grade."""

    grade: Slug
    name: str
    family: str
    tiers: list[TierOut]


class UnpricedOut(Out):
    """A grade without a price, and why."""

    grade: Slug
    because: str


class PriceListOut(Out):
    """A price list. `refuses`: the grades that are not taken there on the day; `unpriced` says since when."""

    region: RegionCode
    yard: str | None
    on: Day
    known_at: int
    currency: str
    rulebook: str
    prices: list[GradePriceOut]
    unpriced: list[UnpricedOut]
    refuses: list[Slug]


def lot_of(weight: str | None) -> Decimal:
    """The weight of a lot in grams; none was asked for: the price for any lot. Raises `Refused`."""
    if weight is None:
        return Decimal(0)
    try:
        return parse_mass(weight).grams
    except GradewrightError as error:
        suggestions = error.faults[0].suggestions if error.faults else ()
        raise Refused(error.detail, faults=(Fault(error.detail, ("weight",), suggestions),)) from error


def price_list(
    prices: PriceList, region: str, yard: str | None, known_at: int, grades: list[str], lot: Decimal
) -> PriceListOut:
    """The wire form of the prices of some grades, for lots of a weight in grams."""
    found: list[GradePriceOut] = []
    unpriced: list[UnpricedOut] = []
    for slug in grades:
        grade, price = prices.rulebook.grades[slug], prices.price(slug, lot)
        if price is None:
            unpriced.append(UnpricedOut(grade=slug, because=prices.why_unpriced(slug)))
            continue
        tiers = [_tier(tier.shown) for tier in prices.tiers(slug)]
        shown = {name: getattr(price.shown, name) for name in ShownOut.model_fields}
        shown |= _figures(price.shown)
        more = {"grade": slug, "name": grade.name, "family": grade.family, "tiers": tiers}
        found.append(GradePriceOut.model_validate({**shown, **more}, from_attributes=True))
    return PriceListOut(
        region=region,
        yard=yard,
        on=prices.on,
        known_at=known_at,
        currency=prices.currency,
        rulebook=prices.rulebook.version,
        prices=found,
        unpriced=unpriced,
        refuses=[slug for slug in grades if slug in prices.refused],
    )


def _tier(shown: Shown) -> TierOut:
    return TierOut(from_weight=shown.from_weight or "", **_figures(shown))


def _figures(shown: Shown) -> dict[str, str]:
    return {name: without_spare(getattr(shown, name)) for name in ("low", "likely", "high")}
