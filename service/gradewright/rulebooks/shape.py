"""The shape of a rulebook document: which keys stand where, and what each takes."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StrictBool, StrictInt, StrictStr

SLUG = r"^[a-z0-9]+(-[a-z0-9]+)*$"
NAME = r"^[a-z][a-z0-9_]*$"

Slug = Annotated[str, Field(pattern=SLUG, max_length=64)]
Name = Annotated[str, Field(pattern=NAME, max_length=64)]
Text = Annotated[str, Field(min_length=1, max_length=2000)]
Share = Annotated[str, Field(pattern=r"^\d{1,3}(\.\d+)? ?%$")]


def _exact(value: object) -> object:
    """A document writes 2, 0.5 or "0.5"; a binary float can only come from JSON and is refused."""
    if isinstance(value, (bool, float)):
        raise ValueError("write it as a decimal in quotes")
    return value


Exact = Annotated[Decimal, BeforeValidator(_exact), Field(ge=0, max_digits=12)]
Given = StrictBool | StrictInt | StrictStr


class Strict(BaseModel):
    """Unknown keys are refused: a misspelt key must not pass as an absent one."""

    model_config = ConfigDict(extra="forbid", frozen=True)


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


class KinShape(Strict):
    grade: Slug
    factor: Exact


class GradeShape(Strict):
    name: Text
    family: Slug
    aliases: tuple[Text, ...] = ()
    describes: Text
    priced_as: KinShape | None = None
    by_name_only: bool = False


class BoundsShape(Strict):
    at_least: Given | None = None
    above: Given | None = None
    at_most: Given | None = None
    below: Given | None = None


WhenShape = dict[Name, Given | list[Given] | BoundsShape]


class ImpossibleShape(Strict):
    id: Slug
    when: WhenShape
    because: Text
    source: Text


class RuleShape(Strict):
    id: Slug
    grade: Slug
    when: WhenShape
    because: Text
    source: Text
    confidence: Literal["published", "common-practice", "disputed"]


class ShedsShape(Strict):
    grade: Slug | None
    share: Share


class PreparationShape(Strict):
    name: Text
    when: WhenShape
    changes: dict[Name, Given | None]
    minutes: Exact
    per: Literal["piece", "kg"]
    sheds: ShedsShape | None = None
    how: Text
    cautions: tuple[Slug, ...] = ()


class CautionShape(Strict):
    name: Text
    when: tuple[WhenShape, ...] = ()
    unless: tuple[WhenShape, ...] = ()
    grades: tuple[Slug, ...] = ()
    says: Text
    source: Text


class PricingShape(Strict):
    stale_after: StrictInt = Field(ge=1, le=3650)
    half_life: StrictInt = Field(ge=1, le=3650)
    evidence: dict[Slug, Exact]
    thin_below: StrictInt = Field(ge=1, le=100)
    thin_margin: Share


class ExampleShape(Strict):
    part: dict[Name, Given]
    note: Text | None = None
    grade: Slug | None = None
    candidates: tuple[Slug, ...] = ()
    contradiction: Slug | None = None
    ungraded: bool = False


class DocumentShape(Strict):
    """A whole version."""

    version: str = Field(pattern=r"^\d{4}\.\d{1,3}$")
    effective_from: date
    title: Text
    summary: Text
    families: dict[Slug, FamilyShape]
    limits: dict[Name, LimitShape]
    attributes: dict[Name, AttributeShape]
    grades: dict[Slug, GradeShape]
    impossible: tuple[ImpossibleShape, ...]
    rules: tuple[RuleShape, ...]
    preparations: dict[Slug, PreparationShape]
    cautions: dict[Slug, CautionShape]
    pricing: PricingShape
    examples: tuple[ExampleShape, ...]
