"""Wire forms that go by a rulebook: its versions, what is observed of a part, and cautions."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, StrictBool, StrictInt, StrictStr

from gradewright.web.fields import OneOf, Out, Slug, TextForm

RulebookVersion = Annotated[
    str, TextForm(r"^[0-9]{4}\.[0-9]{1,3}$", says="a version of the rulebook", example="2018.1", longest=8)
]
AttributeName = Annotated[
    str, TextForm(r"^[a-z][a-z0-9_]*$", says="the name of an attribute of the rulebook", example="thickness")
]
Given = Annotated[
    StrictBool
    | Annotated[StrictInt, Field(ge=0, le=9999)]
    | Annotated[StrictStr, Field(max_length=100, pattern=r"^[^\x00-\x1f\x7f]*$")],
    OneOf("write true or false, a year, or text of at most 100 characters, a measure with its unit"),
]
Observed = Annotated[
    dict[AttributeName, Given],
    Field(
        max_length=100,
        description="What was observed, by attribute: true or false, a year, or text with its unit. "
        "What is not named is not known.",
        examples=[{"assembly": "motor", "winding_metal": "copper"}],
        json_schema_extra={"additionalProperties": False},
    ),
]


class CautionOut(Out):
    """What can hurt someone, or is governed by law."""

    id: Slug
    name: str
    says: str
    source: str


class ConcernOut(CautionOut):
    """A caution that concerns a part, or can still turn out to."""

    certain: Annotated[
        bool,
        Field(
            description="False where it depends on what is not known: until that is known take it to apply. "
            "In a valuation true where it is certain for one of the parts; by methods 1 and 2 only those are "
            "told."
        ),
    ] = True
