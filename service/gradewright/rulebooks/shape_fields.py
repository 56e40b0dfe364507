"""What stands in a rulebook document: names, texts, exact numbers, shares, and how each is written."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StrictBool,
    StrictInt,
    StrictStr,
    WithJsonSchema,
)

from gradewright.core.units import parse_share
from gradewright.web.fields import OneOf, refusing

SLUG = r"^[a-z0-9]+(-[a-z0-9]+)*$"
NAME = r"^[a-z][a-z0-9_]*$"
VERSION = r"^[0-9]{4}\.[0-9]{1,3}$"
SHARE = r"^[0-9]{1,3}(\.[0-9]+)? ?%$"

Slug = Annotated[str, Field(pattern=SLUG, max_length=64)]
Name = Annotated[str, Field(pattern=NAME, max_length=64)]
Text = Annotated[str, Field(min_length=1, max_length=2000)]


def _exact(value: object) -> object:
    """A document writes 2, 0.5 or "0.5"; a binary float can only come from JSON and is refused."""
    if isinstance(value, (bool, float)):
        raise ValueError("write it as a decimal in quotes")
    return value


def _share(text: str) -> str:
    parse_share(text)
    return text


Exact = Annotated[
    Decimal,
    BeforeValidator(_exact),
    Field(ge=0, max_digits=12),
    WithJsonSchema(
        {"anyOf": [{"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}, {"type": "integer", "minimum": 0}]}
    ),
]
Factor = Annotated[Exact, Field(gt=0)]
Share = Annotated[str, Field(pattern=SHARE), AfterValidator(refusing(_share))]
Given = Annotated[
    StrictBool | StrictInt | StrictStr, OneOf("write true or false, a whole number, or text with its unit")
]


class Strict(BaseModel):
    """Unknown keys are refused: a misspelt key must not pass as an absent one."""

    model_config = ConfigDict(extra="forbid", frozen=True)
