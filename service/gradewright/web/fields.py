"""Field types of requests and answers: text forms that are read exactly, and their schemas."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from gradewright.core.errors import GradewrightError


class In(BaseModel):
    """A request body or a part of one: strict, and without fields that nobody asked for."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class Out(BaseModel):
    """An answer or a part of one."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class TextForm:
    """A value that travels as text of one form: `Annotated[Decimal, TextForm(...)]`.

    In Python it is made from the value or from the text; in JSON only from text that fits the pattern:
    a number, a float, another notation or another alphabet's digits are refused with `says`.
    """

    def __init__(
        self,
        pattern: str,
        *,
        says: str,
        example: str,
        read: Callable[[str], Any] = str,
        write: Callable[[Any], str] = str,
        longest: int = 64,
    ) -> None:
        """`read` raises ValueError for text that fits the pattern and means nothing."""
        self.pattern, self.read, self.write, self.longest = pattern, read, write, longest
        self.says, self.example = says, example

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Text that fits, read into the value; written back in the same form."""
        text = core_schema.str_schema(pattern=self.pattern, max_length=self.longest, strict=True)
        reading = self._one_fault(core_schema.no_info_after_validator_function(self.read, text))
        if source is str:
            return reading
        return core_schema.json_or_python_schema(
            json_schema=reading,
            python_schema=self._one_fault(
                core_schema.union_schema(
                    [core_schema.is_instance_schema(source), reading], mode="left_to_right"
                )
            ),
            serialization=core_schema.plain_serializer_function_ser_schema(
                self.write, return_schema=core_schema.str_schema(pattern=self.pattern)
            ),
        )

    def _one_fault(self, schema: CoreSchema) -> CoreSchema:
        return core_schema.custom_error_schema(
            schema,
            custom_error_type="text_form",
            custom_error_message="write {says}, such as {example}",
            custom_error_context={"says": self.says, "example": f'"{self.example}"'},
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """The pattern and the longest length, with an example and the words for it."""
        made = handler(schema)
        made.setdefault("description", self.says[0].upper() + self.says[1:] + ".")
        made["examples"] = [self.example]
        return made


class OneOf:
    """Makes the refusal of a union one fault: `Annotated[int | Instant, OneOf("write …")]`."""

    def __init__(self, says: str) -> None:
        self.says = says

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """The union, refused in one sentence."""
        return core_schema.custom_error_schema(
            handler(source), custom_error_type="one_of", custom_error_message=self.says
        )


def refusing(read: Callable[[str], str]) -> Callable[[str], str]:
    """Makes a reader of `core` usable as a validator: its refusal becomes a fault at the field."""

    def validate(value: str) -> str:
        try:
            return read(value)
        except GradewrightError as error:
            suggestions = [text for fault in error.faults for text in fault.suggestions]
            raise PydanticCustomError(
                "refused", "{why}", {"why": error.detail, "suggestions": suggestions}
            ) from None

    return validate


def read_instant(text: str) -> datetime:
    """An RFC 3339 instant, in UTC. Raises ValueError for one that no calendar has."""
    try:
        return datetime.fromisoformat(text.upper()).astimezone(UTC)
    except OverflowError:
        raise ValueError("outside the calendar") from None


def show_instant(value: datetime) -> str:
    """RFC 3339 in UTC, with `Z`, and a fraction only where there is one."""
    return value.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _plain(value: Decimal) -> str:
    return format(value, "f")


def _positive(text: str) -> Decimal:
    if (value := Decimal(text)) <= 0:
        raise ValueError("not above zero")
    return value


INSTANT = (
    r"^[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt][0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,6})?([Zz]|[+-][0-9]{2}:[0-9]{2})$"
)
Day = Annotated[
    date,
    TextForm(
        r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
        read=date.fromisoformat,
        write=date.isoformat,
        says="a day of the calendar as YYYY-MM-DD",
        example="2026-05-04",
        longest=10,
    ),
]
Instant = Annotated[
    datetime,
    TextForm(
        INSTANT,
        read=read_instant,
        write=show_instant,
        says="an instant with its zone as in RFC 3339",
        example="2026-05-04T09:12:00Z",
    ),
]
PositiveDecimal = Annotated[
    Decimal,
    TextForm(
        r"^(0|[1-9][0-9]{0,14})(\.[0-9]{1,9})?$",
        read=_positive,
        write=_plain,
        says="a decimal above zero as a string of plain digits",
        example="3.35",
    ),
]


def _known_at(text: str) -> int | datetime:
    return int(text) if text.isdigit() else read_instant(text)


KnownAt = Annotated[
    int | datetime,
    TextForm(
        rf"^([0-9]{{1,15}}|{INSTANT[1:-1]})$",
        read=_known_at,
        says="a revision of the ledger (312), or an instant with its zone as in RFC 3339",
        example="2026-05-04T09:12:00Z",
    ),
]
YesNo = Annotated[
    bool,
    TextForm(
        r"^(true|false)$", read=lambda text: text == "true", says="true or false", example="true", longest=5
    ),
]
SLUG = r"^[a-z0-9]+(-[a-z0-9]+)*$"
Slug = Annotated[
    str,
    TextForm(
        SLUG,
        says="a name of lower-case letters, digits and single hyphens",
        example="copper-no2",
    ),
]
KindSlug = Annotated[
    str,
    TextForm(
        SLUG,
        says="a kind of device by a name of lower-case letters, digits and single hyphens",
        example="washing-machine",
    ),
]
Name = Annotated[
    str,
    TextForm(
        r"^[^\x00-\x20\x7f]([^\x00-\x1f\x7f]*[^\x00-\x20\x7f])?$",
        says="a name on one line, at most 100 characters, without spaces around it",
        example="Kelder Bay",
        longest=100,
    ),
]


def whole_number(least: int, most: int) -> Any:
    """The type of a whole number in a query: ASCII digits only, between `least` and `most`."""

    def read(text: str) -> int:
        if not least <= (number := int(text)) <= most:
            raise ValueError("out of range")
        return number

    digits = len(str(most))
    form = TextForm(
        rf"^[0-9]{{1,{digits}}}$",
        read=read,
        says=f"a whole number from {least} to {most}",
        example=str(most),
        longest=digits,
    )
    return Annotated[int, form]
