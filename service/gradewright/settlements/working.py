"""Working out what a scale ticket comes to, from the prices and labels of its day."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from gradewright.answers.pins import Answer, Pins, sealed
from gradewright.core.errors import CurrencyError, Fault, NotFound, Refused
from gradewright.core.house import Label
from gradewright.core.linked import joined, linked, stands_for
from gradewright.core.rates import Rate
from gradewright.core.settlement import AT_THE_AVERAGE, METHOD, SHARES_ARE_SURE, settle
from gradewright.core.ticket import Ticket
from gradewright.core.valued import Terms
from gradewright.prices.board import Place
from gradewright.prices.postings import PostingService
from gradewright.prices.service import PriceService
from gradewright.rulebooks.service import RulebookService
from gradewright.settlements.answer import Settled, told
from gradewright.settlements.expected import Expected, for_where, of_bins, of_valuation
from gradewright.settlements.given import Request
from gradewright.settlements.matching import by_hand, unclear
from gradewright.settlements.moving import found_moved, found_unexpected, maybe
from gradewright.settlements.reading import Faults, TicketReader
from gradewright.settlements.showing import lots, shown
from gradewright.valuations.service import ValuationService
from gradewright.yards.service import Yard

LONG_TICKET = 64  # from so many lines on it is worked out in a thread: other requests go on meanwhile


@dataclass(frozen=True, slots=True)
class Worked:
    """A ticket, settled: its answer, and what was found out on the way."""

    answer: Answer
    settled: Settled


class SettlementWork:
    """Settles tickets, and keeps nothing."""

    def __init__(
        self,
        prices: PriceService,
        rulebooks: RulebookService,
        valuations: ValuationService,
        postings: PostingService,
    ) -> None:
        self._prices = prices
        self._rulebooks = rulebooks
        self._valuations = valuations
        self._postings = postings

    async def settle(self, request: Request, method: str = METHOD) -> Worked:
        """The answer to a request by a method; its faults are all told at once.

        Raises `UnknownYard`, `NoRulebook`, `CurrencyError`, `UnknownGrade`, `Refused`.
        """
        faults = Faults()
        for fault in self._postings.day_faults(request.ticket.on):
            faults.add(fault.detail, "ticket", "on")
        faults.refuse()
        atlas = await self._prices.atlas()
        yard = atlas.yard(request.yard)
        expected, revision = await self._expected(request, yard, faults, method)
        labels = atlas.label_table(yard.region, yard.slug, request.ticket.on, revision)
        ticket = TicketReader(yard, expected.version.rulebook, labels, faults).read(request.ticket)
        hand = by_hand(request.matches, expected, len(request.ticket.lines), faults)
        faults.refuse()
        pins = Pins(expected.version.rulebook.version, revision, method)

        def work() -> Worked:
            settled = _settled(request, yard, ticket, labels, expected, hand, method)
            return Worked(sealed(told(settled), pins), settled)

        return await asyncio.to_thread(work) if len(ticket.lines) >= LONG_TICKET else work()

    async def _expected(
        self, request: Request, yard: Yard, faults: Faults, method: str
    ) -> tuple[Expected, int]:
        if request.valuation is not None:
            return await self._valued(request, request.valuation, yard, method)
        on, known_at = request.ticket.on, await self._prices.known(request.known_at)
        version = (
            await self._rulebooks.in_force(on, known_at=known_at, at=("ticket", "on"))
            if request.rulebook is None
            else await self._rulebooks.get(request.rulebook)
        )
        place = Place(yard.region, yard.slug)
        prices, revision = await self._prices.list_for(place, version.rulebook, on, known_at)
        return of_bins(request.bins, version, prices, yard.rounding, faults, method), revision

    async def _valued(
        self, request: Request, valuation: str, yard: Yard, method: str
    ) -> tuple[Expected, int]:
        at = ("against", "valuation")
        try:
            kept = await self._valuations.keeping.get(valuation)
        except NotFound as error:
            raise Refused(error.detail, faults=(Fault(error.detail, at),)) from error
        body = json.loads(kept.body)
        if body["currency"] != yard.currency:
            detail = (
                f"{valuation} is in {body['currency']}, and {yard.slug} pays in {yard.currency}: nothing is "
                "converted."
            )
            raise CurrencyError(detail, faults=(Fault(detail, at),))
        pins = body["pins"]
        version = await self._rulebooks.get(pins["rulebook"])
        on, place = date.fromisoformat(body["on"]), Place(body["region"], body["yard"])
        prices, _ = await self._prices.list_for(place, version.rulebook, on, pins["revision"])
        revision = await self._prices.revision(request.known_at)
        expected = of_valuation(body, valuation, version, prices, method)
        lineage = (await self._prices.atlas()).lineage(yard.region)
        where = for_where(body, yard.slug, lineage, str(request.ticket.on), method)
        return replace(expected, against={**expected.against, **where}), revision


def _settled(
    request: Request,
    yard: Yard,
    ticket: Ticket,
    labels: Mapping[str, Label],
    expected: Expected,
    hand: Mapping[int, Sequence[int]],
    method: str,
) -> Settled:
    bins = [each.bin for each in expected.bins]
    grades = [line.grade for line in ticket.lines]
    apart = linked(grades, bins, hand)
    moved, doubts = found_moved(request, ticket, expected, apart, hand, method)
    together = joined(hand, moved)
    groups = linked(grades, bins, together) if moved else apart
    terms = Terms(yard.rounding, yard.cash_increment)
    may_be = found_unexpected(request, ticket, expected, groups, method)
    return Settled(
        request=request,
        region=yard.region,
        unit=yard.unit,
        ticket=ticket,
        expected=expected,
        by_hand=hand,
        groups=groups,
        settlement=settle(
            ticket,
            bins,
            groups,
            stands_for(grades, bins, together),
            _listed(ticket, expected),
            terms,
            moved,
            average=method in AT_THE_AVERAGE,
            shares_are_sure=method in SHARES_ARE_SURE,
        ),
        moved=moved,
        maybe_moved=maybe(doubts, expected),
        may_be=may_be,
        unclear=unclear(ticket.lines, expected, groups, yard.slug, may_be),
        showing=shown(request.ticket, ticket, yard, labels, expected, method),
        method=method,
    )


def _listed(ticket: Ticket, expected: Expected) -> Mapping[str, Rate]:
    """The posted price of each grade that was brought, or that lines were accepted as, for all of that."""
    brought = {each.bin.grade: each.bin.grams for each in expected.bins if each.bin.grade is not None}
    weights = {**brought, **lots(ticket)}
    found = {grade: expected.prices.price(grade, grams) for grade, grams in weights.items()}
    return {grade: price.likely for grade, price in found.items() if price is not None}
