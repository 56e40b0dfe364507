"""Versions as the operator's commands name them: by a file, or by their name in the database."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

from gradewright.core.errors import NoRulebook, RulebookError
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks import document
from gradewright.rulebooks.service import RulebookService
from gradewright.rulebooks.source import from_file
from gradewright.terminal import Stop

Named = tuple[Rulebook, dict[str, Any]]


def named_file(named: str) -> Path | None:
    """The file that is named; None where a version in the database is."""
    path = Path(named)
    if path.suffix not in (".yaml", ".yml") and not path.exists():
        return None
    if not path.is_file():
        raise Stop(f"There is no file {named}.")
    return path


def read_file(path: Path) -> Named:
    """The version in a file."""
    try:
        source = from_file(path)
        return document.read_source(source), source.document
    except RulebookError as error:
        raise Stop(f"{path} cannot be read as a rulebook: {error.detail}") from None


async def in_database(versions: RulebookService, name: str) -> Named:
    """A published version by its name."""
    try:
        found = await versions.get(name)
    except NoRulebook as error:
        raise Stop(f"{error.detail} Or name a YAML document.") from None
    return found.rulebook, json.loads(found.text)


def as_yaml(part: Mapping[str, object]) -> str:
    """A description as it stands in a document, on one line."""
    return str(yaml.safe_dump(dict(part), default_flow_style=True, sort_keys=False, width=10_000)).strip()
