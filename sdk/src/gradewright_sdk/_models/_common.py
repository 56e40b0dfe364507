"""What the results have in common: frozen, tolerant of newer servers, money with its currency."""

from __future__ import annotations

from collections.abc import Mapping
from contextvars import ContextVar
from decimal import Decimal
from typing import Annotated, Any, TypeVar

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    ModelWrapValidatorHandler,
    PrivateAttr,
    model_validator,
)
from pydantic import ValidationError as _ValidationError

from gradewright_sdk._base import Answer
from gradewright_sdk._money import Money
from gradewright_sdk._problems import parse_json, unexpected

# The wire names a currency once, at the top; the amounts below it are read in that currency.
_currency: ContextVar[str | None] = ContextVar("gradewright_currency", default=None)


def _money(value: object) -> object:
    if isinstance(value, Money) or value is None:
        return value
    currency = _currency.get()
    if isinstance(value, Mapping):
        currency, value = value.get("currency", currency), value.get("amount")
    if currency is None:
        raise ValueError("an amount without a currency")
    if isinstance(value, bool | float) or not isinstance(value, str | int | Decimal):
        raise ValueError(f"an amount is exact text, not {value!r}")
    try:
        return Money(Decimal(value), currency)
    except ArithmeticError as error:
        raise ValueError(f"{value!r} is not an amount") from error


Amount = Annotated[Money, BeforeValidator(_money)]


class Result(BaseModel):
    """Base of all results: cannot be changed; fields that a newer service adds are left out."""

    model_config = ConfigDict(frozen=True, extra="ignore", defer_build=True)


class ReadsCurrency(Result):
    """A result whose amounts are in the currency that it names, or else in that of the result around it."""

    @model_validator(mode="wrap")
    @classmethod
    def _read_amounts_in_it(
        cls, data: Any, handler: ModelWrapValidatorHandler[ReadsCurrency]
    ) -> ReadsCurrency:
        named = data.get("currency") if isinstance(data, Mapping) else None
        token = _currency.set(_currency.get() if named is None else named)
        try:
            return handler(data)
        finally:
            _currency.reset(token)


class InCurrency(ReadsCurrency):
    """A result whose amounts are all in its own `currency`."""

    currency: str


class Whole(Result):
    """A result that is the whole answer; `raw` has its bytes just as the service sent them."""

    _raw: bytes = PrivateAttr(default=b"")

    @property
    def raw(self) -> bytes:
        """The answer's body, byte for byte."""
        return self._raw


class Spread(Result):
    """Low, likely and high of an amount."""

    low: Amount
    likely: Amount
    high: Amount


R = TypeVar("R", bound=Result)
W = TypeVar("W", bound=Whole)


def validated(model: type[R], data: object, answer: Answer) -> R:
    """`data` as `model`; UnexpectedAnswer naming the first field that does not fit."""
    try:
        return model.model_validate(data)
    except _ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(step) for step in first["loc"]) or "the answer"
        raise unexpected(answer, f"{where} is not as promised ({first['msg']})") from error


def read_whole(model: type[W], answer: Answer) -> W:
    """An answer that is one `model`, with its bytes."""
    result = validated(model, parse_json(answer), answer)
    result._raw = answer.content
    return result


def read_list(model: type[R], under: str, answer: Answer) -> tuple[R, ...]:
    """An answer that has a list of `model` under the name `under`."""
    data = parse_json(answer)
    found = data.get(under) if isinstance(data, dict) else None
    if not isinstance(found, list):
        raise unexpected(answer, f"it has no list {under!r}")
    return tuple(validated(model, one, answer) for one in found)
