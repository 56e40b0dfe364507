"""The wire forms of requests for teardowns; see `answer_schemas` for what is answered."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Literal, Self

from pydantic import Field, StrictInt, model_validator
from pydantic_core import PydanticCustomError

from gradewright.db.knowing import KnownAt
from gradewright.prices.schemas import Weight
from gradewright.rulebooks.fields import Observed, RulebookVersion
from gradewright.teardowns.given import (
    KindGiven,
    LeftGiven,
    ListedGiven,
    NodeGiven,
    OpeningGiven,
    Request,
    SpanGiven,
    WeightGiven,
)
from gradewright.teardowns.reading import MOST_NODES, MOST_PIECES
from gradewright.valuations.schemas import Money, PlacedIn
from gradewright.web.fields import Day, In, Instant, Name, OneOf, TextForm

MOST_LOTS = 200

Minutes = Annotated[
    Decimal,
    TextForm(
        r"^(0|[1-9][0-9]{0,5})(\.[0-9]{1,4})?$",
        read=Decimal,
        says="minutes, zero or more, as a string of plain digits",
        example="4.5",
        longest=12,
    ),
]
SignedMoney = Annotated[
    Decimal,
    TextForm(
        r"^-?(0|[1-9][0-9]{0,8})(\.[0-9]{1,6})?$",
        read=Decimal,
        says="money in the currency of the place as a string of plain digits, below zero what is paid for it",
        example="2.00",
        longest=17,
    ),
]
CautionText = Annotated[
    str,
    TextForm(
        r"^[^\x00-\x20\x7f]([^\x00-\x1f\x7f]*[^\x00-\x20\x7f])?$",
        says="the id of a caution of the rulebook, or what to beware of in a few words",
        example="The belt is under tension: hold it before the bolts come out.",
        longest=300,
    ),
]
Cautions = Annotated[list[CautionText], Field(max_length=20)]


class SpanIn(In):
    """A weight that is not known exactly: the least, the likely one, the most."""

    low: Weight
    likely: Weight
    high: Weight

    def given(self) -> SpanGiven:
        """What the service takes."""
        return SpanGiven(self.low, self.likely, self.high)


Weighed = Annotated[
    Weight | SpanIn, OneOf('write a weight with its unit, such as "2 lb 3 oz", or low, likely and high')
]


def _weight(given: str | SpanIn | None) -> WeightGiven | None:
    return given.given() if isinstance(given, SpanIn) else given


class LeftIn(In):
    """What is left over of one piece once it is opened, with what stays on it: a grade, or a charge."""

    name: Name | None = None
    weight: Annotated[
        Weighed | None, Field(description="Of one piece, without its parts; default what they leave of it.")
    ] = None
    grade: Annotated[Name | None, Field(description="Slug, name or alias.")] = None
    charge: Annotated[SignedMoney | None, Field(description="What it costs to be rid of it.")] = None
    per: Annotated[
        Name | None, Field(description='What the charge is for: "piece" (default), or a unit such as "kg".')
    ] = None

    @model_validator(mode="after")
    def _one_of_each(self) -> LeftIn:
        if self.grade is not None and self.charge is not None:
            raise PydanticCustomError("one_of", "give either the grade of what is left or a charge for it")
        if self.per is not None and self.charge is None:
            raise PydanticCustomError("one_of", "per says what a charge is for: give the charge too")
        return self

    def given(self) -> LeftGiven:
        """What the service takes."""
        return LeftGiven(self.name, _weight(self.weight), self.grade, self.charge, self.per)


class RestIn(In):
    """What becomes of what no record of a kind names: a grade, or a charge."""

    grade: Annotated[Name | None, Field(description="Slug, name or alias.")] = None
    charge: Annotated[SignedMoney | None, Field(description="What it costs to be rid of it.")] = None
    per: Annotated[
        Name | None,
        Field(description='What the charge is for: "piece" (each device; default), or a unit such as "kg".'),
    ] = None

    @model_validator(mode="after")
    def _one_of_each(self) -> RestIn:
        if (self.grade is None) == (self.charge is None):
            raise PydanticCustomError("one_of", "give either the grade of what is left or a charge for it")
        if self.per is not None and self.charge is None:
            raise PydanticCustomError("one_of", "per says what a charge is for: give the charge too")
        return self

    def given(self) -> LeftGiven:
        """What the service takes."""
        return LeftGiven(None, None, self.grade, self.charge, self.per)


class OpeningIn(In):
    """How one piece is opened. All at once: everything comes out for `minutes`. Piece by piece: each part is
    taken off for minutes of its own, besides these, where that pays; what does not stays on, and is paid as
    what is left over.
    """

    how: Literal["all-at-once", "piece-by-piece"]
    minutes: Annotated[Minutes, Field(description="For one piece.")] = Decimal(0)
    cost: Annotated[Money, Field(description="What is used up by opening one piece.")] = Decimal(0)
    cautions: Cautions = Field(default_factory=list)
    leftover: LeftIn | None = None

    def given(self) -> OpeningGiven:
        """What the service takes."""
        left = None if self.leftover is None else self.leftover.given()
        return OpeningGiven(self.how, self.minutes, self.cost, tuple(self.cautions), left)


class PartIn(In):
    """A part, or several alike. What is said of its inside is of one piece."""

    name: Name
    count: Annotated[int, Field(ge=1, le=MOST_PIECES)] = 1
    weight: Annotated[
        Weighed | None, Field(description="Of all pieces together, in one of what they are in.")
    ] = None
    weight_each: Annotated[Weighed | None, Field(description="Of one piece.")] = None
    observed: Observed | None = None
    grade: Annotated[
        Name | None,
        Field(description="Instead of `observed`: slug, name or alias. Neither: nothing is known of it."),
    ] = None
    minutes: Annotated[
        Minutes | None, Field(description="To take one off, where it is opened piece by piece around it.")
    ] = None
    must_come_off: Annotated[
        bool, Field(description="It may not stay on, as that would spoil what is left over.")
    ] = False
    cautions: Cautions = Field(default_factory=list)
    opens: Annotated[OpeningIn | None, Field(description="How it is opened, if it can be.")] = None
    kind: Annotated[
        Name | None,
        Field(
            description="The kind of device that it is, as `GET /v1/compositions` tells them. What is "
            "directly in it and has no weight is as heavy as is usual for its grade; without a grade of its "
            "own it is what the kind is sold whole as.",
            examples=["treadmill"],
        ),
    ] = None

    @model_validator(mode="after")
    def _one_of_each(self) -> Self:
        if self.weight is not None and self.weight_each is not None:
            raise PydanticCustomError("one_of", "give either weight (all pieces together) or weight_each")
        if self.observed is not None and self.grade is not None:
            raise PydanticCustomError("one_of", "give either what was observed or the grade")
        return self

    def told(self) -> dict[str, Any]:
        """What is said of it, but for its place and for what is inside."""
        return {
            "name": self.name,
            "count": self.count,
            "weight": _weight(self.weight),
            "weight_each": _weight(self.weight_each),
            "observed": self.observed,
            "grade": self.grade,
            "minutes": self.minutes,
            "must_come_off": self.must_come_off,
            "cautions": tuple(self.cautions),
            "opens": None if self.opens is None else self.opens.given(),
            "kind": self.kind,
        }


class NodeIn(PartIn):
    """A part, or several alike. What is said of its inside is of one piece."""

    parts: Annotated[
        list[NodeIn], Field(max_length=MOST_NODES, description="What is in one piece of it.")
    ] = Field(default_factory=list)

    @model_validator(mode="after")
    def _whole(self) -> NodeIn:
        if self.opens is None and self.parts:
            raise PydanticCustomError("one_of", "say under opens how its parts come out")
        if self.opens is not None and not self.parts:
            raise PydanticCustomError("one_of", "say under parts what comes out of it")
        return self

    def given(self) -> NodeGiven:
        """What the service takes."""
        return NodeGiven(**self.told(), parts=tuple(part.given() for part in self.parts))


class ListedIn(PartIn):
    """A part in a list. What is said of its inside is of one piece."""

    within: Annotated[
        int | None,
        Field(
            ge=0,
            le=MOST_NODES - 1,
            description="The place in the list, from 0, of the part that it is inside of, which comes "
            "before. The first is the device, and is within nothing.",
        ),
    ] = None

    def given(self) -> ListedGiven:
        """What the service takes."""
        return ListedGiven(**self.told(), within=self.within)


class TeardownIn(PlacedIn):
    """A device, where it would be sold, and what an hour is worth."""

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
    keep: Annotated[bool, Field(description="Keep the answer, to be read and replayed later.")] = False
    hour_rate: Annotated[Money, Field(description="What an hour of work is worth; may be zero.")]
    weighing_minutes: Annotated[
        Minutes, Field(description="To weigh one part; default 1 (common practice, no source).")
    ] = Decimal(1)
    lots: Annotated[
        dict[Name, Weight],
        Field(
            max_length=MOST_LOTS,
            description="By grade, the weight of the lot that it is sold in, with what else there is of it; "
            "default each part as a lot of its own.",
            json_schema_extra={"additionalProperties": False},
        ),
    ] = Field(default_factory=dict)
    device: Annotated[
        NodeIn | None,
        Field(
            description="With its parts, thirty in one another at most; or `parts`, or a `kind` and its "
            "`weight`."
        ),
    ] = None
    parts: Annotated[
        list[ListedIn] | None,
        Field(
            min_length=1,
            max_length=MOST_NODES,
            description="A device as a list, itself first, each part behind the one that it is `within`: for "
            "what is large or deep. It is answered as a list.",
        ),
    ] = None
    kind: Annotated[
        Name | None,
        Field(
            description="A kind of device, as `GET /v1/compositions` tells them: what is usual for it stands "
            "in for the parts.",
            examples=["treadmill"],
        ),
    ] = None
    weight: Annotated[
        Weighed | None, Field(description="Of the device of that kind, or of all `count` of them together.")
    ] = None
    count: Annotated[
        Annotated[StrictInt, Field(ge=1, le=MOST_PIECES)] | None,
        Field(
            description="How many devices of that kind; default one. Where the weight is far off what was "
            "recorded of such devices it has to be told, also where it is one.",
        ),
    ] = None
    grade: Annotated[
        Name | None, Field(description="What it is sold as whole; default as the kind usually is.")
    ] = None
    minutes: Annotated[
        Minutes | None, Field(description="To take one apart; default as it usually takes.")
    ] = None
    leftover: Annotated[
        RestIn | None,
        Field(description="What becomes of what no record of the kind names; default: it counts as nothing."),
    ] = None

    @model_validator(mode="after")
    def _one_place(self) -> TeardownIn:
        if (self.region is None) == (self.yard is None):
            raise PydanticCustomError("one_of", "give either a region or a yard")
        if [self.device, self.parts, self.kind].count(None) != 2:
            raise PydanticCustomError("one_of", "give a device, its parts as a list or a kind: one of them")
        of_kind = (self.weight, self.count, self.grade, self.minutes, self.leftover)
        if self.kind is None and any(given is not None for given in of_kind):
            says = "weight, count, grade, minutes and leftover of a device stand under device"
            raise PydanticCustomError("one_of", says)
        if self.kind is not None and self.weight is None:
            raise PydanticCustomError("one_of", "give the weight of the device too")
        return self

    def request(self) -> Request:
        """What the service takes."""
        known_at: KnownAt = self.known_at
        usual = None
        weight = _weight(self.weight)
        if self.kind is not None and weight is not None:
            left = None if self.leftover is None else self.leftover.given()
            usual = KindGiven(self.kind, weight, self.grade, self.minutes, left, self.count)
        return Request(
            device=None if self.device is None else self.device.given(),
            parts=tuple(part.given() for part in self.parts or ()),
            usual=usual,
            hour_rate=self.hour_rate,
            weighing_minutes=self.weighing_minutes,
            lots=self.lots,
            region=self.region,
            yard=self.yard,
            on=self.on,
            known_at=known_at,
            rulebook=self.rulebook,
        )
