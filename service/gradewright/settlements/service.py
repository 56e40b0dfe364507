"""Settling scale tickets: pinned to a rulebook version and a ledger revision, kept on request, replayed."""

from __future__ import annotations

import hashlib
from dataclasses import asdict, dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.answers.keeping import Kept, Kind, decisions
from gradewright.answers.pins import Answer, Pins, canonical
from gradewright.clock import Clock
from gradewright.core.decimals import ROUNDING, trimmed
from gradewright.core.errors import Conflict, Fault, GradewrightError, NotFound
from gradewright.core.markdowns import Markdowns, markdowns
from gradewright.core.settlement import METHODS
from gradewright.db.session import Database
from gradewright.ledger.service import LedgerService
from gradewright.prices.given import Checked
from gradewright.prices.later import LaterWords, Saying
from gradewright.prices.postings import Given, PostingService
from gradewright.prices.said import WITHDRAWAL
from gradewright.prices.views import WITHDRAWN, PostingViews
from gradewright.settlements import repository
from gradewright.settlements.accepted import how_accepted
from gradewright.settlements.answer import Settled
from gradewright.settlements.given import Request, as_asked, asked_again
from gradewright.settlements.models import SettlementRow, WithdrawalRow
from gradewright.settlements.working import SettlementWork, Worked
from gradewright.yards.service import YardService

KIND = Kind("settlement", "/v1/settlements", "s", METHODS)
EVIDENCE = "ticket"
STEP = Decimal("1E-9")
NO_SHARE = Fraction(0)


@dataclass(frozen=True, slots=True)
class Filed:
    """A kept settlement, the posting of its prices, and when it was taken back, if it was.

    `looks_like`: another one that stands, of the same author, yard, day and lines. Of both, one counts.
    """

    kept: Kept
    posting: str | None = None
    withdrawn_at: datetime | None = None
    looks_like: str | None = None


@dataclass(frozen=True, slots=True)
class TakenBack:
    """What took a settlement back, and the lines of its posting that went with it."""

    row: WithdrawalRow
    posting: str | None
    lines: tuple[int, ...]


