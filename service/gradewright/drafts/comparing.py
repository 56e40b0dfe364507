"""What a draft would change against a published version: worked out aside, and remembered by the hashes."""

from __future__ import annotations

import asyncio
import json
from collections import OrderedDict
from typing import TYPE_CHECKING

from gradewright.core.errors import Fault, Refused
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.document import read
from gradewright.rulebooks.service import RulebookService
from gradewright.rulebooks.source import Document

if TYPE_CHECKING:
    from gradewright.rulebooks.comparison import Comparison

KEPT = 16
Named = tuple[Rulebook, Document]


class DraftComparisons:
    """Compares documents of drafts with published versions."""

    def __init__(self, rulebooks: RulebookService) -> None:
        self._rulebooks = rulebooks
        self._kept: OrderedDict[tuple[str, str], asyncio.Task[Comparison]] = OrderedDict()

    async def of(
        self, document: Document, base: str | None, against: str | None
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
        key = before[0].sha256, after[0].sha256
        task = self._kept.get(key)
        if task is None:
            # Whoever asks meanwhile waits for the same one.
            task = self._kept[key] = asyncio.create_task(asyncio.to_thread(_compared, before, after))
        self._kept.move_to_end(key)
        while len(self._kept) > KEPT:
            self._kept.popitem(last=False)
        try:
            return before[0], after[0], await asyncio.shield(task)
        except Exception:
            self._kept.pop(key, None)
            raise


def _compared(before: Named, after: Named) -> Comparison:
    from gradewright.rulebooks.comparison import compare  # the solver, loaded where it is needed

    return compare(before, after)
