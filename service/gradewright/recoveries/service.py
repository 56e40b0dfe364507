"""Recoveries: worked out under a rulebook version and a ledger revision, kept on request, repeated."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date, datetime
from typing import Any

from gradewright.answers.keeping import Kept, Kind, decisions
from gradewright.answers.pins import Answer, Pins, sealed
from gradewright.benchmarks.service import BenchmarkService
from gradewright.clock import Clock
from gradewright.core.errors import GradewrightError
from gradewright.core.pricelist import PriceList
from gradewright.db.session import Database
from gradewright.ledger.service import LedgerService
from gradewright.prices.service import PriceService
from gradewright.recoveries import cable, density, precious
from gradewright.recoveries.cable import Found
from gradewright.recoveries.given import Assay, Displaced, Request, read_what
from gradewright.rulebooks.service import RulebookService, Version
from gradewright.valuations.shapes import warnings

METHODS = ("1", "2", "3")
"""Method 2 tells what was counted as paid for where no terms were given, and first the metals whose published
density fits most closely, and grades of few metals. Method 3 tells where what was posted waits,
rounds down what stripping brings in an hour, and counts what the insulation costs to be rid of."""
METHOD = METHODS[-1]
KIND = Kind("recovery", "/v1/recoveries", "r", METHODS)
MEMBERS = ("copper", "density", "grading", "precious", "stripping")


class RecoveryService:
    """Works recoveries out; `keeping` keeps them where that is asked for."""

    def __init__(
        self,
        database: Database,
        prices: PriceService,
        benchmarks: BenchmarkService,
        rulebooks: RulebookService,
        ledger: LedgerService,
        clock: Clock,
    ) -> None:
        self.keeping = decisions(database, ledger, clock, KIND)
        self._prices = prices
        self._benchmarks = benchmarks
        self._rulebooks = rulebooks
        self._clock = clock

    async def recover(self, request: Request, method: str = METHOD) -> Answer:
        """The answer by a method. Raises Refused with every fault, pointing into the request's member."""
        on = request.on or self._clock().date()
        known_at = await self._prices.known(request.known_at)
        if request.rulebook is None:
            version = await self._rulebooks.in_force(on, known_at=known_at)
        else:
            version = await self._rulebooks.get(request.rulebook)
        prices: PriceList | None = None
        region, yard = request.region, request.yard
        if region is not None or yard is not None:
            place = await self._prices.place(region, yard)
            region, yard = place.region, place.yard
            prices, revision = await self._prices.list_for(place, version.rulebook, on, known_at)
            version = await version.under(await self._prices.limits(place, on, revision))
        else:
            revision = await self._prices.revision(known_at)
        found, currency = await self._found(request, version, prices, on, revision, method)
        pins = Pins(version.rulebook.version, revision, method)
        answer = {
            **dict.fromkeys(MEMBERS),
            **found.members,
            "kind": request.kind,
            "region": region,
            "yard": yard,
            "on": on.isoformat(),
            "currency": currency,
            "cautions": warnings(found.cautions),
        }
        return sealed(answer, pins)

    async def _found(
        self,
        request: Request,
        version: Version,
        prices: PriceList | None,
        on: date,
        revision: int,
        method: str,
    ) -> tuple[Found, str | None]:
        what, currency = request.what, None if prices is None else prices.currency
        try:
            if isinstance(what, Assay):
                market = precious.Market(await self._benchmarks.all(), revision, on)
                return precious.answer(what, version, market, method)
            if isinstance(what, Displaced):
                return density.answer(what, version, prices, method), currency
            return cable.answer(what, version, prices, method), currency
        except GradewrightError as error:
            # A version that cannot say it is named at the top of the request, all else under its member.
            faults = (
                fault if fault.at == ("rulebook",) else fault.under(request.kind) for fault in error.faults
            )
            raise type(error)(error.detail, faults=tuple(faults)) from error

    async def replay(self, recovery: str) -> Kept:
        """The kept request worked out again with its pins; `ReplayDiffers` unless every byte is the same."""
        return await self.keeping.replay(recovery, self._again)

    async def _again(self, asked: dict[str, Any], pins: Pins) -> Answer:
        pinned = Request(
            kind=asked["kind"],
            what=read_what(asked["kind"], asked["what"]),
            region=asked["region"],
            yard=asked["yard"],
            on=date.fromisoformat(asked["on"]),
            known_at=pins.revision,
            rulebook=pins.rulebook,
        )
        return await self.recover(pinned, pins.method)


def as_asked(request: Request, answer: Answer) -> Mapping[str, Any]:
    """The request as it is kept: plain, and for the day that it was answered for."""
    known_at = request.known_at
    return {
        **asdict(request),
        "known_at": known_at.isoformat() if isinstance(known_at, datetime) else known_at,
        "on": json.loads(answer.body)["on"],
    }
