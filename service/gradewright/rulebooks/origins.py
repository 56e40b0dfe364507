"""Where published versions come from: what the room of the drafts tells this one, which stands below it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol, runtime_checkable


@dataclass(frozen=True, slots=True)
class Origin:
    """The draft that a version was published from, and the maintainer who approved it."""

    draft: str
    approved_by: str


@runtime_checkable
class Origins(Protocol):
    """Knows where versions come from."""

    async def origins(self) -> Mapping[str, Origin]:
        """By version; what was loaded, as the versions that ship are, comes from no draft."""
