"""The wire forms of gradings: requests as they are checked, answers as they are documented."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from gradewright.core.units import parse_share
from gradewright.prices.schemas import ShownOut
from gradewright.rulebooks.fields import AttributeName, CautionOut, ConcernOut, Observed, RulebookVersion
from gradewright.valuations.schemas import (
    Confidence,
    HouseLimitOut,
    NextTestOut,
    Outcome,
    PlacedIn,
)
from gradewright.web.fields import Day, Out, Slug, TextForm

ShareOfPrice = Annotated[
    Decimal,
    TextForm(
        r"^[0-9]{1,2}(\.[0-9]{1,4})? ?%$",
        says="a share in percent, below 100 %",
        example="5 %",
        longest=10,
        read=parse_share,
    ),
]


class GradingIn(PlacedIn):
    """One part to be graded; with a place, candidates come with local prices."""

    observed: Observed
    rulebook: RulebookVersion | None = None
    on: Annotated[Day | None, Field(description="By the rulebook in force on this day; default today.")] = (
        None
    )
    skip: Annotated[
        list[AttributeName],
        Field(
            default_factory=list,
            max_length=100,
            description="Attributes that cannot be told, so that another is asked for.",
        ),
    ]
    alike_within: Annotated[
        ShareOfPrice | None,
        Field(
            description="Where the prices of all candidates lie within this share of the dearest, finding "
            "out more is not worth it, and nothing is asked; default 5 %."
        ),
    ] = None

    @model_validator(mode="after")
    def _one_place_at_most(self) -> GradingIn:
        if self.region is not None and self.yard is not None:
            raise PydanticCustomError("one_of", "give a region or a yard, or neither, not both")
        return self


class GradingCandidateOut(Out):
    """A grade that the part can still be, with its local price where a place was named."""

    grade: Slug
    name: str
    price: ShownOut | None


class NotWorthOut(Out):
    """That finding out more is not worth it: all candidates pay nearly the same.

    `lowest` and `highest` are the likely prices of the cheapest and the dearest, per one of the unit; `share`
    is the spread against the dearest, and `within` what was asked for.
    """

    cheapest: Slug
    dearest: Slug
    lowest: str
    highest: str
    spread: str
    per: str
    share: str
    within: str


class StepOut(Out):
    """One rule of the trace; `holds` is null where too little is known to say."""

    rule: Slug
    grade: Slug
    holds: bool | None
    why: str


class GradingOut(Out):
    """One part, graded."""

    rulebook: RulebookVersion
    currency: str | None
    outcome: Outcome
    grade: Slug | None
    name: str | None
    rule: Slug | None
    because: str | None
    source: str | None
    confidence: Confidence | None
    settled_by: Annotated[str | None, Field(description="What would settle it, where the rule is disputed.")]
    price: ShownOut | None
    says: str
    candidates: list[GradingCandidateOut]
    may_be_ungraded: bool
    next_test: NextTestOut | None
    not_worth: NotWorthOut | None
    in_doubt: Annotated[
        list[CautionOut],
        Field(
            description="Where prices are nearly the same, or nothing but what is skipped settles the grade: "
            "the cautions that what is not known decides on, and for whose sake alone the next test is asked "
            "for."
        ),
    ]
    house_limits: list[HouseLimitOut]
    trace: list[StepOut]
    cautions: list[ConcernOut]
