"""Valuing lists of parts: pinned to a rulebook version and a ledger revision, kept on request, replayed."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import partial
from typing import Any, TypeVar

from gradewright.answers.keeping import Keeping, Kept, Kind
from gradewright.answers.pins import Answer, Pins
from gradewright.clock import Clock
from gradewright.compositions.service import CompositionService
from gradewright.core.methods import METHOD, METHODS, WITHOUT_POINTERS
from gradewright.core.money import Rounding
from gradewright.core.valuation import value
from gradewright.core.valued import Terms
from gradewright.core.working import as_told
from gradewright.db.knowing import KnownAt
from gradewright.db.session import Database
from gradewright.ledger.service import LedgerService
from gradewright.prices.board import Place
from gradewright.prices.service import PriceService
from gradewright.rulebooks.service import RulebookService
from gradewright.valuations.answer import Answers, Asked
from gradewright.valuations.models import ValuationRow
from gradewright.valuations.parts import PartGiven, read_parts
from gradewright.valuations.pointing import NOTHING, Finders

LONG_LIST = 64
MANY_VAGUE = 8
T = TypeVar("T")
KIND = Kind("valuation", "/v1/valuations", "v", METHODS)


@dataclass(frozen=True, slots=True)
class Request:
    """What is to be valued, where and by what: `None` means the newest, or today."""

    parts: tuple[PartGiven, ...]
    region: str | None = None
    yard: str | None = None
    on: date | None = None
    known_at: KnownAt = None
    rulebook: str | None = None
    hour_rate: Decimal | None = None


class ValuationService:
    """Values lists of parts; `keeping` keeps them where that is asked for."""

    def __init__(
        self,
        database: Database,
        prices: PriceService,
        rulebooks: RulebookService,
        ledger: LedgerService,
        clock: Clock,
        compositions: CompositionService,
    ) -> None:
        self.keeping = Keeping(database, ledger, clock, KIND, ValuationRow)
        self._prices = prices
        self._rulebooks = rulebooks
        self._clock = clock
        self._answers = Answers()
        self._compositions = compositions
        self._finders = Finders()

    async def value(self, request: Request, method: str = METHOD) -> Answer:
        """The answer by a method; reads no database for today's prices at the newest revision."""
        on = request.on or self._clock().date()
        known_at = await self._prices.known(request.known_at)
        if request.rulebook is None:
            version = await self._rulebooks.in_force(on, known_at=known_at)
        else:
            version = await self._rulebooks.get(request.rulebook)
        place = await self._prices.place(request.region, request.yard)
        prices, revision = await self._prices.list_for(place, version.rulebook, on, known_at)
        devices = await self._compositions.all()
        if known_at is None and method not in WITHOUT_POINTERS and revision < devices.changed:
            # The list may be known at an older revision, at which nobody had recorded what is known by now.
            prices, revision = await self._prices.list_for(place, version.rulebook, on, devices.changed)
        version = await version.under(await self._prices.limits(place, on, revision))
        terms = await self._terms(place)
        asked = Asked(place.region, place.yard, on, request.hour_rate)
        pins = Pins(version.rulebook.version, revision, method)
        finder = None
        if method not in WITHOUT_POINTERS:
            finder = self._finders.get(devices, version, on, revision, method)

        is_long = len(request.parts) >= LONG_LIST
        parts, weights = await _aside(is_long, partial(read_parts, request.parts, version))
        vague = sum([part.grade is None for part in parts])

        def work() -> Answer:
            several = as_told if finder is None else finder.several
            valuation = value(parts, version.grader, prices, terms, method, request.hour_rate, several)
            pointed = finder.find(valuation, prices, request.hour_rate) if finder is not None else NOTHING
            return self._answers.encode(asked, valuation, weights, version.grader, pins, pointed)

        return await _aside(is_long or vague >= MANY_VAGUE, work)

    async def replay(self, valuation: str) -> Kept:
        """The kept request valued again with its pins; `ReplayDiffers` unless every byte is the same."""
        return await self.keeping.replay(valuation, self._again)

    async def _again(self, asked: dict[str, Any], pins: Pins) -> Answer:
        parts = tuple(PartGiven(**part) for part in asked["parts"])
        pinned = Request(
            parts=parts,
            region=asked["region"],
            yard=asked["yard"],
            on=date.fromisoformat(asked["on"]),
            known_at=pins.revision,
            rulebook=pins.rulebook,
            hour_rate=None if asked.get("hour_rate") is None else Decimal(asked["hour_rate"]),
        )
        return await self.value(pinned, pins.method)

    async def _terms(self, place: Place) -> Terms:
        """A yard's own rounding and cash step; a region rounds half to even and pays to the minor unit."""
        if place.yard is None:
            return Terms()
        yard = (await self._prices.atlas()).yard(place.yard)
        return Terms(Rounding(yard.rounding), yard.cash_increment)


async def _aside(takes_long: bool, work: Callable[[], T]) -> T:
    """A hundred vague parts take a second: then in a thread, and other requests go on meanwhile."""
    return await asyncio.to_thread(work) if takes_long else work()


def as_asked(request: Request, answer: Answer) -> Mapping[str, Any]:
    """The request as it is kept: plain, and for the day that it was answered for."""
    known_at = request.known_at
    return {
        **asdict(request),
        "known_at": known_at.isoformat() if isinstance(known_at, datetime) else known_at,
        "on": json.loads(answer.body)["on"],
    }
