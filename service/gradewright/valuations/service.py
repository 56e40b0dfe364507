"""Valuing lists of parts: pinned to a rulebook version and a ledger revision, kept on request, replayed."""

from __future__ import annotations

import asyncio
import json
import secrets
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime
from functools import partial
from typing import Any, TypeVar

from gradewright.clock import Clock
from gradewright.core.errors import Fault, GradewrightError, NotFound, Refused
from gradewright.core.money import Rounding
from gradewright.core.valuation import METHOD, METHODS, Terms, value
from gradewright.db.knowing import KnownAt
from gradewright.db.packed import pack, unpack
from gradewright.db.session import Database
from gradewright.ledger.service import LedgerService
from gradewright.prices.board import Place
from gradewright.prices.service import PriceService
from gradewright.rulebooks.service import RulebookService
from gradewright.valuations import repository
from gradewright.valuations.answer import Answer, Answers, Asked, Pins, canonical
from gradewright.valuations.models import ValuationRow
from gradewright.valuations.parts import PartGiven, read_parts

LONG_LIST = 64
MANY_VAGUE = 8
T = TypeVar("T")


class ReplayDiffers(GradewrightError):
    """A kept answer and its repetition are not the same: a fault of the service, never of the caller."""

    slug = "internal-error"


@dataclass(frozen=True, slots=True)
class Request:
    """What is to be valued, where and by what: `None` means the newest, or today."""

    parts: tuple[PartGiven, ...]
    region: str | None = None
    yard: str | None = None
    on: date | None = None
    known_at: KnownAt = None
    rulebook: str | None = None


@dataclass(frozen=True, slots=True)
class Kept:
    """A kept valuation: its id, the answer's bytes, and the ledger that it was worked out from.

    The ledger's tree is told beside the answer and not in it, as the id is: so an answer has the same bytes
    kept or not, those kept before there was a tree can be repeated, and what is not kept waits for no root.
    """

    id: str
    body: bytes
    tree_size: int | None = None
    tree_root: bytes | None = None


class ValuationService:
    """Values lists of parts.

    `database` and `clock` are for the edge, which keeps an answer under an idempotency key.
    """

    def __init__(
        self,
        database: Database,
        prices: PriceService,
        rulebooks: RulebookService,
        ledger: LedgerService,
        clock: Clock,
    ) -> None:
        self.database = database
        self._ledger = ledger
        self._prices = prices
        self._rulebooks = rulebooks
        self.clock = clock
        self._answers = Answers()

    async def value(self, request: Request, method: str = METHOD) -> Answer:
        """The answer by a method; reads no database for today's prices at the newest revision."""
        on = request.on or self.clock().date()
        known_at = await self._prices.known(request.known_at)
        if request.rulebook is None:
            version = await self._rulebooks.in_force(on, known_at=known_at)
        else:
            version = await self._rulebooks.get(request.rulebook)
        place = await self._prices.place(request.region, request.yard)
        prices, revision = await self._prices.list_for(place, version.rulebook, on, known_at)
        version = await version.under(await self._prices.limits(place, on, revision))
        terms = await self._terms(place)
        asked = Asked(place.region, place.yard, on)
        pins = Pins(version.rulebook.version, revision, method)

        is_long = len(request.parts) >= LONG_LIST
        parts, weights = await _aside(is_long, partial(read_parts, request.parts, version))
        vague = sum([part.grade is None for part in parts])

        def work() -> Answer:
            valuation = value(parts, version.grader, prices, terms, method)
            return self._answers.encode(asked, valuation, weights, version.grader, pins)

        return await _aside(is_long or vague >= MANY_VAGUE, work)

    async def keep(self, request: Request, answer: Answer) -> Kept:
        """Keep an answer with its request and pins."""
        pinned = {**_plain(request), "on": json.loads(answer.body)["on"]}
        tree = await self._ledger.tree_at(answer.pins.revision)
        row = ValuationRow(
            id=f"v-{secrets.token_hex(10)}",
            created_at=self.clock(),
            request=canonical(pinned).decode(),
            rulebook=answer.pins.rulebook,
            revision=answer.pins.revision,
            method=answer.pins.method,
            answer=await pack(answer.body),
            sha256=answer.sha256,
            tree_size=tree.size,
            tree_root=tree.root,
        )
        async with self.database.write() as session:
            await repository.add(session, row)
        return Kept(row.id, answer.body, tree.size, tree.root)

    async def get(self, valuation: str) -> Kept:
        """A kept valuation as it was answered; `NotFound` if there is none of that id."""
        row = await self._find(valuation)
        return Kept(row.id, await unpack(row.answer), row.tree_size, row.tree_root)

    async def replay(self, valuation: str) -> Kept:
        """The kept request valued again with its pins; `ReplayDiffers` unless every byte is the same."""
        row = await self._find(valuation)
        if row.method not in METHODS:
            known = " and ".join(METHODS)
            detail = f"{valuation} was valued by method {row.method}; this service values by {known}."
            raise Refused(detail, faults=(Fault(detail, ("method",)),))
        asked = json.loads(row.request)
        parts = tuple(PartGiven(**part) for part in asked["parts"])
        again = await self.value(
            Request(
                parts=parts,
                region=asked["region"],
                yard=asked["yard"],
                on=date.fromisoformat(asked["on"]),
                known_at=row.revision,
                rulebook=row.rulebook,
            ),
            row.method,
        )
        if again.body != await unpack(row.answer):
            raise ReplayDiffers(
                f"Valued again with its pins, {valuation} gives {again.sha256}, not {row.sha256}."
            )
        if row.tree_size is not None:
            tree = await self._ledger.tree_at(row.revision)
            if (tree.size, tree.root) != (row.tree_size, row.tree_root):
                raise ReplayDiffers(
                    f"The ledger at revision {row.revision} is not the one that {valuation} was worked out "
                    "from: its root is another. Whoever runs this service can look with: gradewright verify"
                )
        return Kept(row.id, again.body, row.tree_size, row.tree_root)

    async def _find(self, valuation: str) -> ValuationRow:
        async with self.database.read() as session:
            row = await repository.find(session, valuation)
        if row is None:
            raise NotFound(
                f"There is no valuation {valuation!r} here. Only those asked for with keep: true are kept."
            )
        return row

    async def _terms(self, place: Place) -> Terms:
        """A yard's own rounding and cash step; a region rounds half to even and pays to the minor unit."""
        if place.yard is None:
            return Terms()
        yard = (await self._prices.atlas()).yard(place.yard)
        return Terms(Rounding(yard.rounding), yard.cash_increment)


async def _aside(takes_long: bool, work: Callable[[], T]) -> T:
    """A hundred vague parts take a second: then in a thread, and other requests go on meanwhile."""
    return await asyncio.to_thread(work) if takes_long else work()


def _plain(request: Request) -> Mapping[str, Any]:
    known_at = request.known_at
    return {
        **asdict(request),
        "known_at": known_at.isoformat() if isinstance(known_at, datetime) else known_at,
    }
