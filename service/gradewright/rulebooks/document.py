"""A rulebook document (YAML or JSON) to a `core.rulebook.Rulebook`, every fault told at once with its place.

The canonical form is the document as JSON without spaces, in UTF-8, its keys in the document's order:
attributes and families stand in the order in which people look at them. Its SHA-256 names its content.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Hashable
from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

import yaml

from gradewright.core.errors import RulebookError
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.reader import Reader

Document = dict[str, Any]


class _StrictLoader(yaml.CSafeLoader):
    """YAML as written: no repeated keys, and numbers with a point stay exact decimals."""


def _mapping(loader: _StrictLoader, node: yaml.MappingNode) -> dict[Hashable, Any]:
    result: dict[Hashable, Any] = {}
    for key_node, value_node in node.value:
        key = loader.construct_object(key_node, deep=True)
        line = key_node.start_mark.line + 1
        if not isinstance(key, Hashable):
            raise RulebookError(f"line {line}: a name is one word or text, not a list or a mapping")
        if key in result:
            raise RulebookError(f"line {line}: {key!r} stands here a second time; keep one of the two")
        result[key] = loader.construct_object(value_node, deep=True)
    return result


def _number(loader: _StrictLoader, node: yaml.ScalarNode) -> Decimal:
    text = str(loader.construct_scalar(node))
    try:
        return Decimal(text)
    except InvalidOperation:
        line = node.start_mark.line + 1
        raise RulebookError(f"line {line}: {text!r} is not a number that can be kept exactly") from None


_StrictLoader.add_constructor("tag:yaml.org,2002:map", _mapping)
_StrictLoader.add_constructor("tag:yaml.org,2002:float", _number)


def from_yaml(text: str) -> Document:
    """The document as plain values: dates and decimals become strings, as in its JSON form."""
    try:
        loaded = yaml.load(text, Loader=_StrictLoader)  # noqa: S506 - a safe loader's subclass
    except yaml.YAMLError as error:
        raise RulebookError(f"The document is not YAML: {error}") from error
    plain = _plain(loaded)
    if not isinstance(plain, dict):
        raise RulebookError("The document is not a mapping: it must begin with `version:`")
    return plain


def read_yaml(path: Path) -> Rulebook:
    """The rulebook in a YAML file."""
    return read(from_yaml(path.read_text(encoding="utf-8")))


def canonical(document: Document) -> bytes:
    """The bytes that are hashed and stored."""
    return json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode()


def read(document: Document) -> Rulebook:
    """The rulebook that a document describes; `RulebookError` carries every fault found, with its place."""
    reader = Reader(document)
    rulebook = reader.rulebook(hashlib.sha256(canonical(document)).hexdigest())
    if reader.faults:
        count = len(reader.faults)
        first = "; ".join(fault.detail for fault in reader.faults[:3])
        raise RulebookError(f"{count} fault(s) in the rulebook: {first}", faults=tuple(reader.faults))
    return rulebook


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_plain(item) for item in value]
    if isinstance(value, (Decimal, date)):
        return str(value)
    return value
