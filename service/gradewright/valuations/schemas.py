"""The wire forms of valuations: requests as they are checked, answers as they are documented."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field, StrictInt, model_validator
from pydantic_core import PydanticCustomError

from gradewright.db.knowing import KnownAt
from gradewright.prices.schemas import ShownOut, Weight
from gradewright.regions.schemas import RegionCode
from gradewright.rulebooks.fields import AttributeName, ConcernOut, Observed, RulebookVersion
from gradewright.valuations.parts import PartGiven
from gradewright.valuations.service import Request
from gradewright.web.fields import Day, In, Instant, Name, OneOf, Out, Slug, TextForm
from gradewright.yards.house_schemas import LimitName
from gradewright.yards.schemas import YardSlug

MOST_PARTS = 1000
MOST_PIECES = 1_000_000


Money = Annotated[
    Decimal,
    TextForm(
        r"^(0|[1-9][0-9]{0,8})(\.[0-9]{1,6})?$",
        read=Decimal,
        says="money in the currency of the place as a string of plain digits",
        example="15.00",
        longest=16,
    ),
]


class PartIn(In):
    """A piece, or several alike."""

    name: Name
    count: Annotated[int, Field(ge=1, le=MOST_PIECES)] = 1
    weight: Annotated[Weight | None, Field(description="Of all pieces together.")] = None
    weight_each: Annotated[Weight | None, Field(description="Of one piece.")] = None
    observed: Observed | None = None
    grade: Annotated[Name | None, Field(description="Instead of `observed`: slug, name or alias.")] = None

    @model_validator(mode="after")
    def _one_of_each(self) -> PartIn:
        if (self.weight is None) == (self.weight_each is None):
            raise PydanticCustomError("one_of", "give either weight (all pieces together) or weight_each")
        if (self.observed is None) == (self.grade is None):
            raise PydanticCustomError("one_of", "give either what was observed or the grade")
        return self


class PlacedIn(In):
    """A request about prices in one place."""

    region: RegionCode | None = None
    yard: YardSlug | None = None


class ValuationIn(PlacedIn):
    """Parts to be valued."""

    on: Annotated[Day | None, Field(description="The day of the prices; default today (UTC).")] = None
    known_at: Annotated[
        Annotated[
            Annotated[StrictInt, Field(ge=0, le=10**15)] | Instant,
            OneOf(
                "write a revision of the ledger as a whole number, or an instant with its zone as in "
                'RFC 3339, such as "2026-05-04T09:12:00Z"'
            ),
        ]
        | None,
        Field(description="A revision of the ledger or an instant; default now."),
    ] = None
    rulebook: Annotated[RulebookVersion | None, Field(description="Default: in force on the day.")] = None
    hour_rate: Annotated[
        Money | None,
        Field(
            description="What an hour of work is worth, in the currency of the place; may be zero. Finding "
            "out more about a part then has to add more to its amount on average than its minutes cost, "
            "instead of a share of the price. What a danger depends on is asked for all the same. Without it "
            "an hour counts as what ten kilograms pay at the middle of the place's prices, which only "
            "decides what is asked first."
        ),
    ] = None
    keep: Annotated[bool, Field(description="Keep the answer, to be read and replayed later.")] = False
    parts: Annotated[list[PartIn], Field(min_length=1, max_length=MOST_PARTS)]

    @model_validator(mode="after")
    def _one_place(self) -> ValuationIn:
        if (self.region is None) == (self.yard is None):
            raise PydanticCustomError("one_of", "give either a region or a yard")
        return self

    def request(self) -> Request:
        """What the service takes."""
        parts = tuple(
            PartGiven(p.name, p.count, p.weight, p.weight_each, p.observed, p.grade) for p in self.parts
        )
        known_at: KnownAt = self.known_at
        return Request(parts, self.region, self.yard, self.on, known_at, self.rulebook, self.hour_rate)


Outcome = Literal["graded", "named", "undecided", "contradiction", "ungraded"]
Confidence = Annotated[
    Literal["published", "common-practice", "disputed", "house-rule"],
    Field(
        description="How sure the rule is that gives the grade. `house-rule`: a limit of the place's own "
        "decided, which nobody else has published (`house_limits` tells it)."
    ),
]


class AmountOut(Out):
    """Money in the valuation's currency."""

    low: str
    likely: str
    high: str


