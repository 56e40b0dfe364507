"""Reading request bodies: JSON without the liberties that two readers would take differently.

Refused beyond what JSON itself refuses: text that is not UTF-8, a name given twice in one object, nesting
deeper than 64, numbers that would not survive (integers beyond 64 bits, anything that overflows),
NUL characters and lone surrogates in text.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from typing import Any

from gradewright.web.problems import malformed, pointer_to

MAX_DEPTH = 64
_LARGEST = 2**63 - 1
_CONTAINERS = (dict, list)
_SUSPECT_ESCAPE = re.compile(rb"\\u(?:0000|[dD][89a-fA-F])")

Path = tuple[str | int, ...]


class _Flaw:
    """Stands in the parsed document where a flaw was found, until its pointer is known."""

    __slots__ = ("detail",)

    def __init__(self, detail: str) -> None:
        self.detail = detail


def check_json(body: bytes) -> None:
    """Raises `RequestRefused` (malformed-request) with a pointer where one can be told."""
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise malformed(
            f"The body is not UTF-8: byte {error.start} cannot be read. Send JSON encoded as UTF-8."
        ) from None
    reader = _Reader()
    too_deep = malformed(f"The body is nested deeper than {MAX_DEPTH} levels. Send it flatter.")
    try:
        document = json.loads(
            text,
            object_pairs_hook=reader.an_object,
            parse_int=reader.an_integer,
            parse_float=reader.a_fraction,
            parse_constant=reader.a_constant,
        )
    except json.JSONDecodeError as error:
        raise malformed(
            f"The body is not JSON: line {error.lineno}, column {error.colno}: {error.msg}."
        ) from None
    except RecursionError:
        raise too_deep from None
    if _too_deep(document):
        raise too_deep
    if reader.flawed or _SUSPECT_ESCAPE.search(body):
        for path, detail in _flaws(document):
            raise malformed(detail, pointer=pointer_to(path))


def _too_deep(document: Any) -> bool:
    level = [document]
    for _ in range(MAX_DEPTH):
        inner: list[Any] = []
        for node in level:
            if type(node) is dict:
                inner += [value for value in node.values() if type(value) in _CONTAINERS]
            elif type(node) is list:
                inner += [value for value in node if type(value) in _CONTAINERS]
        if not inner:
            return False
        level = inner
    return True


class _Reader:
    """Hooks of the JSON reader; they note flaws, so that one pass reads and checks."""

    __slots__ = ("flawed",)

    def __init__(self) -> None:
        self.flawed = False

    def _flaw(self, detail: str) -> _Flaw:
        self.flawed = True
        return _Flaw(detail)

    def an_object(self, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        made = dict(pairs)
        if len(made) != len(pairs):
            seen: set[str] = set()
            for name, _ in pairs:
                if name in seen:
                    made[name] = self._flaw("This name is given twice in one object. Give it once.")
                seen.add(name)
        return made

    def an_integer(self, text: str) -> Any:
        if len(text) > 20 or not -_LARGEST - 1 <= (number := int(text)) <= _LARGEST:
            return self._flaw(
                "This integer does not fit into 64 bits. Decimals and long numbers are sent as strings."
            )
        return number

    def a_fraction(self, text: str) -> Any:
        number = float(text)  # only looked at here; no float is kept or computed with
        if math.isinf(number):
            return self._flaw('This number is too large. Decimals are sent as strings, such as "3.35".')
        return number

    def a_constant(self, text: str) -> Any:
        return self._flaw(f"{text} is not a number of JSON. Leave the field out if there is no value.")


def _flaws(value: Any, path: Path = ()) -> Iterator[tuple[Path, str]]:
    if isinstance(value, _Flaw):
        yield path, value.detail
    elif isinstance(value, str):
        if fault := _unstorable(value):
            yield path, fault
    elif isinstance(value, dict):
        for name, inner in value.items():
            if fault := _unstorable(name):
                yield path, f"A name in this object: {fault}"
            else:
                yield from _flaws(inner, (*path, name))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _flaws(inner, (*path, index))


def _unstorable(text: str) -> str | None:
    if "\x00" in text:
        return "Text with a NUL character cannot be stored. Leave the character out."
    if any("\ud800" <= character <= "\udfff" for character in text):
        return "Text with half a surrogate pair is not Unicode. Send whole characters."
    return None
