"""The wire forms of what comes out of devices: records as they are made, and what they say together."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, StrictBool, model_validator
from pydantic_core import PydanticCustomError

from gradewright.compositions.given import Given, NewKind, PieceGiven
from gradewright.prices.later_schemas import Reason
from gradewright.prices.schemas import Weight
from gradewright.regions.schemas import RegionCode
from gradewright.rulebooks.fields import Observed
from gradewright.web.fields import Day, In, KindSlug, KnownAt, Name, PositiveDecimal, TextForm, whole_number
from gradewright.web.pagination import CursorText

MOST_PARTS = 100
MOST_PIECES = 100_000
Line = Annotated[
    str,
    TextForm(
        r"^[^\x00-\x20\x7f]([^\x00-\x1f\x7f]*[^\x00-\x20\x7f])?$",
        says="text on one line, at most 400 characters, without spaces around it",
        example="Found in a shed; the belt was missing.",
        longest=400,
    ),
]
Share = Annotated[
    str,
    TextForm(r"^[^\x00-\x1f\x7f]+$", says="a share of the whole in percent", example="41 %", longest=40),
]


class PieceIn(In):
    """All of one sort that came out of the device."""

    grade: Annotated[Name | None, Field(description="Slug, name or alias.")] = None
    observed: Annotated[
        Observed | None, Field(description="Instead of `grade`; has to be enough for one grade.")
    ] = None
    weight: Annotated[Weight | None, Field(description="Of all pieces together.")] = None
    weight_each: Annotated[
        Weight | None, Field(description="Of one of `count` pieces; kept as what all of them weigh.")
    ] = None
    share: Annotated[Share | None, Field(description="Of the whole, instead of a weight.")] = None
    count: Annotated[int | None, Field(ge=1, le=MOST_PIECES, description="How many pieces.")] = None
    says: Annotated[
        Line | None, Field(description="Of a publication's material: why it stands under this grade.")
    ] = None

    @model_validator(mode="after")
    def _one_of_each(self) -> PieceIn:
        if [self.weight, self.weight_each, self.share].count(None) != 2:
            raise PydanticCustomError(
                "one_of", "give either weight (all pieces together), weight_each, or a share of the whole"
            )
        if (self.observed is None) == (self.grade is None):
            raise PydanticCustomError("one_of", "give either what was observed or the grade")
        return self

    def piece(self) -> PieceGiven:
        """What the service takes."""
        return PieceGiven(
            self.grade, self.observed, self.weight, self.weight_each, self.share, self.count, self.says
        )


class NewKindIn(In):
    """A kind of device of which nothing is recorded yet."""

    name: Annotated[Name, Field(description="For people.", examples=["Treadmill"])]
    grade: Annotated[Name | None, Field(description="The grade in which it is usually sold whole.")] = None


class CompositionIn(In):
    """One device that was taken apart. What came out of it and is not named here is its rest."""

    kind: Annotated[KindSlug, Field(examples=["treadmill"])]
    new_kind: Annotated[
        NewKindIn | None, Field(description="With the first record of a kind, so that no slip makes one.")
    ] = None
    on: Annotated[Day, Field(description="The day on which it was taken apart, or of the publication.")]
    weight: Annotated[Weight | None, Field(description="Of the whole device, before it was opened.")] = None
    made_year: Annotated[int | None, Field(ge=1850, le=2200)] = None
    model: Annotated[Line | None, Field(description="What helps others to know the like again.")] = None
    minutes: Annotated[PositiveDecimal | None, Field(description="Of work, for the whole device.")] = None
    region: RegionCode | None = None
    source: Annotated[
        Line | None, Field(description="The publication that tells it; none: it was your own work.")
    ] = None
    from_memory: Annotated[
        StrictBool, Field(description="The publication's figures were not looked up again.")
    ] = False
    note: Line | None = None
    parts: Annotated[list[PieceIn], Field(min_length=1, max_length=MOST_PARTS)]

    @model_validator(mode="after")
    def _memory_of_something(self) -> CompositionIn:
        if self.from_memory and self.source is None:
            raise PydanticCustomError("one_of", "from_memory is said of a publication: name it as source")
        return self

    def given(self) -> Given:
        """What the service takes."""
        new = None if self.new_kind is None else NewKind(self.new_kind.name, self.new_kind.grade)
        return Given(
            self.kind, self.on, tuple(piece.piece() for piece in self.parts), new, self.weight,
            self.made_year, self.model, self.minutes, self.region, self.source, self.from_memory, self.note,
        )  # fmt: skip


class CompositionWithdrawalIn(In):
    """Why a record is taken back."""

    reason: Reason


class KindCorrectionIn(In):
    """What a kind of device is called and sold whole as, from here on, and why."""

    name: Annotated[Name, Field(description="For people.", examples=["Treadmill"])]
    grade: Annotated[
        Name | None, Field(description="The grade in which it is usually sold whole; default none.")
    ] = None
    reason: Reason


class KindsQuery(In):
    """As known when."""

    known_at: KnownAt | None = None


class TypicalQuery(KindsQuery):
    """Of which day, as known when, and for a device of which weight."""

    on: Annotated[Day | None, Field(description="Records of this day or before; default today (UTC).")] = None
    weight: Annotated[Weight | None, Field(description="Of the device in question, such as 70 kg.")] = None


class RecordsQuery(KindsQuery):
    """Which page of the records, as known when."""

    limit: whole_number(1, 200) = 50  # type: ignore[valid-type]
    cursor: CursorText | None = None