class WeightOut(Out):
    """A weight as given, exactly in kilograms, and in both notations for people."""

    given: str
    kg: str
    shown: str


class CandidateOut(Out):
    """A grade that the part can still be, and what it would come to."""

    grade: Slug
    name: str
    amount: AmountOut | None


class NextTestOut(Out):
    """What to find out next."""

    attribute: AttributeName
    asks: str
    kind: Literal["choice", "yes_no", "length", "share", "area", "density", "year", "date"]
    choices: dict[str, str] | None
    test: str
    minutes: str
    beware: str


class RaiseStepOut(Out):
    """One preparation of a sequence, and how long it takes."""

    preparation: Slug
    name: str
    how: str
    minutes: str
    cautions: list[Slug]


class ShedOut(Out):
    """What is taken off and goes to a pile of its own; `amount` is null where that has no price."""

    grade: Slug
    grade_name: str
    weight_kg: str
    amount: str | None


class RaiseOut(Out):
    """Work that makes a part worth more: preparations one after the other, with what that adds to what the
    part comes to now; by method 5 also on a part whose grade has no price: then `gain` is all that it brings,
    counted from nothing, as `unpriced` says. `preparation` and `how` are null where there are several steps.

    Listed best per hour first. No other sequence adds as much in less time. Of more than five such sequences
    those that add the most in an hour are listed, and always the one that adds the most in all. Answers of
    method 1 have single preparations only, without `steps`, `kept_kg`, `shed`, `lost_kg` and `best`.

    `about_pieces`: only where `minutes` depend on how many pieces the part is, it weighs far more than one
    device of its kind by what was recorded, and its count is 1: of how many they are.
    """

    about_pieces: int | None = None
    preparation: Slug | None
    name: str
    how: str | None
    minutes: str
    grade: Slug
    grade_name: str
    gain: str
    per_hour: str | None
    cautions: list[Slug]
    steps: list[RaiseStepOut] = Field(default_factory=list)
    kept_kg: Annotated[str | None, Field(description="The weight that is left, to the milligram.")] = None
    shed: list[ShedOut] = Field(default_factory=list)
    lost_kg: Annotated[str | None, Field(description="The weight that ends up in no grade.")] = None
    best: Annotated[
        list[Literal["by the hour", "in all"]],
        Field(
            default_factory=list,
            description="What no other sequence of work does better for this part, where what comes off is "
            "sold as it is; empty where too many orders of work are possible for all to be tried.",
        ),
    ]


class HouseLimitOut(Out):
    """A limit of the place that decided, in its own words, and how the rulebook writes its own."""

    limit: LimitName
    value: str
    instead_of: str
    place: str
    since: Annotated[Day, Field(alias="from")]
    says: str


class AlikeOut(Out):
    """Why finding out more is not worth it: the cheapest and the dearest that the part can be, and what lies
    between them. Without an `hour_rate`, as a share of the price; with one, as money for this part, against
    what the tests would cost.
    """

    cheapest: Slug
    dearest: Slug
    share: Annotated[str, Field(description="There only without an hourly rate, as is `within`.")] = ""
    within: str = ""
    spread: Annotated[
        str,
        Field(description="What knowing adds at most. There only with an hourly rate, as is what follows."),
    ] = ""
    minutes: Annotated[
        str,
        Field(
            description="How long finding out takes on average, with a tenth of a minute for each question; "
            "where it could go too many ways for all to be looked at, how long the quickest test takes. By "
            "method 3, how long the next test takes."
        ),
    ] = ""
    costs: Annotated[str, Field(description="What these minutes cost, to the minor unit.")] = ""
    adds: Annotated[
        str,
        Field(
            description="What knowing adds on average, by how common each grade is, against going as the "
            "cheapest. There by method 4 and later."
        ),
    ] = ""