class SettlementService:
    """Settles tickets; keeps them for those who settled them.

    `database` and `clock` are for the edge, which keeps an answer under an idempotency key.
    """

    def __init__(
        self,
        database: Database,
        work: SettlementWork,
        yards: YardService,
        postings: PostingService,
        later: LaterWords,
        views: PostingViews,
        ledger: LedgerService,
        clock: Clock,
    ) -> None:
        self.database = database
        self.clock = clock
        self.keeping = decisions(database, ledger, clock, KIND)
        self.settle = work.settle
        self._yards = yards
        self._postings = postings
        self._later = later
        self._views = views

    async def keep(self, author: str, worked: Worked, *, post_prices: bool) -> Filed:
        """Keep a settlement, once for each ticket; post what its ticket shows, in the same transaction.

        Raises `Conflict` where the ticket is settled already, and whatever a posting may be refused with.
        """
        request = worked.settled.request
        checked = await self._checked(worked.settled) if post_prices else []
        ticket, alike = _ticket(author, request), _alike(worked.settled)
        async with self.database.write() as session:
            turn, stands = await repository.turns(session, ticket)
            if stands is not None:
                raise _settled_already(request, stands)
            kept = await self.keeping.keep(as_asked(request), worked.answer, author=author)
            posting = await self._post(session, author, kept.id, worked.settled, checked) if checked else None
            added = await repository.add(
                session,
                [
                    {"grade": one.grade, "share": _share(one.share or NO_SHARE), "unclear": one.share is None}
                    for one in how_accepted(worked.settled)
                ],
                id=kept.id,
                yard=request.yard,
                author=author,
                ticket_on=request.ticket.on,
                ticket=ticket,
                turn=turn,
                posting=posting,
                settled_at=self.clock(),
                alike=alike,
            )
            if not added:
                raise _settled_already(request, None)
            looks_like = await repository.looks_like(session, alike, author, but=kept.id)
        return Filed(kept, posting, looks_like=looks_like)

    async def get(self, settlement: str, reader: str, *, maintains: bool) -> Filed:
        """A kept settlement as it was answered, for its author and maintainers; `NotFound` for others."""
        found = await self._find(settlement, reader, maintains=maintains)
        return await self._filed(await self.keeping.get(settlement), *found)

    async def replay(self, settlement: str, reader: str, *, maintains: bool) -> Filed:
        """A kept ticket settled again with its pins; `ReplayDiffers` unless every byte is the same."""
        found = await self._find(settlement, reader, maintains=maintains)
        return await self._filed(await self.keeping.replay(settlement, self._again), *found)

    async def withdraw(
        self, session: AsyncSession, settlement: str, reader: str, reason: str, *, maintains: bool
    ) -> TakenBack:
        """Take a settlement back, with its prices where it is the author who does; `Conflict` if it was."""
        row, _ = await self._find(settlement, reader, maintains=maintains)
        back = WithdrawalRow(settlement=row.id, author=reader, reason=reason, recorded_at=self.clock())
        if not await repository.withdraw(session, back):
            raise Conflict(f"{row.id} was taken back already. Nothing was stored.")
        lines: tuple[int, ...] = ()
        if row.posting is not None and reader == row.author:
            view = await self._views.get(row.posting)
            lines = tuple(seen.row.line for seen in view.prices if seen.status != WITHDRAWN)
            if lines:
                await self._later.say(session, row.posting, reader, Saying(WITHDRAWAL, reason, lines))
        return TakenBack(back, row.posting, lines)

    async def markdowns(self, yard: str) -> Markdowns:
        """How often and by how much a yard marks down, from the tickets that stand. Raises `UnknownYard`."""
        (await self._yards.atlas()).yard(yard)
        async with self.database.read() as session:
            return markdowns(await repository.sold_at(session, yard))

    async def _again(self, asked: dict[str, Any], pins: Pins) -> Answer:
        return (await self.settle(asked_again(asked, pins), pins.method)).answer

    async def _filed(self, kept: Kept, row: SettlementRow, withdrawal: WithdrawalRow | None) -> Filed:
        if withdrawal is not None:
            return Filed(kept, row.posting, withdrawal.recorded_at)
        if row.alike is None:
            return Filed(kept, row.posting)
        async with self.database.read() as session:
            looks_like = await repository.looks_like(session, row.alike, row.author, but=row.id)
        return Filed(kept, row.posting, looks_like=looks_like)

    async def _find(
        self, settlement: str, reader: str, *, maintains: bool
    ) -> tuple[SettlementRow, WithdrawalRow | None]:
        async with self.database.read() as session:
            found = await repository.find(session, settlement)
        if found is None or (found[0].author != reader and not maintains):
            raise NotFound(
                f"You have no settlement {settlement!r} here. Only those with keep: true are kept."
            )
        return found

    async def _checked(self, settled: Settled) -> list[Checked]:
        """The prices that the ticket shows, as they can be stored. Faults point at the ticket's lines."""
        showing = settled.showing.prices
        if not showing:
            return []
        try:
            return await self._postings.read(_posted(settled))
        except GradewrightError as error:
            faults = tuple(_on_ticket(fault, [place for place, _ in showing]) for fault in error.faults)
            raise type(error)(error.detail, faults=faults) from error

    async def _post(
        self,
        session: AsyncSession,
        author: str,
        settlement: str,
        settled: Settled,
        checked: list[Checked],
    ) -> str:
        """The prices as a posting; where the ticket adds up, each with the word that it shows them."""
        given = _posted(settled)
        if settled.settlement.flaws:
            return (await self._postings.post(session, author, given, checked)).row.id
        reason = f"{settlement}: a settled ticket shows it, and adds up."
        return (await self._later.show(session, author, given, checked, reason)).words[0].posting


def _posted(settled: Settled) -> Given:
    request = settled.request
    prices = [price for _, price in settled.showing.prices]
    return Given(request.yard, request.ticket.on, EVIDENCE, prices)


def _on_ticket(fault: Fault, places: list[int]) -> Fault:
    """A fault of a posting, where it stands on the ticket."""
    match fault.at:
        case ("prices", int(number), *inside):
            return Fault(fault.detail, ("ticket", "lines", places[number], *inside), fault.suggestions)
    return Fault(fault.detail, ("ticket", "on"), fault.suggestions)


def _ticket(author: str, request: Request) -> str:
    """What makes a ticket one: whose, where, when, and its number, or all of it where it has none.

    Under another number the same ticket is another one: two loads of a day may well come to the same lines.
    Whoever settles it is told what it looks like, and in figures the two count as one: see `_alike`.
    """
    ticket = request.ticket
    what = ticket.number if ticket.number is not None else asdict(ticket)
    return hashlib.sha256(canonical([author, request.yard, ticket.on, what])).hexdigest()


def _alike(settled: Settled) -> str:
    """What tickets that look like one have in common, whoever settles them: where, when, and what the lines
    weigh and come to, in whatever order and unit.
    """
    lines = sorted([trimmed(line.net), line.amount] for line in settled.ticket.lines)
    of = [settled.request.yard, settled.request.ticket.on, lines]
    return hashlib.sha256(canonical(of)).hexdigest()


def _settled_already(request: Request, stands: str | None) -> Conflict:
    named = f", as {stands}" if stands is not None else ""
    detail = (
        f"This ticket is settled already{named}. Take that back first, if it was wrong. Nothing was stored."
    )
    at = ("ticket",) if request.ticket.number is None else ("ticket", "number")
    return Conflict(detail, faults=(Fault(detail, at),))


def _share(share: Fraction) -> Decimal:
    return ROUNDING.divide(Decimal(share.numerator), Decimal(share.denominator)).quantize(
        STEP, context=ROUNDING
    )
