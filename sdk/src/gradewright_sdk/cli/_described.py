"""Descriptions of parts: in words for people, and as an example of a rulebook has one."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

# What YAML reads as the text that it is: slugs, and a measure with its unit.
PLAIN = re.compile(r"[a-z]+(-[a-z0-9]+)*|[0-9]+([./][0-9]+)? ([A-Za-z]+[0-9]?(/[a-z]+[0-9]?)?|%)")
NO_TEXT = frozenset({"true", "false", "yes", "no", "on", "off", "null", "y", "n"})


def in_words(part: Mapping[str, str | bool | int]) -> str:
    """A description on one line, such as `metal: steel, thickness: 6.34 mm`."""
    return ", ".join(f"{name}: {_value(value)}" for name, value in part.items())


def as_example(part: Mapping[str, str | bool | int]) -> str:
    """The same in braces, to be pasted into a YAML document."""
    named = (f"{name if _plain(name) else json.dumps(name)}: {_value(value)}" for name, value in part.items())
    return f"{{{', '.join(named)}}}"


def _value(value: str | bool | int) -> str:
    if isinstance(value, str) and _plain(value):
        return value
    return json.dumps(value)  # which YAML reads too: true, 1998, "12:30"


def _plain(text: str) -> bool:
    return PLAIN.fullmatch(text.replace("_", "")) is not None and text not in NO_TEXT