class LineOut(Out):
    """One part, answered. `house_limits` is there only where the place's own limits decided, `settled_by`
    only where the rule is disputed and the rulebook says what would settle it.
    """

    name: str
    count: int
    weight: WeightOut
    outcome: Outcome
    grade: Slug | None
    grade_name: str | None
    rule: Slug | None
    because: str | None
    source: str | None
    confidence: Confidence | None
    candidates: list[CandidateOut]
    next_test: NextTestOut | None
    price: ShownOut | None
    amount: AmountOut | None
    unpriced: str | None
    raises: list[RaiseOut]
    cautions: Annotated[
        list[Slug],
        Field(
            description="All that concern the part, or can still turn out to: what is not known is taken "
            "for the worst. By methods 1 and 2 only those that are certain."
        ),
    ]
    possible_cautions: Annotated[
        list[Slug],
        Field(
            default_factory=list,
            description="Those of `cautions` that are not certain, as they depend on what is not known of "
            "the part: of one whose grade is only named, all that do not list that grade (by method 3 they "
            "were taken for certain). There only where there are any.",
        ),
    ]
    house_limits: list[HouseLimitOut] = Field(default_factory=list)
    settled_by: str = ""
    not_worth: Annotated[
        AlikeOut | None,
        Field(description="There only where finding out more about an undecided part is not worth it."),
    ] = None
    in_doubt: Annotated[
        list[Slug],
        Field(
            default_factory=list,
            description="There only where the next test is asked for the sake of these cautions alone.",
        ),
    ]


class PileOut(Out):
    """All parts of one grade together."""

    grade: Slug
    name: str
    weight_kg: str
    lines: int
    amount: AmountOut | None


class TotalsOut(AmountOut):
    """Sums of the priced lines."""

    cash: str | None
    priced: int
    unpriced: int


class PinsOut(Out):
    """What the answer depends on; `sha256` is that of the answer's bytes without this member."""

    rulebook: RulebookVersion
    revision: int
    method: str
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class TakeApartOut(Out):
    """A part that pays more apart, as people found who opened such devices: `gain` over what it pays whole.

    `up_to_per_hour`: that gain in an hour of such work, rounded down. `unpriced`: grades that come out of it,
    have no price here and are counted as nothing. `cautions` are among the valuation's. `about_pieces`: only
    where the part weighs far more than one such device, its count is 1 and no `weight_each` was told: as how
    many it counts.
    `licence`: only where opening one is for those alone who hold a licence; others leave it whole.
    """

    kind: Literal["take-apart"]
    part: Annotated[int, Field(description="Which of `parts`, from 0.")]
    device: Annotated[Slug, Field(description="The kind of device; see /v1/compositions.")]
    devices: Annotated[int, Field(description="How many of them that rests on.")]
    gain: str
    minutes: str
    about_pieces: int | None = None
    up_to_per_hour: str
    licence: bool = False
    unpriced: list[Slug]
    cautions: list[Slug]
    says: str


class ShortOut(Out):
    """What a pile is short of, exactly in kilograms, and in both notations for people."""

    kg: str
    shown: str


class HoldOut(Out):
    """A pile that a yard pays better from a weight on; `gain` is what the present weight would pay more."""

    kind: Literal["hold"]
    grade: Slug
    yard: YardSlug
    from_weight: str
    short: ShortOut
    gain: str
    says: str


PointerOut = Annotated[TakeApartOut | HoldOut, Field(discriminator="kind")]


class ValuationOut(Out):
    """Parts, valued. `hour_rate` is there only where one was given."""

    region: RegionCode
    yard: str | None
    on: Day
    currency: str
    hour_rate: str = ""
    complete: bool
    parts: list[LineOut]
    piles: list[PileOut]
    totals: TotalsOut
    missing: list[str]
    pointers: Annotated[
        list[PointerOut],
        Field(
            default_factory=list,
            description="What would pay beside it, the largest gain first. There by method 3 and later.",
        ),
    ]
    cautions: list[ConcernOut]
    pins: PinsOut
