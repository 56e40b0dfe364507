"""Later words about posted prices: taken back, confirmed, disputed, decided on, put right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.clock import Clock
from gradewright.core.errors import Conflict, Fault, GradewrightError, NotAllowed, NotFound, Refused
from gradewright.db.leaves import seal
from gradewright.db.ledger import Revision, next_revision
from gradewright.db.session import Database
from gradewright.prices import entries as sealed
from gradewright.prices import repository
from gradewright.prices.given import Checked
from gradewright.prices.models import PostingRow, WordRow
from gradewright.prices.postings import Given, Posting, PostingService
from gradewright.prices.said import CONFIRMATION, DECISION, DISPUTE, WITHDRAWAL

UNSAID = {
    kind: f"Your {kind} of it you take back by {how} it: of what you say of a price the last word stands."
    for kind, how in ((DISPUTE, "confirming"), (CONFIRMATION, "disputing"))
}


@dataclass(frozen=True, slots=True)
class Saying:
    """One act: about some lines of a posting (None: all that still stand), with a reason."""

    kind: str
    reason: str
    lines: tuple[int, ...] | None = None
    verdict: str | None = None


@dataclass(frozen=True, slots=True)
class SaidLater:
    """What was stored: a word for each line, and the posting that came with them, if one did."""

    words: Sequence[WordRow]
    recorded_at: datetime
    instead: Posting | None = None


class LaterWords:
    """Adds later words to the ledger. The prices they are about stay as they are.

    `database` and `clock` are for the edge, which keeps an answer under an idempotency key.
    """

    def __init__(self, database: Database, postings: PostingService, clock: Clock) -> None:
        self.database = database
        self._postings = postings
        self.clock = clock

    async def say(self, session: AsyncSession, posting: str, author: str, saying: Saying) -> SaidLater:
        """Store words about a posting, at the next revision.

        Raises `NotFound`, `Refused`; `NotAllowed`: not theirs to say; `Conflict`: said or taken back already.
        """
        revision = await next_revision(session, self.clock())
        words = await self._words(session, posting, author, saying, revision, after=0)
        await _keep(session, words)
        await seal(session, revision, sealed.words_written(words))
        return SaidLater(words, revision.recorded_at)

    async def correct(
        self,
        session: AsyncSession,
        posting: str,
        author: str,
        saying: Saying,
        given: Given,
        prices: Sequence[Checked],
    ) -> SaidLater:
        """Take lines back and store others in their place: one revision, all or nothing."""
        revision = await next_revision(session, self.clock())
        words = await self._words(session, posting, author, saying, revision, after=len(prices))
        instead = await self._postings.store(session, revision, author, given, prices)
        await _keep(session, words)
        written = sealed.prices_written(instead.row, instead.entries)
        await seal(session, revision, [*written, *sealed.words_written(words)])
        return SaidLater(words, revision.recorded_at, instead)

    async def show(
        self, session: AsyncSession, author: str, given: Given, prices: Sequence[Checked], reason: str
    ) -> SaidLater:
        """Store prices that a settled ticket shows, each with its author's confirmation: one revision."""
        revision = await next_revision(session, self.clock())
        posted = await self._postings.store(session, revision, author, given, prices)
        words = [
            WordRow(
                revision=revision.number,
                line=len(prices) + entry.line,
                kind=CONFIRMATION,
                posting=posted.row.id,
                about=entry.line,
                yard=entry.yard,
                observed_on=entry.observed_on,
                author=author,
                verdict=None,
                reason=reason,
            )
            for entry in posted.entries
        ]
        await _keep(session, words)
        written = sealed.prices_written(posted.row, posted.entries)
        await seal(session, revision, [*written, *sealed.words_written(words)])
        return SaidLater(words, revision.recorded_at, posted)

    async def _words(
        self,
        session: AsyncSession,
        posting: str,
        author: str,
        saying: Saying,
        revision: Revision,
        *,
        after: int,
    ) -> list[WordRow]:
        """The words as rows. The revision is taken: no other writer can outdate what is read here."""
        found = await repository.find(session, posting)
        if found is None:
            raise NotFound(f"There is no posting {posting!r}.")
        row, entries = found
        before = await repository.words_of(session, [posting])
        _may(row, before[posting], author, saying)
        lines = _lines([entry.line for entry in entries], before[posting], author, saying)
        return [
            WordRow(
                revision=revision.number,
                line=after + number,
                kind=saying.kind,
                posting=posting,
                about=line,
                yard=row.yard,
                observed_on=row.observed_on,
                author=author,
                verdict=saying.verdict,
                reason=saying.reason,
            )
            for number, line in enumerate(lines, start=1)
        ]


