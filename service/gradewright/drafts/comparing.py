"""What a draft would change against a published version."""

from __future__ import annotations

import asyncio
import json
from typing import TYPE_CHECKING

from gradewright.core.errors import Fault, Refused
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.comparing import Comparing, Tell
from gradewright.rulebooks.document import read
from gradewright.rulebooks.service import RulebookService
from gradewright.rulebooks.source import Document

if TYPE_CHECKING:
    from gradewright.rulebooks.comparison import Comparison


class DraftComparisons:
    """Compares documents of drafts with published versions."""

    def __init__(self, rulebooks: RulebookService, comparing: Comparing) -> None:
        self._rulebooks = rulebooks
        self._comparing = comparing

    async def of(
        self, document: Document, base: str | None, against: str | None, tell: Tell | None = None
    ) -> tuple[Rulebook, Rulebook, Comparison]:
        """Before, after, and what moves between them; `against`: None for the version that it builds on.

        Raises `NoRulebook`, `Refused` where neither is known, `RulebookError` for a document that is none.
        """
        name = against or base
        if name is None:
            detail = "It is not known on which version this draft builds. Name one to compare with: ?with=…"
            raise Refused(detail, faults=(Fault(detail, ("with",)),))
        version = await self._rulebooks.get(name, at=("with",))
        before = version.rulebook, json.loads(version.text)
        after = await asyncio.to_thread(read, document), document
        found = await self._comparing.of(before, after, tell, first=True)  # drafts are maintainers'
        return before[0], after[0], found
