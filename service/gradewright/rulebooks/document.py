"""A rulebook document (YAML or JSON) to a `core.rulebook.Rulebook`, every fault told at once with its place.

The canonical form is the document as JSON without spaces, in UTF-8, its keys in the document's order:
attributes and families stand in the order in which people look at them. Its SHA-256 names its content.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from gradewright.core.errors import RulebookError
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.reader import Reader
from gradewright.rulebooks.source import Document, Source, from_file, from_text


def from_yaml(text: str) -> Document:
    """The document as plain values: dates and decimals become strings, as in its JSON form."""
    return from_text(text).document


def read_yaml(path: Path) -> Rulebook:
    """The rulebook in a YAML file."""
    return read_source(from_file(path))


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


def read_source(source: Source) -> Rulebook:
    """The rulebook that a file describes; the faults of `RulebookError` have their lines as well."""
    try:
        return read(source.document)
    except RulebookError as error:
        raise RulebookError(error.detail, faults=source.placed(error.faults)) from None
