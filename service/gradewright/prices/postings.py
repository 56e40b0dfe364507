"""Posting prices: several seen at one yard on one day, stored as posted, all or none."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, TypeVar, cast

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.clock import Clock
from gradewright.core.errors import Fault, Refused
from gradewright.core.units import parse_mass
from gradewright.db import replays
from gradewright.db.entries import Line
from gradewright.db.leaves import seal, seal_all
from gradewright.db.ledger import ONLY_PRICES, Revision, next_revision, next_revisions
from gradewright.db.replays import Claim
from gradewright.db.session import Database
from gradewright.db.together import Together
from gradewright.prices import entries as sealed
from gradewright.prices import repository
from gradewright.prices.given import Checked, LineReader, PriceGiven
from gradewright.prices.models import EntryRow, PostingRow
from gradewright.rulebooks.service import RulebookService
from gradewright.yards.service import YardService

EARLIEST_DAY = date(1990, 1, 1)
PRICES_AT_ONCE = 1000  # in one transaction: other writers wait for it. A longer posting has one alone
A = TypeVar("A")
FARTHEST_EAST = timedelta(hours=14)  # UTC+14: where it is today first


@dataclass(frozen=True, slots=True)
class Given:
    """One act of posting."""

    yard: str
    observed_on: date
    evidence: str
    prices: Sequence[PriceGiven]
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Posting:
    """A stored posting with its entries, in order."""

    row: PostingRow
    entries: Sequence[EntryRow]


@dataclass(frozen=True, slots=True)
class _Waiting:
    """A posting that is to be stored, and what its author is told then."""

    author: str
    given: Given
    prices: Sequence[Checked]
    answer: Callable[[Posting], Any]
    claim: Claim[Any] | None


class PostingService:
    """Writes to the ledger. Nothing here, or anywhere, changes what stands in it."""

    def __init__(
        self, database: Database, yards: YardService, rulebooks: RulebookService, clock: Clock
    ) -> None:
        self._database = database
        self._yards = yards
        self._rulebooks = rulebooks
        self._clock = clock
        self._together = Together[_Waiting, Any](
            self._add_all, most=PRICES_AT_ONCE, weight=lambda one: len(one.prices)
        )

    async def read(self, given: Given) -> list[Checked]:
        """The prices of a posting, checked; every fault is told at once, each with its place."""
        atlas = await self._yards.atlas()
        yard = atlas.yard(given.yard)
        faults = [*self.day_faults(given.observed_on)]
        if faults:
            raise Refused(faults[0].detail, faults=tuple(faults))
        rulebook = (await self._rulebooks.in_force(given.observed_on, at=("observed_on",))).rulebook
        reader = LineReader(atlas, yard, rulebook, given.observed_on)
        lines = [reader.read(price, ("prices", number)) for number, price in enumerate(given.prices)]
        faults = [*reader.faults, *_repeated(lines)]
        if faults:
            more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
            kind = reader.kinds.pop() if len(reader.kinds) == 1 else Refused
            raise kind(f"{faults[0].detail} Nothing was stored.{more}", faults=tuple(faults))
        return [line for line in lines if line is not None]

    def day_faults(self, day: date) -> list[Fault]:
        """What is wrong with a day on which prices are said to have been seen."""
        newest = (self._clock() + FARTHEST_EAST).date()
        if EARLIEST_DAY <= day <= newest:
            return []
        detail = (
            f"{day} is not a day on which a price was seen: it lies before {EARLIEST_DAY} or in the future."
        )
        return [Fault(detail, ("observed_on",))]

    async def add(
        self,
        author: str,
        given: Given,
        prices: Sequence[Checked],
        answer: Callable[[Posting], A],
        claim: Claim[A] | None = None,
    ) -> A:
        """Store a posting of checked prices in a transaction, with those of others who wait as well: each at
        its own revision, all or nothing of each. Gives its answer, which is kept with its `claim`.

        Raises `KeyTaken` where the claim's key has been used.
        """
        return cast("A", await self._together.do(_Waiting(author, given, prices, answer, claim)))

    async def _add_all(self, waiting: Sequence[_Waiting]) -> Sequence[Any]:
        async with self._database.write() as session:
            claims = [one.claim for one in waiting]
            await replays.claim_all(session, [claim for claim in claims if claim is not None])
            revisions = await next_revisions(session, self._clock(), len(waiting))
            session.info[ONLY_PRICES] = revisions[0].number
            postings = [
                _posting(revision, one.author, one.given, one.prices)
                for revision, one in zip(revisions, waiting, strict=True)
            ]
            entries = [entry for posting in postings for entry in posting.entries]
            await repository.add(session, [posting.row for posting in postings], entries)
            brought = [sealed.prices_written(posting.row, posting.entries) for posting in postings]
            await seal_all(session, list(zip(revisions, brought, strict=True)))
            answers = [one.answer(posting) for one, posting in zip(waiting, postings, strict=True)]
            kept = [(claim, made) for claim, made in zip(claims, answers, strict=True) if claim is not None]
            await replays.keep_all(session, kept)
        return answers

    async def post(
        self, session: AsyncSession, author: str, given: Given, prices: Sequence[Checked]
    ) -> Posting:
        """Store a posting with the prices that `read` has checked, at the next revision."""
        revision = await next_revision(session, self._clock())
        stored = await self.store(session, revision, author, given, prices)
        await seal(session, revision, sealed.prices_written(stored.row, stored.entries))
        return stored

    @staticmethod
    async def store(
        session: AsyncSession, revision: Revision, author: str, given: Given, prices: Sequence[Checked]
    ) -> Posting:
        """The same at a revision that was taken; whoever took it seals what it brings."""
        posting = _posting(revision, author, given, prices)
        await repository.add(session, [posting.row], posting.entries)
        return posting

    @staticmethod
    async def entries(session: AsyncSession, after: int, upto: int) -> list[Line]:
        """The prices and words recorded after a revision, up to another, as entries of the ledger."""
        return await sealed.between(session, after, upto)

    copies = staticmethod(sealed.copies)

    async def after_newest(self) -> int:
        """The first revision that is still to come: where reading backwards begins."""
        return (await self._database.newest()).number + 1

    async def newest(
        self, region: str | None, yard: str | None, *, before: int, limit: int, most_entries: int
    ) -> list[Posting]:
        """Postings recorded before a revision, newest first; of one yard, one region, or all. Of each the
        first entries only, if there are more."""
        atlas = await self._yards.atlas()
        yards: set[str] | None = None
        if region is not None:
            yards = {found.slug for found in atlas.under(atlas.region(region).code, before)}
        if yard is not None:
            named = {atlas.yard(yard).slug}
            yards = named if yards is None else yards & named
        async with self._database.read() as session:
            rows = await repository.newest_postings(session, yards, before=before, limit=limit)
            entries = await repository.entries_of(session, [row.id for row in rows], most=most_entries)
        return [Posting(row, entries[row.id]) for row in rows]


def _posting(revision: Revision, author: str, given: Given, prices: Sequence[Checked]) -> Posting:
    row = PostingRow(
        id=f"p-{secrets.token_hex(10)}",
        revision=revision.number,
        yard=given.yard,
        author=author,
        observed_on=given.observed_on,
        evidence=given.evidence,
        note=given.note,
        recorded_at=revision.recorded_at,
    )
    return Posting(row, [_entry(row, line, price) for line, price in enumerate(prices, start=1)])


def _entry(posting: PostingRow, line: int, price: Checked) -> EntryRow:
    return EntryRow(
        revision=posting.revision,
        line=line,
        kind=repository.PRICE,
        posting=posting.id,
        yard=posting.yard,
        author=posting.author,
        observed_on=posting.observed_on,
        evidence=posting.evidence,
        grade=price.grade,
        label=price.label,
        price=price.price,
        currency=price.currency,
        per=price.per,
        from_weight=price.from_weight,
    )


def _repeated(lines: Sequence[Checked | None]) -> list[Fault]:
    """A grade that stands twice for the same from-weight: which of the two was seen? None: a faulty line."""
    seen: dict[tuple[str, Decimal], int] = {}
    faults = []
    for number, price in enumerate(lines):
        if price is None:
            continue
        grams = parse_mass(price.from_weight).grams if price.from_weight is not None else Decimal(0)
        first = seen.setdefault((price.grade, grams), number)
        if first != number:
            detail = f"{price.grade} has a price already, in line {first + 1}: keep the one that was seen."
            faults.append(Fault(detail, ("prices", number)))
    return faults
