"""Devices worked out, whole or apart: pinned to a rulebook version and a ledger revision, kept, replayed."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import msgspec

from gradewright import collector
from gradewright.answers.keeping import Kept, Kind, decisions
from gradewright.answers.pins import Answer, Pins, sealed
from gradewright.clock import Clock
from gradewright.compositions.describing import concerning_kind
from gradewright.compositions.service import CompositionService
from gradewright.core.errors import Fault, GradewrightError, Path, Refused, UnknownGrade
from gradewright.core.money import Rounding
from gradewright.core.units import parse_mass
from gradewright.core.valued import Terms
from gradewright.db.session import Database
from gradewright.ledger.service import LedgerService
from gradewright.prices.board import Place
from gradewright.prices.service import PriceService
from gradewright.rulebooks.service import RulebookService, Version, resolve_grade
from gradewright.teardowns.answer import answer
from gradewright.teardowns.doubts import BEYOND
from gradewright.teardowns.faults import Faults
from gradewright.teardowns.figures import Purse
from gradewright.teardowns.fitting import fitted
from gradewright.teardowns.given import KindGiven, Request
from gradewright.teardowns.lots import Lots, heaviest
from gradewright.teardowns.methods import (
    ALL_AS_LEFT,
    ALL_COUNT,
    ALL_FOR_SHARES,
    ANY_WEIGHT,
    METHOD,
    METHODS,
    NEAREST,
    ONE_PRICE,
    UP_TO_5,
    UP_TO_6,
    WAITING_UNSAID,
)
from gradewright.teardowns.nodes import as_list, as_tree
from gradewright.teardowns.pricing import Pricing
from gradewright.teardowns.reading import Part, read_device, read_parts
from gradewright.teardowns.unlike import notes as unlike_notes
from gradewright.teardowns.usual import Usual, as_device, told, unshared_of, usual
from gradewright.teardowns.usual_parts import KnownKind, UsualParts, kinds_named
from gradewright.teardowns.worked import work_out
from gradewright.valuations.amounts import cents_of

KIND = Kind("teardown", "/v1/teardowns", "t", METHODS)


class TeardownService:
    """Works devices out; `keeping` keeps the answers where that is asked for."""

    def __init__(
        self,
        database: Database,
        prices: PriceService,
        compositions: CompositionService,
        rulebooks: RulebookService,
        ledger: LedgerService,
        clock: Clock,
    ) -> None:
        self.keeping = decisions(database, ledger, clock, KIND)
        self._prices = prices
        self._compositions = compositions
        self._rulebooks = rulebooks
        self._clock = clock

    async def work_out(self, request: Request, method: str = METHOD) -> Answer:
        """The answer by a method. Raises `Refused` or `UnknownGrade` with every fault of the device."""
        on = request.on or self._clock().date()
        known_at = await self._prices.known(request.known_at)
        if request.rulebook is None:
            version = await self._rulebooks.in_force(on, known_at=known_at)
        else:
            version = await self._rulebooks.get(request.rulebook)
        place = await self._prices.place(request.region, request.yard)
        prices, revision = await self._prices.list_for(place, version.rulebook, on, known_at)
        asked = kinds_named(request.device, request.parts)
        if request.usual is not None:
            asked[request.usual.kind] = ("kind",)
        kinds: dict[str, KnownKind] = {}
        if asked:
            kinds, known_at = await self._look(asked, on, revision, known_at, method)
            if known_at != revision:
                prices, revision = await self._prices.list_for(place, version.rulebook, on, known_at)
        found = None if request.usual is None else _usual(request.usual, kinds, method)
        version = await version.under(await self._prices.limits(place, on, revision))
        terms = await self._terms(place)
        pins = Pins(version.rulebook.version, revision, method)

        def work() -> Answer:
            faults = Faults()
            lots = _lots(request.lots, version, faults, nothing=method in UP_TO_5)
            each = method in BEYOND
            parts = _parts(request, found, UsualParts(version, kinds), faults, every=not each)
            parts, notes = (parts, ()) if each else fitted(parts, exactly=method in UP_TO_5)
            if found:
                notes = ()
            elif not each:
                by_far, near = method in UP_TO_5, method not in UP_TO_6
                notes = (*notes, *unlike_notes(parts, by_far=by_far, near=near))
            if method in ONE_PRICE:
                lots = heaviest(parts, less_parts=method not in ALL_AS_LEFT) | lots
            as_any, by_grade = method in UP_TO_5, method in UP_TO_6
            concerns = None
            if found is not None:
                concerns = concerning_kind(
                    found.kind, found.typical, version, as_any=as_any, by_grade=by_grade
                )
            pricing = Pricing(
                version,
                prices,
                terms,
                parts,
                Lots(lots, own=method not in ONE_PRICE),
                waiting=method not in WAITING_UNSAID,
                stepping=method not in UP_TO_6,
            )
            unshared = {} if found is None else unshared_of(found, version.rulebook)
            worked = work_out(pricing, request.hour_rate, concerns, unshared, method)
            nearest = method in NEAREST
            purse = Purse(prices.currency, cents_of(prices.currency), terms.rounding, nearest=nearest)
            typical = None if found is None else told(found, worked, purse)
            members = answer(worked, purse, place, on, request.hour_rate, request.weighing_minutes, notes)
            shown = as_list(worked, purse) if request.parts else as_tree(worked, purse)
            return sealed({**members, **shown, "typical": typical}, pins)

        # Thousands of parts take some tenths of a second: other requests go on meanwhile.
        return await asyncio.to_thread(collector.seldom()(work))

    async def replay(self, teardown: str) -> Kept:
        """The kept request worked out again with its pins; `ReplayDiffers` unless every byte is the same."""
        return await self.keeping.replay(teardown, self._again)

    async def _again(self, asked: dict[str, Any], pins: Pins) -> Answer:
        request = msgspec.convert(asked, Request)
        pinned = replace(request, known_at=pins.revision, rulebook=pins.rulebook)
        return await self.work_out(pinned, pins.method)

    async def _look(
        self, asked: Mapping[str, Path], on: date, revision: int, known_at: int | None, method: str
    ) -> tuple[dict[str, KnownKind], int]:
        """What is known of the kinds that are named at these places, and the revision that it is known at:
        that of the prices, unless devices of these kinds were recorded since.
        """
        newest = await self._prices.revision(None) if known_at is None else revision
        known = await self._compositions.all()
        counts = {"judged": method not in ALL_COUNT, "every": method in ALL_FOR_SHARES}
        found, unchanged = {}, True
        for slug, at in asked.items():
            kind, typical = known.get(slug, newest, at=at), known.typical(slug, on, newest, **counts)
            found[slug] = KnownKind(kind, typical)
            before = known.typical(slug, on, revision, **counts)
            unchanged &= kind.revision <= revision and before is typical
        return found, revision if unchanged else newest

    async def _terms(self, place: Place) -> Terms:
        """How a yard rounds; a region rounds half to even."""
        if place.yard is None:
            return Terms()
        return Terms(Rounding((await self._prices.atlas()).yard(place.yard).rounding))


def as_asked(request: Request, given: Answer) -> Mapping[str, Any]:
    """The request as it is kept: plain, and for the day that it was answered for."""
    plain: dict[str, Any] = msgspec.to_builtins(request)
    return {**plain, "on": json.loads(given.body)["on"]}


def _usual(given: KindGiven, kinds: Mapping[str, KnownKind], method: str) -> Usual:
    far, near = method in UP_TO_5, method not in UP_TO_6
    return usual(given, *kinds[given.kind], any_weight=method in ANY_WEIGHT, by_far=far, near=near)


def _parts(
    request: Request, found: Usual | None, known: UsualParts, faults: Faults, *, every: bool
) -> tuple[Part, ...]:
    if found is not None:
        try:
            return read_device(as_device(found, known.version.rulebook), known, faults, (), every=every)
        except (Refused, UnknownGrade) as error:
            raise type(error)(error.detail, faults=tuple(map(_of_a_kind, error.faults))) from error
    if request.parts:
        return read_parts(request.parts, known, faults, every=every)
    if request.device is None:
        detail = "Give either a device with its parts or a kind and a weight."
        raise Refused(detail, faults=(Fault(detail, ("device",)),))
    return read_device(request.device, known, faults, every=every)


def _of_a_kind(fault: Fault) -> Fault:
    """A fault of a device that was made of a kind, as the request has it: what is left stands at its top."""
    return replace(fault, at=fault.at[1:]) if fault.at[:2] == ("opens", "leftover") else fault


def _lots(given: Mapping[str, str], version: Version, faults: Faults, *, nothing: bool) -> dict[str, Decimal]:
    """The lots that were named, in grams by grade; of `nothing` too, as it could be up to method 5."""
    found = {}
    for named, weight in given.items():
        try:
            grade, grams = resolve_grade(version.rulebook, named, ()), parse_mass(weight).grams
            if not grams and not nothing:
                faults.wrong(
                    "A lot of nothing is none: write all there is of it, or leave it out.", ("lots", named)
                )
            found[grade] = grams
        except GradewrightError as error:
            faults.told(error, ("lots", named))
    return found
