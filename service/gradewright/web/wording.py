"""What is wrong with a body or a query, in our words: what to write, and not how the library reads it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

LIST, OBJECT, WHOLE_NUMBER = "write a list: [ … ]", "write an object: {{ … }}", "write a whole number"
WORDS: Mapping[str, str] = {
    "missing": "this field is needed; give it",
    "extra_forbidden": "there is no field of this name here; leave it out",
    "string_type": "write text, as a JSON string",
    "string_too_short": "write at least {min_length} characters",
    "string_too_long": "write at most {max_length} characters",
    "bool_type": "write true or false",
    "int_type": f"{WHOLE_NUMBER}, without quotes",
    "int_from_float": f"{WHOLE_NUMBER}, without quotes",
    "int_parsing": WHOLE_NUMBER,
    "int_parsing_size": f"{WHOLE_NUMBER} of fewer digits",
    "greater_than": "write more than {gt}",
    "greater_than_equal": "write {ge} or more",
    "less_than": "write less than {lt}",
    "less_than_equal": "write {le} or less",
    "list_type": LIST,
    "tuple_type": LIST,
    "set_type": LIST,
    "frozen_set_type": LIST,
    "dict_type": OBJECT,
    "mapping_type": OBJECT,
    "model_type": OBJECT,
    "model_attributes_type": OBJECT,
    "too_short": "this list is empty; give at least one",
    "too_long": "there are {actual_length} of these; give at most {max_length}",
    "literal_error": "write {expected}",
    "enum": "write {expected}",
    "json_invalid": "this is not JSON",
    "value_error": "{error}",
}
"""By Pydantic's kinds of fault, with what it tells of them in braces. Our own kinds come with their words."""


def detail_of(wrong: ErrorDetails) -> str:
    """What a model finds wrong, as it is told to whoever sent it."""
    told: Mapping[str, Any] = wrong.get("ctx", {})
    words = WORDS.get(wrong["type"])
    return wrong["msg"] if words is None else words.format_map(told)
