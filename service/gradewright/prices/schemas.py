"""The wire forms of postings, price lists and series."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from gradewright.core.consensus import Quote
from gradewright.core.decimals import plain
from gradewright.core.pricelist import PriceList, Shown, shown_rate
from gradewright.core.units import MassUnit
from gradewright.prices.postings import Given, Posting, PriceGiven
from gradewright.prices.service import Series
from gradewright.regions.schemas import CurrencyCode, RegionCode, UnitName
from gradewright.web.fields import (
    INSTANT,
    Day,
    In,
    Instant,
    Name,
    Out,
    Slug,
    TextForm,
    read_instant,
    whole_number,
)
from gradewright.web.pagination import CursorText

Evidence = Literal["ticket", "written-list", "sign", "told"]

MOST_PRICES = 500
LONGEST_NOTE = 500

Price = Annotated[
    Decimal,
    TextForm(
        r"^-?(0|[1-9][0-9]{0,8})(\.[0-9]{1,6})?$",
        read=Decimal,
        write=plain,
        says="a price as a string of plain digits; a charge has a minus sign",
        example="3.35",
    ),
]
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
Note = Annotated[
    str,
    TextForm(
        r"^[^\x00-\x08\x0b-\x1f\x7f]+$",
        says=f"text of at most {LONGEST_NOTE} characters",
        example="read off the board at the gate",
        longest=LONGEST_NOTE,
    ),
]


def _known_at(text: str) -> int | datetime:
    return int(text) if text.isdigit() else read_instant(text)


KnownAt = Annotated[
    int | datetime,
    TextForm(
        rf"^([0-9]{{1,15}}|{INSTANT[1:-1]})$",
        read=_known_at,
        says="a revision of the ledger, or an instant with its zone as in RFC 3339",
        example="312",
    ),
]


class PriceIn(In):
    """One price, of a grade (by slug, name or alias) or of a label of the yard."""

    grade: Name | None = None
    label: Name | None = None
    price: Price
    currency: CurrencyCode
    per: UnitName
    from_weight: Weight | None = None

    @model_validator(mode="after")
    def _one_name(self) -> PriceIn:
        if (self.grade is None) == (self.label is None):
            raise PydanticCustomError(
                "one_of", "give either a grade or a label, so that it is clear what was priced"
            )
        return self


class PostingIn(In):
    """Prices seen at one yard on one day."""

    yard: Slug
    observed_on: Day
    evidence: Evidence
    note: Note | None = None
    prices: Annotated[list[PriceIn], Field(min_length=1, max_length=MOST_PRICES)]

    def given(self) -> Given:
        """What the service takes."""
        prices = [
            PriceGiven(p.price, p.currency, p.per, p.grade, p.label, p.from_weight) for p in self.prices
        ]
        return Given(self.yard, self.observed_on, self.evidence, prices, self.note)


class EntryOut(Out):
    """One stored price, as posted."""

    line: int
    grade: Slug
    label: str | None
    price: Price
    currency: str
    per: str
    from_weight: str | None


class PostingOut(Out):
    """A stored posting."""

    id: str
    revision: int
    yard: Slug
    observed_on: Day
    evidence: Evidence
    author: str
    recorded_at: Instant
    note: str | None
    prices: list[EntryOut]

    @classmethod
    def of(cls, posting: Posting) -> PostingOut:
        """The wire form."""
        row = posting.row
        return cls.model_validate(
            {
                "id": row.id,
                "revision": row.revision,
                "yard": row.yard,
                "observed_on": row.observed_on,
                "evidence": row.evidence,
                "author": row.author,
                "recorded_at": row.recorded_at,
                "note": row.note,
                "prices": [
                    {name: getattr(entry, name) for name in EntryOut.model_fields}
                    for entry in posting.entries
                ],
            }
        )


class PostingList(Out):
    """Postings, newest first; `next` is the cursor of the page after this one."""

    postings: list[PostingOut]
    next: str | None


class PostingQuery(In):
    """Which postings."""

    yard: Slug | None = None
    region: RegionCode | None = None
    limit: whole_number(1, 200) = 50  # type: ignore[valid-type]
    cursor: CursorText | None = None


class PriceQuery(In):
    """Which price list."""

    region: RegionCode | None = None
    yard: Slug | None = None
    on: Annotated[Day | None, Field(description="Prices of this day; default today (UTC).")] = None
    known_at: Annotated[KnownAt | None, Field(description="As known then; default now.")] = None
    weight: Annotated[Weight | None, Field(description="Prices for a lot of this weight.")] = None
    grade: Annotated[Name | None, Field(description="Only this grade.")] = None


class KinOut(Out):
    """The grade whose price stands in, and what it is multiplied by."""

    grade: Slug
    factor: str


class BasisOut(Out):
    """What a price rests on."""

    kind: Literal["yard", "region", "parent", "kin"]
    place: str
    yards: int
    entries: int
    newest: Day
    oldest: Day
    thin: bool
    kin: KinOut | None
    says: str


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
    """A price list."""

    region: RegionCode
    yard: str | None
    on: Day
    known_at: int
    currency: str
    rulebook: str
    prices: list[GradePriceOut]
    unpriced: list[UnpricedOut]


class SeriesQuery(In):
    """Which span of a series."""

    since: Annotated[Day | None, Field(alias="from", description="Default: a year before `to`.")] = None
    until: Annotated[Day | None, Field(alias="to", description="Default: today (UTC).")] = None
    step: Literal["day", "week", "month"] = "week"
    known_at: KnownAt | None = None


class PointOut(Out):
    """One day; without a price where nothing counted on it."""

    on: Day
    low: str | None
    likely: str | None
    high: str | None
    yards: int
    newest: Day | None


class SeriesOut(Out):
    """The likely price of a grade over time."""

    region: RegionCode
    grade: Slug
    currency: str
    per: str
    known_at: int
    rulebook: str
    points: list[PointOut]

    @classmethod
    def of(cls, series: Series, rulebook: str) -> SeriesOut:
        """The wire form."""
        points = [_point(point.on, point.quote, series.unit) for point in series.points]
        return cls(
            region=series.region,
            grade=series.grade,
            currency=series.currency,
            per=series.unit.symbol,
            known_at=series.revision,
            rulebook=rulebook,
            points=points,
        )


def _point(on: date, quote: Quote | None, unit: MassUnit) -> PointOut:
    if quote is None:
        return PointOut(on=on, low=None, likely=None, high=None, yards=0, newest=None)
    low, likely, high = (shown_rate(rate, unit) for rate in (quote.low, quote.likely, quote.high))
    return PointOut(on=on, low=low, likely=likely, high=high, yards=quote.yards, newest=quote.newest)


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
    )


def _tier(shown: Shown) -> TierOut:
    return TierOut(from_weight=shown.from_weight or "", low=shown.low, likely=shown.likely, high=shown.high)
