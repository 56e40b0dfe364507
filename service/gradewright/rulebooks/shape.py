"""The shape of a rulebook document: which keys stand where, and what each takes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Discriminator,
    Field,
    Tag,
    model_validator,
)

from gradewright.core.units import parse_share
from gradewright.rulebooks.shape_fields import VERSION, Exact, Factor, Given, Name, Share, Slug, Strict, Text
from gradewright.rulebooks.shape_pricing import PricingShape


def _day(value: object) -> object:
    """A number would be taken for seconds since 1970."""
    if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
        return value
    raise ValueError("write a day as YYYY-MM-DD")


def _part_of_the_weight(text: str) -> str:
    if parse_share(text) >= 1:
        raise ValueError("what is shed is below 100 %: something has to be left")
    return text


def _some_of_it(text: str) -> str:
    if not 0 < parse_share(text) <= 1:
        raise ValueError("a share that is passed on is above 0 % and at most 100 %")
    return text


def _without_spaces(text: str) -> str:
    if text != text.strip():
        raise ValueError("take out the spaces around it: nobody writes them")
    return text


class FamilyShape(Strict):
    name: Text


class LimitShape(Strict):
    value: Given
    means: Text
    source: Text


class AttributeShape(Strict):
    kind: Literal["choice", "yes_no", "length", "share", "area", "density", "year", "date"]
    asks: Text
    choices: dict[Slug, Text] = Field(default_factory=dict)
    test: Text
    minutes: Exact
    beware: Text

    @model_validator(mode="after")
    def _choices_of_a_choice(self) -> AttributeShape:
        if (self.kind == "choice") != bool(self.choices):
            raise ValueError(
                "a choice needs `choices`: each value, and how it is recognised"
                if self.kind == "choice"
                else "only a choice has `choices`: take them out"
            )
        return self


class KinShape(Strict):
    grade: Slug
    factor: Factor


class FollowsShape(Strict):
    benchmark: Slug
    share: Annotated[Share, AfterValidator(_some_of_it)]


class GradeShape(Strict):
    name: Text
    family: Slug
    aliases: tuple[Annotated[Text, AfterValidator(_without_spaces)], ...] = ()
    describes: Text
    priced_as: KinShape | None = None
    follows: FollowsShape | None = None
    by_name_only: bool = False


class BoundsShape(Strict):
    at_least: Given | None = None
    above: Given | None = None
    at_most: Given | None = None
    below: Given | None = None

    @model_validator(mode="after")
    def _one_at_least(self) -> BoundsShape:
        if all(end is None for end in (self.at_least, self.above, self.at_most, self.below)):
            raise ValueError("name at least one bound: at_least, above, at_most or below")
        return self


FORMS = {dict: "<bounds>", BoundsShape: "<bounds>", list: "<list>"}
"""Which form of a condition a fault is about; names no place in the document."""

ConditionShape = Annotated[
    Annotated[Given, Tag("<value>")]
    | Annotated[list[Given], Field(min_length=1), Tag("<list>")]
    | Annotated[BoundsShape, Tag("<bounds>")],
    Discriminator(lambda asked: FORMS.get(type(asked), "<value>")),
]
WhenShape = dict[Name, ConditionShape]


class ImpossibleShape(Strict):
    id: Slug
    when: WhenShape
    because: Text
    source: Text


class LargestFirstShape(Strict):
    id: Slug
    measures: list[Name] = Field(min_length=2, max_length=6)
    because: Text
    source: Text


class ToldOfShape(Strict):
    id: Slug
    attributes: list[Name] = Field(min_length=1)
    of: list[Annotated[WhenShape, Field(min_length=1)]] = Field(min_length=1, max_length=6)
    because: Text
    source: Text


class RuleShape(Strict):
    id: Slug
    grade: Slug
    when: WhenShape
    because: Text
    source: Text
    confidence: Literal["published", "common-practice", "disputed"]
    settled_by: Text | None = None

    @model_validator(mode="after")
    def _settles_a_dispute(self) -> RuleShape:
        if self.settled_by is not None and self.confidence != "disputed":
            raise ValueError(
                "only a rule whose `confidence` is disputed has `settled_by`: take it out, or say disputed"
            )
        return self


PartShape = Annotated[Share, AfterValidator(_part_of_the_weight)]


class MeasuredShape(Strict):
    """As much as a share says, or all but that; where it is not known, what is said otherwise."""

    same_as: Name | None = None
    all_but: Name | None = None
    otherwise: PartShape

    @model_validator(mode="after")
    def _one_measure(self) -> MeasuredShape:
        if (self.same_as is None) == (self.all_but is None):
            raise ValueError("name one attribute that is a share: as `same_as`, or as `all_but`")
        return self

    @property
    def key(self) -> str:
        """Under which key the attribute stands."""
        return "all_but" if self.same_as is None else "same_as"

    @property
    def measure(self) -> str:
        """The attribute that says how much."""
        return self.same_as or self.all_but or ""


class ShedsShape(Strict):
    grade: Slug | None
    share: Annotated[
        Annotated[PartShape, Tag("<share>")] | Annotated[MeasuredShape, Tag("<measured>")],
        Discriminator(lambda given: "<measured>" if isinstance(given, (dict, MeasuredShape)) else "<share>"),
    ]

    @property
    def usual(self) -> Decimal:
        """The share where nothing is measured."""
        return parse_share(self.share if isinstance(self.share, str) else self.share.otherwise)


class PreparationShape(Strict):
    name: Text
    when: WhenShape
    changes: dict[Name, Given | None]
    minutes: Exact
    per: Literal["piece", "kg"]
    sheds: (
        Annotated[
            Annotated[ShedsShape, Tag("<one>")]
            | Annotated[list[ShedsShape], Field(min_length=1), Tag("<several>")],
            Discriminator(lambda given: "<several>" if isinstance(given, list) else "<one>"),
        ]
        | None
    ) = None
    how: Text
    cautions: tuple[Slug, ...] = ()
    unless: tuple[WhenShape, ...] = ()
    source: Text | None = None

    @model_validator(mode="after")
    def _something_left(self) -> PreparationShape:
        if sum(shed.usual for shed in self.each_shed) >= 1:
            raise ValueError("what is shed comes to 100 % or more together: something has to be left")
        return self

    @property
    def each_shed(self) -> Sequence[ShedsShape]:
        """All that comes off."""
        if self.sheds is None:
            return ()
        return self.sheds if isinstance(self.sheds, list) else (self.sheds,)


class CautionShape(Strict):
    name: Text
    when: tuple[WhenShape, ...] = ()
    unless: tuple[WhenShape, ...] = ()
    grades: tuple[Slug, ...] = ()
    says: Text
    source: Text


class ExampleShape(Strict):
    part: dict[Name, Given]
    note: Text | None = None
    grade: Slug | None = None
    candidates: tuple[Slug, ...] = ()
    contradiction: Slug | None = None
    ungraded: bool = False


class DocumentShape(Strict):
    """A whole version."""

    version: str = Field(pattern=VERSION)
    effective_from: Annotated[date, BeforeValidator(_day)]
    instead_of: tuple[Annotated[str, Field(pattern=VERSION)], ...] = ()
    title: Text
    summary: Text
    families: dict[Slug, FamilyShape]
    limits: dict[Name, LimitShape]
    attributes: dict[Name, AttributeShape]
    grades: dict[Slug, GradeShape]
    impossible: tuple[ImpossibleShape, ...]
    largest_first: tuple[LargestFirstShape, ...] = ()
    told_of: tuple[ToldOfShape, ...] = ()
    rules: tuple[RuleShape, ...]
    preparations: dict[Slug, PreparationShape]
    cautions: dict[Slug, CautionShape]
    pricing: PricingShape
    examples: tuple[ExampleShape, ...]
