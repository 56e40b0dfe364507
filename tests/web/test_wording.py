"""What is wrong with a body or a query is told in our words, whatever is sent and wherever."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any, get_args

from pydantic import ValidationError
from pydantic_core import ErrorDetails
from pydantic_core.core_schema import ErrorType

import gradewright.asgi
from gradewright.web.fields import In
from gradewright.web.wording import WORDS, detail_of

assert gradewright.asgi  # brings every model that is read
SENT: tuple[Any, ...] = (
    None, True, 0, -1, 10**9, 10**18, 1.5, "", "x", "x" * 3000, "7", "2026-13-01",
    [], [None], ["x"], [1], [[]], [{}] * 300, {}, {"": None}, {"x": "x"}, {"x": 1},
    {str(n): 1 for n in range(300)},
)  # fmt: skip


def models(of: type[In] = In) -> Iterator[type[In]]:
    for model in of.__subclasses__():
        yield model
        yield from models(model)


def faults(model: type[In], given: dict[str, Any]) -> list[ErrorDetails]:
    """What is found wrong, read as operations do: a query from texts, a body from JSON."""
    try:
        if model.__name__.endswith("Query"):
            model.model_validate({name: str(value) for name, value in given.items()})
        else:
            model.model_validate_json(json.dumps(given))
    except ValidationError as error:
        return error.errors(include_url=False, include_input=False)
    return []


def test_nothing_is_told_in_the_librarys_words() -> None:
    """Every field of every body and query, sent in every shape of JSON, is refused in words of ours."""
    kinds, seen = frozenset(get_args(ErrorType)), set[str]()
    for model in models():
        for name, field in model.model_fields.items():
            for value in SENT:
                for wrong in faults(model, {field.alias or name: value}):
                    if wrong["type"] in kinds:
                        seen.add(wrong["type"])
                        assert wrong["type"] in WORDS, (model, name, value, wrong["msg"])
                        assert detail_of(wrong) not in {"", wrong["msg"]}
    assert {"tuple_type", "list_type", "string_too_long", "too_long", "value_error"} <= seen
