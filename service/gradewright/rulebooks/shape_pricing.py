"""The shape of a rulebook's `pricing`: how prices count, wait, age and spread."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import AfterValidator, Field, StrictBool, StrictInt, model_validator

from gradewright.core.units import parse_share
from gradewright.rulebooks.shape_fields import Exact, Share, Slug, Strict

EVIDENCE = ("ticket", "written-list", "sign", "told")
"""What a member can have seen a price on; the weight of each is the rulebook's."""


def _part_of_the_price(text: str) -> str:
    if parse_share(text) >= 1:
        raise ValueError("a margin is below 100 %: with all of the price, the low one would be nothing")
    return text


def _each_kind(evidence: dict[str, Decimal]) -> dict[str, Decimal]:
    for kind in EVIDENCE:
        if kind not in evidence:
            raise ValueError(f"`{kind}` is missing: write the weight of such a price, from 0 to 1")
    for kind in evidence:
        if kind not in EVIDENCE:
            raise ValueError(f"`{kind}` is no kind of evidence: write {', '.join(EVIDENCE)}")
    return evidence


Weight = Annotated[Exact, Field(gt=0, le=1)]
"""From above nothing to a full voice."""


class FewShape(Strict):
    yards: StrictInt = Field(ge=2, le=99)
    factor: Annotated[Exact, Field(ge=Decimal("1.5"), le=1000)]


class HeldShape(Strict):
    enough_yards: StrictInt = Field(ge=2, le=100)
    outlier: Annotated[Exact, Field(ge=1, le=100)]
    spread_floor: Annotated[Share, AfterValidator(_part_of_the_price)]
    factor: Annotated[Exact, Field(gt=1, le=1000)]
    agrees_within: Annotated[Share, AfterValidator(_part_of_the_price)]
    contradicted_within: StrictInt = Field(ge=0, le=365)
    few: FewShape | None = None
    without_any_one: StrictBool = False
    words_weighed: StrictBool = False
    borne_out_at_most: Annotated[Share, AfterValidator(_part_of_the_price)] | None = None
    heavier_of_two: StrictBool = False
    within_others: StrictBool = False

    @model_validator(mode="after")
    def _fewer(self) -> HeldShape:
        if self.few is not None and self.few.yards >= self.enough_yards:
            raise ValueError("`few` is for fewer yards than `enough_yards`: write a smaller number of yards")
        return self


class StandingShape(Strict):
    newcomer: Weight
    settled_postings: StrictInt = Field(ge=1, le=1000)
    settled_days: StrictInt = Field(ge=0, le=3650)
    rejected: Weight
    least: Weight
    one_voice: StrictBool = False
    least_by_settled: StrictBool = False
    by_record: StrictBool = False


class BenchmarksShape(Strict):
    stale_after: StrictInt = Field(ge=1, le=3650)


class SpreadShape(Strict):
    off_by: Annotated[Share, AfterValidator(_part_of_the_price)]
    per_day: Annotated[Share, AfterValidator(_part_of_the_price)]
    at_most: Annotated[Share, AfterValidator(_part_of_the_price)]


class PricingShape(Strict):
    stale_after: StrictInt = Field(ge=1, le=3650)
    half_life: StrictInt = Field(ge=1, le=3650)
    evidence: Annotated[dict[Slug, Exact], AfterValidator(_each_kind)]
    thin_below: StrictInt = Field(ge=1, le=100)
    thin_margin: Annotated[Share, AfterValidator(_part_of_the_price)] | None = None
    held: HeldShape | None = None
    standing: StandingShape | None = None
    benchmarks: BenchmarksShape | None = None
    spread: SpreadShape | None = None
    most_yards_above: Annotated[StrictInt, Field(ge=3, le=10_000)] | None = None

    @model_validator(mode="after")
    def _margin_or_spread(self) -> PricingShape:
        if (self.thin_margin is None) == (self.spread is None):
            raise ValueError(
                "write either `thin_margin`, which widens low and high where yards are few, or `spread`, "
                "which gives both for any number of yards"
            )
        return self
