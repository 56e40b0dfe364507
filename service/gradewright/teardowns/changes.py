"""Which single price or weight, moved by how much, would change the plan: as answered, nearest first."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import partial
from typing import Any, NamedTuple

from gradewright.core.decimals import trimmed
from gradewright.core.teardown.margins import Edge, Margin
from gradewright.core.teardown.moves import Moves
from gradewright.teardowns.figures import Purse, for_people, kilograms, percent, rounded
from gradewright.teardowns.lots import in_milligrams
from gradewright.teardowns.methods import UP_TO_5, UP_TO_6
from gradewright.teardowns.otherwise import otherwise_paid
from gradewright.teardowns.words import then_done
from gradewright.teardowns.worked import Worked

MOST_TOLD = 20
PRICE_PLACES = 6


class _Change(NamedTuple):
    """One way to another plan; `share`: by how much of what it is now. `order` decides between equals."""

    share: Fraction
    order: tuple[str, int]
    tell: Callable[[], dict[str, Any]]


def changes(worked: Worked, purse: Purse) -> dict[str, Any]:
    """The nearest changes, and how many there are in all."""
    found = [*_prices(worked, purse), *_weights(worked)]
    found.sort(key=lambda change: (abs(change.share), change.order, change.share))
    return {"changes": [change.tell() for change in found[:MOST_TOLD]], "changes_in_all": len(found)}


def _prices(worked: Worked, purse: Purse) -> Iterator[_Change]:
    for key, moves in worked.prices.items():
        for move in filter(None, moves):
            yield _Change(move.by, (key, -1), partial(_price, worked, purse, key, move))


def _price(worked: Worked, purse: Purse, key: str, move: Margin) -> dict[str, Any]:
    pricing, unit = worked.pricing, worked.pricing.prices.unit
    grade, price = pricing.behind(key)
    name, lots = pricing.version.rulebook.grades[grade].name, ""
    if pricing.lots.own and len(pricing.counted(grade)) > 1:
        lots = f", in lots from {price.shown.from_weight}," if price.shown.from_weight else " in small lots"
    likely = Fraction(price.likely.price) / Fraction(price.likely.per_grams) * Fraction(unit.grams)
    becomes = trimmed(rounded(likely * (1 + move.by), PRICE_PLACES))
    now = price.shown.likely
    before, after = for_people(now, becomes)
    money = f"{after} instead of {before} {purse.currency} per {unit.symbol}"
    return {
        "what": "price",
        "grade": grade,
        "number": None,
        "name": name,
        "now": now,
        "becomes": becomes,
        "per": unit.symbol,
        **_then(worked, move, move.by),
        "says": f"Where {name}{lots} pays {money} ({percent(move.by)}), it is as good to "
        f"{then_done(worked, move.then)}.",
    }


def _weights(worked: Worked) -> Iterator[_Change]:
    for number, (node, moves) in enumerate(zip(worked.tree.nodes, worked.weights, strict=True)):
        grams = node.grams.likely
        for move in filter(None, _apart(moves)) if grams else ():
            yield _Change(move.by / grams, ("", number), partial(_weight, worked, number, move))


def _weight(worked: Worked, number: int, move: Margin) -> dict[str, Any]:
    grams, name = worked.tree.nodes[number].grams.likely, worked.pricing.offers[number].part.given.name
    parts = ", and its usual parts with it" if worked.kind is not None and not number else ""
    share, now, becomes = move.by / grams, kilograms(grams), kilograms(grams + move.by)
    before, after = for_people(now, becomes)
    good = "as good" if move.edge is Edge.EVEN else "better"
    return {
        "what": "weight",
        "grade": None,
        "number": number,
        "name": name,
        "now": now,
        "becomes": becomes,
        "per": "kg",
        **_then(worked, move, share),
        "says": f"Where {name} weighs {_edge(move)}{after} instead of {before} kg ({percent(share)}){parts}, "
        f"it is {good} to {then_done(worked, move.then)}.{_steps(worked, number, move, share)}",
    }


def _edge(move: Margin) -> str:
    if move.edge is not Edge.BEYOND:
        return ""
    return "less than " if move.by < 0 else "more than "


def _steps(worked: Worked, number: int, move: Margin, share: Fraction) -> str:
    """Which prices are other ones by then. Method 6 said that it counts on those of now, method 5 nothing."""
    if worked.method not in UP_TO_6:
        return otherwise_paid(worked, number, move)
    return "" if worked.method in UP_TO_5 else _left_out(worked, number, share)


def _left_out(worked: Worked, number: int, share: Fraction) -> str:
    pricing = worked.pricing
    with_it = pricing.offers if worked.kind is not None and not number else [pricing.offers[number]]
    for offer in with_it:
        grade, grams = offer.part.grade, offer.part.grams.likely
        if grade is None:
            continue
        now, at_that = (
            pricing.prices.price(grade, pricing.lots.of(grade, in_milligrams(weighs)))
            for weighs in (grams, grams * (1 + share))
        )
        step = (at_that if share > 0 else now) if now is not at_that else None
        if step is not None and step.shown.from_weight is not None:
            name = pricing.version.rulebook.grades[grade].name
            other = f"{name} has another price from {step.shown.from_weight} on"
            return f" That leaves out that {other}: ask again with that weight."
    return ""


def _apart(moves: Moves) -> Moves:
    """Both moves, once where they are the same: no move at all."""
    less, more = moves
    return Moves(less, None if less is not None and more is not None and less.by == more.by else more)


def _then(worked: Worked, move: Margin, share: Fraction) -> dict[str, Any]:
    node, does = move.then
    return {
        "change": percent(share),
        "then": {
            "number": node,
            "name": worked.pricing.offers[node].part.given.name,
            "does": does.value,
        },
    }
