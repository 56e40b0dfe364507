"""Hauls: planned at a rulebook version and a ledger revision, kept with their plan, repeated from it."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from gradewright.answers.keeping import Kept, Kind, ReplayDiffers, decisions
from gradewright.answers.pins import Answer, Pins, sealed
from gradewright.clock import Clock
from gradewright.core.errors import Fault, NotFound, Refused
from gradewright.core.haul.found import CannotAllGo, NothingFound, Told
from gradewright.core.haul.plan import Haul, NoSuchPlan
from gradewright.db.session import Database
from gradewright.hauls.answer import tell
from gradewright.hauls.bins import Bin, bins_of, read_bins
from gradewright.hauls.buyers import offers_of, yards_of
from gradewright.hauls.cheaper import refuse_dearer
from gradewright.hauls.given import Request
from gradewright.hauls.question import METHOD, METHODS, MOST_TRIPS, Question, costs_of, load_of, trips_of
from gradewright.hauls.solving import Solving
from gradewright.ledger.service import LedgerService
from gradewright.prices.service import PriceService
from gradewright.rulebooks.service import RulebookService, Version
from gradewright.valuations.service import ValuationService

TABLE_ALONE = frozenset({"1"})
"""The methods by which bins go down by the table of cheaper grades alone, and into whatever is named."""
AT_ITS_WORD = frozenset({"1", "2", "3"})
"""The methods that believed the solver whatever it said."""
ROUGHLY = frozenset({"4"})
"""Those that held what it said against what is known, and no nearer than its own numbers are."""
KIND = Kind("haul", "/v1/hauls", "h", METHODS)


@dataclass(frozen=True, slots=True)
class Worked:
    """An answer, and what is kept of the request: pinned, with the plan that was found."""

    answer: Answer
    asked: Mapping[str, Any]


class HaulService:
    """Plans hauls; `keeping` keeps them where that is asked for."""

    def __init__(
        self,
        database: Database,
        prices: PriceService,
        rulebooks: RulebookService,
        valuations: ValuationService,
        ledger: LedgerService,
        clock: Clock,
    ) -> None:
        self.keeping = decisions(database, ledger, clock, KIND)
        self._prices = prices
        self._rulebooks = rulebooks
        self._valuations = valuations
        self._clock = clock
        self._solving = Solving()

    async def haul(self, request: Request, method: str = METHOD) -> Worked:
        """The best plan, or the best found in time. Raises `Refused` where not all can go that must."""
        pinned, question, pins = await self._asked(request, method)
        try:
            told = await self._solving.of(partial(_finds(method), question.haul, request.seconds))
        except CannotAllGo as error:
            trips = f"{question.trips} trip{'s'[: question.trips != 1]}"
            more = ". Allow more of them or a greater load, give bins as more lots,"
            if question.trips >= MOST_TRIPS:
                more = ", and more are not planned at once. Ask for fewer bins, allow a greater load"
                more += ", give bins as more lots,"
            detail = f"Not all of it fits into {trips}{more} or let what is not worth it be held back."
            raise Refused(detail, faults=(Fault(detail, ("trips",)),)) from error
        except NothingFound as error:
            detail = f"No plan was found in {request.seconds} seconds. Allow more, or ask about fewer bins."
            raise Refused(detail, faults=(Fault(detail, ("seconds",)),)) from error
        return Worked(sealed(tell(question, told), pins), {**pinned.plain(), "found": question.plain(told)})

    async def replay(self, haul: str) -> Kept:
        """The kept plan worked out again with its pins. `ReplayDiffers` unless every byte is the same, and
        where it was proved that no plan leaves more, if one is found that does.
        """
        return await self.keeping.replay(haul, partial(self._again, haul))

    def open(self) -> None:
        """The service begins, or begins again."""
        self._solving.open()

    def close(self) -> None:
        """The service stops."""
        self._solving.close()

    async def _again(self, haul: str, asked: dict[str, Any], pins: Pins) -> Answer:
        found = asked.pop("found")
        request = Request.read(asked, pins.rulebook, pins.revision)
        _, question, _ = await self._asked(request, pins.method)
        try:
            told = question.read(found)
        except NoSuchPlan as error:
            raise ReplayDiffers(f"The plan of {haul} is none at its pins: {error}.") from error
        if told.best.proved:
            work = partial(_beats(pins.method), question.haul, told.best.worth, request.seconds)
            if await self._solving.of(work):
                raise ReplayDiffers(f"The plan of {haul} was called the best, and another leaves more.")
        return sealed(tell(question, told), pins)

    async def _asked(self, request: Request, method: str) -> tuple[Request, Question, Pins]:
        """The request with its pins in it, and all that it depends on."""
        on = request.on or self._clock().date()
        valuation = await self._valuation(request.valuation)
        region, named = request.region, request.rulebook
        if valuation is not None:
            named = named or valuation["pins"]["rulebook"]
            region = region if region is not None or request.yards else valuation["region"]
        known_at = await self._prices.known(request.known_at)
        if named is None:
            version = await self._rulebooks.in_force(on, known_at=known_at)
        else:
            version = await self._rulebooks.get(named)
        # One revision for all yards: the newest lists of two may be known at two.
        revision = await self._prices.revision(request.known_at)
        yards = yards_of(await self._prices.atlas(), region, request.yards, revision)
        bins = self._bins(request, valuation, version, later=method not in TABLE_ALONE)
        grades = dict.fromkeys(grade for each in bins for grade in each.grades)
        offers = [
            await offers_of(
                self._prices, yard, grades,
                rulebook=version.rulebook, on=on, revision=revision, estimates=request.estimates,
            )
            for yard in yards
        ]  # fmt: skip
        if method not in TABLE_ALONE:
            refuse_dearer(bins, offers, version.rulebook.grades)
        load, (costs, stops) = load_of(request), costs_of(request, yards)
        question = Question(
            bins=bins,
            offers=offers,
            region=region,
            on=on,
            currency=yards[0].currency,
            grader=version.grader,
            costs=costs,
            load=load,
            trips=trips_of(request, bins, load),
            hold_back=request.hold_back,
            left_out=[part["name"] for part in valuation["parts"] if part["grade"] is None]
            if valuation
            else [],
            method=method,
            stops=stops,
        )
        pinned = replace(request, on=on, region=region)
        return pinned, question, Pins(version.rulebook.version, revision, method)

    @staticmethod
    def _bins(
        request: Request, valuation: Mapping[str, Any] | None, version: Version, *, later: bool
    ) -> list[Bin]:
        if valuation is not None:
            return bins_of(valuation, version, lower=request.lower, later=later)
        return read_bins(request.bins, version, lower=request.lower, later=later)

    async def _valuation(self, named: str | None) -> Mapping[str, Any] | None:
        if named is None:
            return None
        try:
            found: Mapping[str, Any] = json.loads((await self._valuations.keeping.get(named)).body)
        except NotFound as error:  # it is what the request names that is not there, and not the haul
            raise Refused(error.detail, faults=(Fault(error.detail, ("valuation",)),)) from error
        return found


def _finds(method: str) -> Callable[[Haul, int, Callable[[], bool]], Told]:
    return _best_at_its_word if method in AT_ITS_WORD else _best_roughly if method in ROUGHLY else _best


def _beats(method: str) -> Callable[[Haul, int, int, Callable[[], bool]], bool]:
    return _beaten_at_its_word if method in AT_ITS_WORD else _beaten_roughly if method in ROUGHLY else _beaten


def _best(haul: Haul, seconds: int, stopped: Callable[[], bool]) -> Told:
    from gradewright.core.haul.best import best  # the solver: loaded where it is needed

    return best(haul, seconds, stopped)


def _best_roughly(haul: Haul, seconds: int, stopped: Callable[[], bool]) -> Told:
    from gradewright.core.haul.best import best

    return best(haul, seconds, stopped, rough=True)


def _best_at_its_word(haul: Haul, seconds: int, stopped: Callable[[], bool]) -> Told:
    from gradewright.core.haul.best import best

    return best(haul, seconds, stopped, unchecked=True)


def _beaten(haul: Haul, worth: int, seconds: int, stopped: Callable[[], bool]) -> bool:
    from gradewright.core.haul.best import beaten

    return beaten(haul, worth, seconds, stopped) is not None


def _beaten_roughly(haul: Haul, worth: int, seconds: int, stopped: Callable[[], bool]) -> bool:
    from gradewright.core.haul.best import beaten

    return beaten(haul, worth, seconds, stopped, rough=True) is not None


def _beaten_at_its_word(haul: Haul, worth: int, seconds: int, stopped: Callable[[], bool]) -> bool:
    from gradewright.core.haul.best import beaten

    return beaten(haul, worth, seconds, stopped, unchecked=True) is not None
