"""Comparisons of published versions."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from gradewright.core.errors import Fault, Refused
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.comparing import Comparing, Tell
from gradewright.rulebooks.service import RulebookService, Version
from gradewright.rulebooks.source import Document

if TYPE_CHECKING:
    from gradewright.rulebooks.comparison import Comparison


class ComparisonService:
    """Compares any two published versions."""

    def __init__(self, rulebooks: RulebookService, comparing: Comparing) -> None:
        self.rulebooks = rulebooks
        self._comparing = comparing

    async def of(
        self, version: str, against: str | None, tell: Tell | None = None, *, first: bool = False
    ) -> Comparison:
        """What a version changes against another one; None: against the one that it followed. `tell` hears
        how far it is. `first`: for a maintainer, before all others.

        `NoRulebook` where there is none of that name, `Refused` where the version followed none; for others
        than maintainers `Busy` and `TooLong`.
        """
        after = await self.rulebooks.get(version, at=("version",))
        before = await self.rulebooks.get(against or await self._before(after), at=("with",))
        return await self._comparing.of(_named(before), _named(after), tell, first=first)

    async def _before(self, version: Version) -> str:
        """The name of the version that was in force before one began."""
        before = await self.rulebooks.before(version.rulebook.version)
        if before is None:
            detail = (
                f"{version.rulebook.version} is the earliest version: it followed none. "
                "Name the version to compare it with: ?with=…"
            )
            raise Refused(detail, faults=(Fault(detail, ("with",)),))
        return before


def _named(version: Version) -> tuple[Rulebook, Document]:
    return version.rulebook, json.loads(version.text)
