"""The versions that ship, as their files have them: with comments, for people."""

from __future__ import annotations

from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent / "published"


def files() -> list[Path]:
    """The files, the oldest version first."""
    return sorted(FOLDER.glob("*.yaml"))


@cache
def text(version: str) -> str | None:
    """A version's file; None where no such version ships. What is published under its name may be another
    document: compare it.
    """
    found = next((path for path in files() if path.stem == version), None)
    return None if found is None else found.read_text(encoding="utf-8")
