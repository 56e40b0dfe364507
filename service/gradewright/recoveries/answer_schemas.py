"""The wire forms of recoveries, as they are answered."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from gradewright.prices.schemas import ShownOut
from gradewright.regions.schemas import RegionCode
from gradewright.rulebooks.fields import AttributeName, ConcernOut
from gradewright.valuations.schemas import AmountOut, HouseLimitOut, Outcome, PinsOut
from gradewright.web.fields import Day, Out, Slug


class SpanOut(Out):
    """Low, likely and high, as text."""

    low: str
    likely: str
    high: str


class EndsOut(Out):
    """The two ends of what is possible. There is no likely one."""

    low: str
    high: str


class CopperOut(SpanOut):
    """The copper share of the weight in percent, rounded outwards, as the observation `copper_share`.

    `by_copper_number` is what cable tables' 9.6 kg/km for each mm2 would make of it: for invoices, and used
    only as the most that there can be.
    """

    attribute: AttributeName
    by_copper_number: str | None
    grams_per_metre: SpanOut | None
    strand_mm: SpanOut | None
    rests_on: list[str]
    says: str


class PublishedOut(Out):
    """A published density that fits."""

    material: str
    low: str
    high: str
    source: str


class MetalOut(Out):
    """A metal that the rulebook does not rule out at that density; `published` is empty where none fits."""

    metal: str
    published: list[PublishedOut]


class DensityOut(SpanOut):
    """The density, rounded outwards, as the observation `density`, and every metal that it leaves.

    Nothing is heavier than its metal, so lighter ones are left out; a hollow piece may be any heavier one
    that the rulebook allows. `unlisted` are materials that fit and that the rulebook has no word for.
    """

    attribute: AttributeName
    metals: list[MetalOut]
    unlisted: list[PublishedOut]
    rests_on: list[str]
    says: str


class BandOut(Out):
    """Shares that make one grade; `grade` is null where more has to be known."""

    start: Annotated[str, Field(alias="from")]
    to: str
    grade: Slug | None


class RecoveryCandidateOut(Out):
    """A grade that is left, with its price where a place was named."""

    grade: Slug
    name: str
    price: ShownOut | None


class SpannedGradingOut(Out):
    """The grades that the whole range leaves; `grade` only where there is one."""

    outcome: Outcome
    grade: Slug | None
    because: str | None
    candidates: list[RecoveryCandidateOut]
    may_be_ungraded: bool
    bands: list[BandOut]
    house_limits: list[HouseLimitOut]


class StrippingOut(Out):
    """The lot as it is and stripped. Without amounts, `unpriced` says what is wanting.

    The ends are those of share and prices together. `break_even_minutes` are those for the lot at which an
    hour of stripping adds just the hour's rate, rounded down; null at a rate of zero. `disposal` is what it
    costs to be rid of the insulation, and off the `gain` and all that follows from it. Methods 1 and 2 did
    not ask for it and have neither that nor `insulation_kg`.
    """

    lot_kg: str
    minutes: str
    hour_rate: str
    wire: Slug | None
    bare: Slug | None
    copper_kg: SpanOut | None
    as_is: AmountOut | None
    stripped: AmountOut | None
    insulation_kg: SpanOut | None = None
    disposal: AmountOut | None = None
    gain: AmountOut | None
    per_hour: AmountOut | None
    break_even_minutes: SpanOut | None
    break_even_minutes_per_kg: SpanOut | None
    pays: bool | None
    unpriced: str | None
    says: str


class PreciousMetalOut(Out):
    """One metal: what there may be of it, what is paid for, and what that comes to, less refining."""

    metal: Literal["gold", "silver", "palladium", "platinum"]
    content_g_per_t: EndsOut
    source: str
    price: str
    there_g: EndsOut
    paid_for_g: EndsOut
    amount: EndsOut


class PreciousOut(Out):
    """Everything as two ends: an indication, not an assay, and never part of a valuation's totals."""

    lot_kg: EndsOut
    metals: list[PreciousMetalOut]
    charges: EndsOut
    amount: EndsOut
    too_small: bool
    says: str


class RecoveryOut(Out):
    """What of a thing is metal that pays; members that its kind does not have are null."""

    kind: Literal["cable", "sample", "displacement", "assay"]
    region: RegionCode | None
    yard: str | None
    on: Day
    currency: str | None
    copper: CopperOut | None
    density: DensityOut | None
    grading: SpannedGradingOut | None
    stripping: StrippingOut | None
    precious: PreciousOut | None
    notes: list[str]
    cautions: list[ConcernOut]
    pins: PinsOut
