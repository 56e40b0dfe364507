"""Comparisons of published versions: worked out once, aside, and kept, as neither can change."""

from __future__ import annotations

import asyncio
import json
from collections import OrderedDict
from typing import TYPE_CHECKING

from gradewright.core.errors import Fault, Refused
from gradewright.rulebooks.service import RulebookService, Version

if TYPE_CHECKING:
    from gradewright.rulebooks.comparison import Comparison

KEPT = 64


class ComparisonService:
    """Compares any two published versions."""

    def __init__(self, rulebooks: RulebookService) -> None:
        self.rulebooks = rulebooks
        self._kept: OrderedDict[tuple[str, str], asyncio.Task[Comparison]] = OrderedDict()

    async def of(self, version: str, against: str | None) -> Comparison:
        """What a version changes against another one; None: against the one that it followed.

        `NoRulebook` where there is none of that name, `Refused` where the version followed none.
        """
        after = await self.rulebooks.get(version, at=("version",))
        before = await self.rulebooks.get(against or await self._before(after), at=("with",))
        key = (before.rulebook.version, after.rulebook.version)
        task = self._kept.get(key)
        if task is None:
            # Whoever asks meanwhile waits for the same one.
            task = self._kept[key] = asyncio.create_task(asyncio.to_thread(_compared, before, after))
        self._kept.move_to_end(key)
        while len(self._kept) > KEPT:
            self._kept.popitem(last=False)
        try:
            return await asyncio.shield(task)
        except Exception:
            self._kept.pop(key, None)
            raise

    async def _before(self, version: Version) -> str:
        """The name of the version that was in force before one began."""
        names = await self.rulebooks.versions()
        place = names.index(version.rulebook.version)
        if place == 0:
            detail = (
                f"{version.rulebook.version} is the earliest version: it followed none. "
                "Name the version to compare it with: ?with=…"
            )
            raise Refused(detail, faults=(Fault(detail, ("with",)),))
        return names[place - 1]


def _compared(before: Version, after: Version) -> Comparison:
    from gradewright.rulebooks.comparison import compare  # the solver: a service that is not asked has none

    return compare((before.rulebook, json.loads(before.text)), (after.rulebook, json.loads(after.text)))
