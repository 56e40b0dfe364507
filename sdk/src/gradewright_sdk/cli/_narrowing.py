"""How far a dialogue has come: how many grades are left, what they pay, and why it goes on or stops."""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from typing import TYPE_CHECKING

from rich.text import Text

from gradewright_sdk.cli._show import few, minutes, number, rate, say

if TYPE_CHECKING:
    from gradewright_sdk._models import Candidate, Grading, NotWorth, UnitPrice
    from gradewright_sdk._money import Money


def comparable(candidates: Sequence[Candidate]) -> list[UnitPrice]:
    """The prices, if they are all per the same unit and so can be held against each other."""
    prices = [one.price for one in candidates if one.price is not None]
    return prices if len({price.per for price in prices}) == 1 else []


def dearest_first(candidates: Sequence[Candidate]) -> list[Candidate]:
    """From the dearest to the cheapest, then those without a price; as they come if prices do not compare."""
    if not comparable(candidates):
        return list(candidates)
    priced = [(one.price.likely, one) for one in candidates if one.price is not None]
    priced.sort(key=lambda pair: pair[0], reverse=True)
    return [one for _, one in priced] + [one for one in candidates if one.price is None]


def progress(grading: Grading, before: int | None, skipped: Set[str] = frozenset()) -> Iterator[Text]:
    """What is left, of how many `before` the last answer, with prices; whether it goes on for safety, and
    what was `skipped` until then, as that may be what decides.
    """
    left = dearest_first(grading.candidates)
    if left:
        fewer = f" of {before}" if before is not None and before > len(left) else ""
        none = ", or none" if grading.may_be_ungraded else ""
        count = f"{len(left)} grade{'s' if len(left) > 1 else ''} left{fewer}{none}"
        yield say(f"{count}{_span(left)}: {few([_named(one) for one in left])}", "dim")
    if grading.in_doubt:
        yield say(_for_safety(grading), "yellow")
        if skipped:
            yield say(f'You answered "don\'t know" to: {", ".join(sorted(skipped))}.', "yellow")


def _for_safety(grading: Grading) -> str:
    """Why it goes on although the grade does not depend on it, in the service's own words: only it knows
    whether the prices are nearly the same, or nothing that is left to test settles which.
    """
    named = f"({', '.join(caution.name for caution in grading.in_doubt)})"
    before, found, _ = grading.says.partition(named)
    if not found:
        return f"A danger depends on the rest: {named[1:-1]}"
    return f"{before.rpartition('. ')[2]}{named}."


def not_worth(found: NotWorth) -> Text:
    """That it is not worth it, with the spread and what it is held against."""
    if found.adds is not None and found.costs is not None and found.minutes is not None:
        costs = f"{minutes(found.minutes)}, which cost {number(found.costs)}"
        adds = f"{number(found.adds)} {found.adds.currency} on average to {found.weight}"
        return say(f"Not worth finding out which: it adds {adds}, and takes {costs} (--hour-rate).", "bold")
    if found.lowest == found.highest:
        return say(f"Not worth finding out which: each pays {_rate(found.lowest, found.per)}.", "bold")
    paid = f"from {rate(found.lowest)} to {_rate(found.highest, found.per)}"
    return say(
        f"Not worth finding out which: they pay {paid}, {rate(found.spread)} apart. That is {found.share} of "
        f"the dearest; up to {found.within} counts as alike (--alike-within).",
        "bold",
    )


def _named(one: Candidate) -> str:
    return f"{one.name} {_rate(one.price.likely, one.price.per)}" if one.price is not None else one.name


def _span(left: Sequence[Candidate]) -> str:
    """Between which prices; nothing where the few that are named tell it."""
    prices = comparable(left)
    if len(left) <= 3 or not prices:
        return ""
    return f", from {rate(prices[-1].likely)} to {_rate(prices[0].likely, prices[0].per)}"


def _rate(money: Money, per: str) -> str:
    return f"{rate(money)} {money.currency}/{per}"
