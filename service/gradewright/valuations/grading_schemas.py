"""The wire forms of gradings: requests as they are checked, answers as they are documented."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from gradewright.core.alike import ALIKE
from gradewright.core.errors import Fault, GradewrightError, Refused
from gradewright.core.units import parse_share
from gradewright.prices.schemas import ShownOut, Weight
from gradewright.rulebooks.fields import AttributeName, CautionOut, ConcernOut, Observed, RulebookVersion
from gradewright.valuations import weights
from gradewright.valuations.dialogue import A_KILOGRAM, Terms
from gradewright.valuations.schemas import (
    Confidence,
    HouseLimitOut,
    Money,
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
    hour_rate: Annotated[
        Money | None,
        Field(
            description="What an hour of work is worth, in the currency of the place; may be zero. Finding "
            "out more then has to add more on average than its minutes cost, by how common each candidate "
            "is, instead of `alike_within`. Without it nothing is called too dear to find out: an hour "
            "counts as what ten kilograms pay at the middle of the place's prices, and that only decides "
            "what is asked first."
        ),
    ] = None
    weight: Annotated[
        Weight | None,
        Field(description="Of the part, to hold money against minutes; default 1 kg. Goes with a place."),
    ] = None

    @model_validator(mode="after")
    def _one_place_at_most(self) -> GradingIn:
        if self.region is not None and self.yard is not None:
            raise PydanticCustomError("one_of", "give a region or a yard, or neither, not both")
        if self.hour_rate is not None and self.alike_within is not None:
            raise PydanticCustomError("one_of", "give an hour_rate or a share that is alike, not both")
        nowhere = self.region is None and self.yard is None
        if nowhere and (self.hour_rate, self.weight) != (None, None):
            raise PydanticCustomError(
                "place_needed", "an hour_rate and a weight are held against prices: give a region or a yard"
            )
        return self

    def terms(self) -> Terms:
        """When asking stops."""
        return Terms(
            ALIKE if self.alike_within is None else self.alike_within,
            A_KILOGRAM if self.weight is None else _weight(self.weight),
            self.hour_rate,
        )


def _weight(text: str) -> weights.Weight:
    try:
        return weights.weigh(text, 1)
    except GradewrightError as error:
        found = error.faults or (Fault(error.detail),)
        raise Refused(error.detail, faults=tuple(fault.under("weight") for fault in found)) from error


class GradingCandidateOut(Out):
    """A grade that the part can still be, with its local price where a place was named."""

    grade: Slug
    name: str
    price: ShownOut | None


class NotWorthOut(Out):
    """That finding out more is not worth it: all candidates pay nearly the same, or, with an `hour_rate`, it
    adds less than it costs.

    `lowest` and `highest` are the likely prices of the cheapest and the dearest, per one of the unit; `share`
    is the spread against the dearest, and `within` what was asked for. `adds` is what knowing the grade adds
    to that `weight`, against going as the cheapest, on average by how common each of them is.
    """

    cheapest: Slug
    dearest: Slug
    lowest: str
    highest: str
    spread: str
    per: str
    share: str
    within: Annotated[str | None, Field(description="Null with an `hour_rate`.")]
    weight: Annotated[str | None, Field(description="Null without an `hour_rate`, as is what follows.")]
    adds: str | None
    minutes: Annotated[
        str | None,
        Field(
            description="How long finding out takes on average, with a tenth of a minute for each question; "
            "where it could go too many ways for all to be looked at, how long the quickest test takes."
        ),
    ]
    costs: Annotated[str | None, Field(description="What these minutes cost, to the minor unit.")]


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
            description="Where prices are nearly the same, finding out costs more than it adds, or nothing "
            "but what is skipped settles the grade: the cautions that what is not known decides on, and for "
            "whose sake alone the next test is asked for."
        ),
    ]
    house_limits: list[HouseLimitOut]
    trace: list[StepOut]
    cautions: list[ConcernOut]
