"""What does not fit a document's shape, in words that say what to write instead."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from typing import Any

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from gradewright.core.errors import Fault, Path
from gradewright.rulebooks import shape, shape_fields, shape_pricing
from gradewright.rulebooks.places import place

LONGEST_SHOWN = 60
MANY = 16  # keys or values that are listed rather than left to be looked up
ENTRIES: Mapping[str, type[BaseModel]] = {
    "families": shape.FamilyShape,
    "limits": shape.LimitShape,
    "attributes": shape.AttributeShape,
    "grades": shape.GradeShape,
    "impossible": shape.ImpossibleShape,
    "largest_first": shape.LargestFirstShape,
    "told_of": shape.ToldOfShape,
    "rules": shape.RuleShape,
    "preparations": shape.PreparationShape,
    "cautions": shape.CautionShape,
    "examples": shape.ExampleShape,
}
INNER: Mapping[str, type[BaseModel]] = {
    "priced_as": shape.KinShape,
    "follows": shape.FollowsShape,
    "sheds": shape.ShedsShape,
    "share": shape.MeasuredShape,
    "pricing": shape_pricing.PricingShape,
    "held": shape_pricing.HeldShape,
    "standing": shape_pricing.StandingShape,
    "benchmarks": shape_pricing.BenchmarksShape,
    "spread": shape_pricing.SpreadShape,
}
PATTERNS = {
    shape_fields.SLUG: "write lower-case letters, digits and single hyphens, such as copper-no2",
    shape_fields.NAME: "write lower-case letters, digits and underscores, such as heavy_steel_thickness",
    shape_fields.VERSION: 'write the year, a point and a number, in quotes: "2018.1"',
    shape_fields.SHARE: "write a share in percent, such as 5 %",
}
NOTHING = "nothing is written here"


def fault_of_shape(document: Mapping[str, Any], error: ErrorDetails) -> Fault:
    """The fault at its place; a key that is missing or too many is told of what it belongs to."""
    at = tuple(step for step in error["loc"] if not str(step).startswith("<") and step != "[key]")
    kind, key = error["type"], str(at[-1]) if at else ""
    if kind == "missing":
        return Fault(f"{place(document, at[:-1])}: `{key}` is missing: write it", at)
    if kind == "extra_forbidden":
        keys = _keys(at)
        near = tuple(difflib.get_close_matches(key, keys, n=3, cutoff=0.6))
        meant = f"did you mean {' or '.join(near)}?" if near else f"write {', '.join(keys)}"
        return Fault(f"{place(document, at[:-1])}: `{key}` is not a key that stands here; {meant}", at, near)
    if error["loc"][-1:] == ("[key]",):
        form = PATTERNS.get(error.get("ctx", {}).get("pattern", ""), "write at most 64 characters")
        return Fault(f"{place(document, at[:-1])}: the name {written(key)} does not fit: {form}", at)
    return Fault(f"{place(document, at)}: {_says(error)}", at)


def written(raw: object) -> str:
    """What was given, as a document writes it, cut where it is long."""
    if isinstance(raw, bool):
        return str(raw).lower()
    if isinstance(raw, (dict, list)):
        return "a mapping" if isinstance(raw, dict) else "a list"
    shown = repr(raw)
    return shown if len(shown) <= LONGEST_SHOWN else f"{shown[:LONGEST_SHOWN]}…"


def _keys(at: Path) -> tuple[str, ...]:
    """The keys that may stand beside the one at a place."""
    around = [step for step in at[:-1] if isinstance(step, str)]
    model: type[BaseModel] = shape.DocumentShape
    if around:
        model = INNER.get(around[-1]) or ENTRIES[around[0]]
    if "when" in around or "unless" in around:
        model = shape.BoundsShape
    return tuple(model.model_fields)


def _says(error: ErrorDetails) -> str:
    given = error["input"]
    if given is None:
        return f"{NOTHING}: write a value, or take the key out"
    told = WORDS.get(error["type"])
    return told(given, error.get("ctx", {})) if told else f"{written(given)} cannot stand here"


Words = Callable[[Any, Mapping[str, Any]], str]


def _one_of(given: Any, context: Mapping[str, Any]) -> str:
    return (
        f"{written(given)} is none of what may stand here: write {context['expected'].replace(chr(39), '')}"
    )


def _custom(name: str) -> Words:
    return lambda given, context: str(context[name])


def _fixed(says: str) -> Words:
    return lambda given, context: f"{written(given)} cannot stand here: {says}"


_mapping = _fixed("write names with their values, as `name: value`")
_list = _fixed("write a list: lines that begin with `- `, or [one, two]")
_number = _fixed("write a number of at most 12 digits, such as 0.5")
_yes_no = _fixed("write true or false")
_day = _fixed("write a day of the calendar as YYYY-MM-DD")

WORDS: Mapping[str, Words] = {
    "string_pattern_mismatch": lambda given, c: f"{written(given)} does not fit: {PATTERNS[c['pattern']]}",
    "string_type": _fixed("write text, in quotes"),
    "string_too_short": lambda given, c: f"{NOTHING}: write at least a word",
    "string_too_long": lambda given, c: f"longer than {c['max_length']} characters: say it in fewer",
    "value_error": lambda given, c: str(c["error"]),
    "literal_error": _one_of,
    "refused": _custom("why"),
    "model_type": _mapping,
    "dict_type": _mapping,
    "tuple_type": _list,
    "list_type": _list,
    "too_short": lambda given, c: "the list is empty: write at least one value",
    "decimal_parsing": _number,
    "decimal_type": _number,
    "decimal_max_digits": _number,
    "decimal_whole_digits": _number,
    "finite_number": _number,
    "int_type": _fixed("write a whole number"),
    "bool_type": _yes_no,
    "bool_parsing": _yes_no,
    "greater_than": lambda given, c: f"{written(given)} is too low: write a number above {c['gt']}",
    "greater_than_equal": lambda given, c: f"{written(given)} is too low: write {c['ge']} or more",
    "less_than_equal": lambda given, c: f"{written(given)} is too high: write {c['le']} or less",
    "one_of": _fixed("write true or false, a whole number, or text with its unit"),
    "date_type": _day,
    "date_parsing": _day,
    "date_from_datetime_parsing": _day,
}
