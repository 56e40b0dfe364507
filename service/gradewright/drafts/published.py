"""Proofs of published versions, for everybody."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace

from gradewright.clock import Clock
from gradewright.drafts.proving import Proofs, Proved
from gradewright.rulebooks.advice import without_advice
from gradewright.rulebooks.proofs import Tell
from gradewright.rulebooks.service import RulebookService
from gradewright.rulebooks.source import Document

MOST_WAITING = 4
"""Whoever asks may be anybody: so many proofs at once, and the next is asked to come again."""


@dataclass(frozen=True, slots=True)
class ProvedVersion:
    """What the proof of a version has found; its document says where each thing stands."""

    version: str
    sha256: str
    document: Document
    proved: Proved


class PublishedProofs:
    """Proves a version as it stands in all places that there are, on every day on which it is in force."""

    def __init__(self, rulebooks: RulebookService, proofs: Proofs, clock: Clock) -> None:
        self._rulebooks, self._proofs, self._clock = rulebooks, proofs, clock

    async def of(self, name: str, tell: Tell | None = None) -> ProvedVersion:
        """The proof of a version: as it was kept, or worked out in some seconds. `tell` hears how far it is.

        Raises `NoRulebook`; `Busy` where as many are waited for as may be.
        """
        found = await self._rulebooks.get(name, at=("version",))
        rulebook = found.rulebook
        standing = await self._rulebooks.standing(rulebook)
        until = standing.days[standing.later[0]] if standing.later else None
        proved = await self._proofs.of(rulebook, self._clock(), tell, until, MOST_WAITING)
        # It never changes: how to mend it is of use to whoever writes another.
        findings = tuple(replace(one, says=without_advice(one.says)) for one in proved.findings)
        document = json.loads(found.text)
        return ProvedVersion(rulebook.version, rulebook.sha256, document, replace(proved, findings=findings))
