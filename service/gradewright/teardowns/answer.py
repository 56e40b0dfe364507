"""The answer to a teardown as plain values; every figure is rounded once, from the exact one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from gradewright.core.decimals import plain
from gradewright.core.rulebook import Caution
from gradewright.core.teardown.sized import MINUTES_AN_HOUR
from gradewright.core.teardown.tree import Span
from gradewright.prices.board import Place
from gradewright.teardowns.changes import changes
from gradewright.teardowns.choices import LEAVE, OPEN, SELL, STAY
from gradewright.teardowns.conditions import conditions
from gradewright.teardowns.doubts import UNDOUBTED
from gradewright.teardowns.figures import Purse, minutes
from gradewright.teardowns.methods import UP_TO_5
from gradewright.teardowns.nodes import for_whom, heeded, only_for_some, span_of
from gradewright.teardowns.piles import piles
from gradewright.teardowns.pricing import NOTHING_LEFT, Offer
from gradewright.teardowns.together import together
from gradewright.teardowns.unknown import decides_opening, decides_taking, unpriced_inside
from gradewright.teardowns.words import (
    HEED,
    as_usual,
    gain,
    heavy,
    summary,
)
from gradewright.teardowns.worked import Worked, left_grams
from gradewright.valuations.shapes import warning

TOLD = "told with the request"
MOST_UNWEIGHED = 50


def answer(
    worked: Worked,
    purse: Purse,
    place: Place,
    on: date,
    hour_rate: Decimal,
    weighing_minutes: Decimal,
    notes: Sequence[str] = (),
) -> dict[str, Any]:
    """All members of an answer, but for the parts of the device and for its pins. `notes`: what to know of
    what was given.
    """
    plan, offer = worked.plan, worked.pricing.offers[0]
    gained = gain(worked, 0) if plan.opened[0] else None
    paid, labour = plan.worth.paid, plan.worth.minutes * plan.rate / MINUTES_AN_HOUR
    missing = list(_missing(worked))
    known = any(node.grams.low != node.grams.high for node in worked.tree.nodes)
    by_weights = worked.ranges.weights
    whole = offer.whole.pay
    return {
        "region": place.region,
        "yard": place.yard,
        "on": on,
        "currency": purse.currency,
        "hour_rate": plain(hour_rate),
        "says": only_for_some(worked, offer.part, purse)
        + summary(worked, purse)
        + for_whom(worked, offer.part)
        + as_usual(worked),
        "heed": HEED,
        "cautions": list(_cautions(worked)),
        "complete": not missing,
        "missing": missing,
        "whole": None if whole is None else purse.span(span_of(whole, offer.part.grams)),
        "worth": purse.span(_worth(worked)),
        "by_weights": {"low": purse.amount(by_weights.low), "high": purse.amount(by_weights.high)}
        if known
        else None,
        "minutes": minutes(plan.worth.minutes),
        "labour": purse.amount(labour),
        "net": purse.between(paid, labour),
        "gain": purse.between(paid, worked.tree.whole(0)),
        "per_hour": None if gained is None else purse.per_hour(gained),
        "schedule": _schedule(worked, purse),
        **changes(worked, purse),
        "weighing": _weighing(worked, purse, Fraction(weighing_minutes)),
        "piles": piles(worked, purse),
        "prices": list(_prices(worked)),
        "priced": _priced(worked),
        **({"together": together(worked, purse), "notes": list(notes)} if worked.pricing.lots.own else {}),
        **({} if worked.method in UP_TO_5 else conditions(worked, purse)),
    }


def _priced(worked: Worked) -> str:
    if worked.pricing.lots.own:
        return (
            "Each part, and what is left over, is priced as a lot of its own, or as the lot that was named "
            "for its grade where that is heavier. What piles of several reach is told with them, and under "
            "together."
        )
    return (
        "Each grade has one price here: that for the lot that was named for it, else for one as "
        f"heavy as the heaviest single part of that grade in {worked.pricing.offers[0].part.given.name}."
    )


def _worth(worked: Worked) -> Span:
    """What the plan comes to, at most what another one does where what decides that turns out well."""
    worth, high = worked.ranges.both, worked.doubts.high
    return worth if high is None or high <= worth.high else worth._replace(high=high)


def _cautions(worked: Worked) -> Iterable[dict[str, Any]]:
    """Every caution once, those of the device first, whether or not the plan gets to its part; behind them
    what may yet apply.
    """
    certain: dict[Caution | str, str] = {}
    possible: dict[Caution, None] = {}
    seen: set[int] = set()
    for offer in worked.pricing.offers:
        found = heeded(offer.part, worked)
        if id(found) in seen:  # one and the same for parts that are alike
            continue
        seen.add(id(found))
        for caution in found.certain:
            certain.setdefault(caution, offer.part.given.name)
        possible |= dict.fromkeys(found.possible)
    for one, name in certain.items():
        if isinstance(one, str):
            yield {"id": None, "name": name, "says": one, "source": TOLD, "certain": True}
        else:
            yield {**warning(one), "certain": True}
    for only in possible:
        if only not in certain:
            yield {**warning(only), "certain": False}


def _prices(worked: Worked) -> Iterable[dict[str, Any]]:
    """The prices of each grade that the device has, in the order of the rulebook."""
    pricing = worked.pricing
    grades = {offer.part.grade for offer in pricing.offers}
    grades |= {offer.part.left.grade for offer in pricing.offers if offer.part.left is not None}
    for slug, grade in pricing.version.rulebook.grades.items():
        for paid in pricing.counted(slug) if slug in grades else ():
            shown = None if paid.price is None else paid.price.shown
            yield {"grade": slug, "name": grade.name, "price": shown, "unpriced": paid.unpriced}


def _missing(worked: Worked) -> Iterable[str]:
    """What counts as nothing in the plan, or as the least that it can be, and what would settle that; also
    what would count as nothing in another plan, which cannot be held against it. Methods 1 and 2 told nothing
    of what would be left over, and these and method 3 nothing of what stays on.
    """
    device = worked.pricing.offers[0].part.given.name
    for inside, why in worked.unshared.items():
        yield f"{inside}, inside of {device}: {why}"
    for offer in worked.pricing.offers:
        number, name = offer.part.number, offer.part.given.name
        done = worked.choices[number]
        if done == LEAVE:
            yield f"{name}: {offer.whole.unpriced}"
        elif (done == SELL and offer.line is not None) or (done == OPEN and decides_opening(worked, number)):
            yield _cheapest(name, offer)
        elif done == STAY:
            yield from _staying(worked, offer)
        if done in {SELL, LEAVE} and offer.part.given.opens is not None:
            for inside, unpriced in unpriced_inside(worked, number).items():
                yield f"{inside}, inside of {name}: {unpriced}"
            for one in decides_opening(worked, number):
                yield _cheapest(f"{one.part.given.name}, inside of {name},", one)
        if number in worked.unnamed and done != OPEN:
            left_then = heavy(worked, left_grams(worked, number))
            yield f"what would be left of {name}, {left_then}: {NOTHING_LEFT}"
        if worked.plan.reached[number] and worked.plan.opened[number]:
            left, grams = offer.left, left_grams(worked, number)
            if left is not None and left.pay is None and grams:
                yield f"what is left of {name}, {heavy(worked, grams)}: {left.unpriced}"


def _staying(worked: Worked, offer: Offer) -> Iterable[str]:
    """What nobody knows of a part that stays on, and whether it is better taken off depends on it."""
    if worked.method in UNDOUBTED:
        return
    number, stays = offer.part.number, f"{offer.part.given.name}, which stays on"
    if offer.whole.pay is None:
        yield f"{stays}: {offer.whole.unpriced}"
    inside = unpriced_inside(worked, number) if worked.doubts.lacks[number] else {}
    for name, unpriced in inside.items():
        yield f"{name}, inside of {stays}: {unpriced}"
    for one in decides_taking(worked, number):
        name = f"{stays}," if one is offer else f"{one.part.given.name}, inside of {stays},"
        yield _cheapest(name, one)


def _cheapest(name: str, offer: Offer) -> str:
    return f"{name} counts as the cheapest that it can be: {offer.whole.unpriced}"


def _schedule(worked: Worked, purse: Purse) -> list[dict[str, Any]]:
    """The best plans at all rates, each with what is no longer done from its rate on."""
    steps = worked.rates.steps
    names = [offer.part.given.name for offer in worked.pricing.offers]
    ends = [purse.up_to(step.rate) for step in steps[1:]]
    return [
        {
            "from_rate": purse.up_to(step.rate),
            "to_rate": end,
            "worth": purse.amount(step.paid),
            "minutes": minutes(step.minutes),
            "stops": [
                {"number": number, "name": names[number], "what": what}
                for what, numbers in (("open", step.stops_opening), ("take-off", step.stops_taking))
                for number in numbers
            ],
        }
        for step, end in zip(steps, [*ends, None], strict=True)
    ]


def _weighing(worked: Worked, purse: Purse, time: Fraction) -> dict[str, Any]:
    """What it would be worth to know each weight that is not known, dearest first."""
    costs = time * worked.plan.rate / MINUTES_AN_HOUR
    found = sorted(
        ((gain, number) for number, gain in worked.weighing.items() if gain),
        key=lambda one: (-one[0], one[1]),
    )
    return {
        "minutes": minutes(time),
        "costs": purse.amount(costs),
        "unweighed": len(worked.weighing),
        "parts": [
            {
                "number": number,
                "name": worked.pricing.offers[number].part.given.name,
                "gain": purse.amount(gain),
                "pays": gain > costs,
            }
            for gain, number in found[:MOST_UNWEIGHED]
        ],
    }