async def _keep(session: AsyncSession, words: Sequence[WordRow]) -> None:
    session.add_all(words)
    await session.flush()


def _may(row: PostingRow, before: Sequence[WordRow], author: str, saying: Saying) -> None:
    theirs = row.author == author
    if saying.kind == WITHDRAWAL and not theirs:
        # Who has said something of it already mostly means that: it is told how to unsay it.
        own = [word.kind for word in before if word.author == author and word.kind in UNSAID]
        instead = UNSAID[own[-1]] if own else "Dispute it, and say why; maintainers decide."
        raise NotAllowed(f"{row.id} is {row.author}'s: only {row.author} can take it back. {instead}")
    if saying.kind in (CONFIRMATION, DISPUTE) and theirs:
        raise NotAllowed(f"{row.id} is your own: others confirm or dispute it. You can take it back.")
    if saying.kind == DECISION and theirs:
        raise NotAllowed(f"{row.id} is your own: another maintainer decides on it. You can take it back.")


def _lines(there: Sequence[int], before: Sequence[WordRow], author: str, saying: Saying) -> Sequence[int]:
    """The lines that are meant. Raises with a fault for every line that nothing can be said of any more."""
    withdrawn = {word.about for word in before if word.kind == WITHDRAWAL}
    repeated = _repeats(before, author, saying)
    if saying.lines is None:
        meant = [line for line in there if line not in withdrawn and line not in repeated]
        if not meant:
            raise Conflict(_why(there[0], withdrawn, repeated, saying) + " Nothing was stored.")
        return meant
    faults: list[Fault] = []
    kind: type[GradewrightError] = Conflict
    all_lines, named = set(there), set[int]()
    for index, line in enumerate(saying.lines):
        at = ("lines", index)
        if line not in all_lines:
            kind = Refused
            faults.append(Fault(f"There is no line {line}: the posting has lines 1 to {len(there)}.", at))
        elif line in named:
            kind = Refused
            faults.append(Fault(f"Line {line} is named already: name it once.", at))
        elif line in withdrawn or line in repeated:
            faults.append(Fault(_why(line, withdrawn, repeated, saying), at))
        named.add(line)
    if faults:
        raise kind(f"{faults[0].detail} Nothing was stored.", faults=tuple(faults))
    return saying.lines


def _repeats(before: Sequence[WordRow], author: str, saying: Saying) -> set[int]:
    """The lines of which the same was the last word already: of this member, or the last decision."""
    if saying.kind == DECISION:
        last = {word.about: word.verdict for word in before if word.kind == DECISION}
        return {line for line, verdict in last.items() if verdict == saying.verdict}
    voices: Mapping[int, str] = {
        word.about: word.kind
        for word in before
        if word.author == author and word.kind in (CONFIRMATION, DISPUTE)
    }
    return {line for line, spoke in voices.items() if spoke == saying.kind}


def _why(line: int, withdrawn: set[int], repeated: set[int], saying: Saying) -> str:
    if line in withdrawn:
        return f"Line {line} was taken back by its author: there is nothing left to say of it."
    if saying.kind == DECISION:
        return f"Line {line} is {saying.verdict} already."
    return f"Your last word on line {line} is a {saying.kind} already."
