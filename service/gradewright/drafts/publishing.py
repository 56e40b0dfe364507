"""Publishing a draft that was checked: what may have changed since is looked at again, where nothing can any
more."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.clock import Clock
from gradewright.core.errors import Conflict
from gradewright.core.rulebook import Rulebook
from gradewright.db.ledger import TAKEN, Revision
from gradewright.drafts.checking import begun, off_base
from gradewright.drafts.draft import Draft
from gradewright.drafts.proving import Houses, Proofs
from gradewright.rulebooks.proofs import Limits
from gradewright.rulebooks.service import RulebookService
from gradewright.rulebooks.source import Document
from gradewright.rulebooks.standing import Standing


@dataclass(frozen=True, slots=True)
class Publishing:
    """Publishes documents of drafts in the transaction in which they are approved.

    A check takes seconds and may wait for others before that: meanwhile other versions are published, places
    say limits of their own, and a day begins.
    """

    rulebooks: RulebookService
    proofs: Proofs
    clock: Clock

    async def publish(
        self,
        session: AsyncSession,
        draft: Draft,
        document: Document,
        houses: Houses | None,
        ended_by: str | None = None,
    ) -> None:
        """Publishes the document in `session`, a transaction that is given up where this raises.

        `houses`: the limits of places under which it was proved; `ended_by`: the version that is said to
        end it. Raises `Conflict` where it was published already, and where it is no more what was checked:
        another version, a limit of a place, or its own first day has come in between.
        """
        rulebook, new = await self.rulebooks.publish(document, self.clock())
        if not new:
            raise Conflict(f"Version {rulebook.version} is published already, with this very document.")
        # Whoever has published holds the ledger until the end: nothing is published or said in between now.
        standing = await self.rulebooks.standing(rulebook, session)
        off = off_base(standing, draft.last.base, rulebook)
        if off is not None:
            raise Conflict(f"Another version was published at the same moment, so this one was not. {off}")
        if standing.ended_by != ended_by:
            raise Conflict(
                f"While it was checked version {standing.ended_by} was published, which ends this one on "
                f"{standing.ends}. Nothing was stored. Check it again: it says what would be gone then."
            )
        taken: Revision = session.info[TAKEN]
        await self._looked_at(rulebook, standing, houses, taken.number - 1)
        self._in_time(draft.name, rulebook, first=not standing.days.keys() - {rulebook.version})

    async def _looked_at(
        self, rulebook: Rulebook, standing: Standing, houses: Houses | None, known_at: int
    ) -> None:
        """Raises `Conflict` where a place has limits, as of a revision, under which it was not proved."""
        until = standing.ends or date.max
        now = await self.proofs.houses(rulebook, until, at_least=known_at)
        before = set() if houses is None else {_values(limits) for limits in houses.limits}
        unseen = [limits for limits in now.limits if _values(limits) not in before]
        if unseen:
            told = "; ".join(_in_words(limits) for limits in unseen[:3])
            more = f"; and {len(unseen) - 3} more such places" if len(unseen) > 3 else ""
            raise Conflict(
                "While it was checked places have said limits of their own, and under those "
                f"{rulebook.version} was not looked at: {told}{more}. Nothing was stored. Approve it again: "
                "it is checked anew, under these too."
            )

    def _in_time(self, name: str, rulebook: Rulebook, *, first: bool) -> None:
        """Raises `Conflict` where the version's first day has begun since it was checked."""
        late = begun(rulebook.effective_from, self.clock().date(), first=first)
        if late is not None:
            raise Conflict(
                f"A day has begun while {name} was checked. {late} Nothing was stored: send it back, and "
                "submit it again with that day."
            )


def _values(limits: Limits) -> tuple[tuple[str, str], ...]:
    return tuple((limit.name, limit.given) for limit in limits)


def _in_words(limits: Limits) -> str:
    """Which limits hold, each with whose word it is: a yard has those of its region too."""
    return " and ".join(f"{limit.within} {limit.name} is {limit.given}" for limit in limits)
