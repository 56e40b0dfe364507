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
from gradewright.teardowns.nodes import as_list, as_tree
from gradewright.teardowns.pricing import Pricing
from gradewright.teardowns.reading import Part, read_device, read_parts
from gradewright.teardowns.unlike import notes as unlike_notes
from gradewright.teardowns.usual import Usual, as_device, told, unshared_of, usual
from gradewright.teardowns.usual_parts import KnownKind, UsualParts, kinds_named
from gradewright.teardowns.worked import work_out
from gradewright.valuations.amounts import cents_of

METHODS = ("1", "2", "3", "4", "5")
"""Method 2 names the first of many things that have no price, where method 1 named all in one sentence.
Method 3 says what is left over that nobody named, and what it would have to bring for the plan to change;
records of a kind that are far off all others no longer count. Method 4 tells where what was posted waits,
how sure a rule is that grades a part, and where the plan rests on what has no price or is undecided, although
it stays on or inside, or is in a kind in a share that nobody knows; what is left over is a lot as heavy as
it is, and no more. Method 5 counts each part as a lot of its own and tells what piles reach together; it has
weights that can all be so at once, with nothing below nothing left over; and it takes what weighs far more or
less than any device of its kind for one such device only where its count is told."""
NEAREST = frozenset({"1", "2"})
"""The methods by which an hourly gain was rounded as amounts are, above the rate up to which it pays."""
ALL_COUNT = frozenset({"1", "2"})
"""The methods by which all records of a kind count."""
WAITING_UNSAID = frozenset({"1", "2", "3"})
"""The methods that told what was posted and waits as if nobody had posted it."""
ALL_FOR_SHARES = frozenset({"1", "2", "3"})
"""The methods by which records that do not tell the whole weight counted for shares, of nothing."""
ALL_AS_LEFT = frozenset({"1", "2", "3"})
"""The methods by which what was left over and not weighed was a lot as heavy as all of the piece."""
ONE_PRICE = frozenset({"1", "2", "3", "4"})
"""The methods by which a grade had one price in the whole of an answer, for the heaviest part of it."""
ANY_WEIGHT = frozenset({"1", "2", "3", "4"})
"""The methods by which one device of a kind could weigh anything."""
METHOD = METHODS[-1]
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
            lots = _lots(request.lots, version, faults)
            each = method in BEYOND
            parts = _parts(request, found, UsualParts(version, kinds), faults, every=not each)
            parts, notes = (parts, ()) if each else fitted(parts)
            notes = () if each or found else (*notes, *unlike_notes(parts))
            if method in ONE_PRICE:
                lots = heaviest(parts, less_parts=method not in ALL_AS_LEFT) | lots
            concerns = None if found is None else concerning_kind(found.kind, found.typical, version)
            pricing = Pricing(
                version,
                prices,
                terms,
                parts,
                Lots(lots, own=method not in ONE_PRICE),
                waiting=method not in WAITING_UNSAID,
            )
            unshared = {} if found is None else unshared_of(found, version.rulebook)
            worked = work_out(pricing, request.hour_rate, concerns, unshared, method)
            nearest = method in NEAREST
            purse = Purse(prices.currency, cents_of(prices.currency), terms.rounding, nearest=nearest)
            typical = None if found is None else told(found, worked, purse)
            members = answer(worked, purse, place, on, request.hour_rate, request.weighing_minutes, notes)
            shown = as_list(worked, purse) if request.parts else as_tree(worked, purse)
            return sealed({**members, **shown, "typical": typical}, pins)

        # A thousand parts take some tenths of a second: other requests go on meanwhile.
        return await asyncio.to_thread(work)

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
    return usual(given, *kinds[given.kind], any_weight=method in ANY_WEIGHT)


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


def _lots(given: Mapping[str, str], version: Version, faults: Faults) -> dict[str, Decimal]:
    """The lots that were named, in grams by grade."""
    found = {}
    for named, weight in given.items():
        try:
            found[resolve_grade(version.rulebook, named, ())] = parse_mass(weight).grams
        except GradewrightError as error:
            faults.told(error, ("lots", named))
    return found
