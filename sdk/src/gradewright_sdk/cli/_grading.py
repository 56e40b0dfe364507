"""A grading for people: the grade and why, or what it may be and what to look at next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.text import Text

from gradewright_sdk.cli._cautions import certain, possible
from gradewright_sdk.cli._layout import Entry, hanging, stacked
from gradewright_sdk.cli._narrowing import comparable, dearest_first, not_worth
from gradewright_sdk.cli._show import how_to_test, rate, rates, say
from gradewright_sdk.cli._trace import print_trace

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import Candidate, Grading, NextTest, UnitPrice
    from gradewright_sdk.cli._basis import Asked

MOST = 8


def print_grading(
    console: Console, grading: Grading, known: str, skipped: Set[str], asked: Asked, *, trace: bool
) -> None:
    """All of it, what to look at next before the grades that it may be; `known` is what it was graded from,
    `skipped` what the person did not know.
    """
    console.print()
    title = grading.name or grading.grade or grading.outcome
    console.print(say(title, "bold" if grading.outcome == "graded" else "bold yellow"))
    _print_why(console, grading, asked)
    candidates = dearest_first(grading.candidates)
    if len(candidates) > MOST:
        console.print(say(_summary(candidates)))
    if grading.next_test is not None and grading.next_test.attribute not in skipped:
        _print_test(console, grading.next_test)
    if grading.not_worth is not None:
        console.print(not_worth(grading.not_worth))
    elif skipped and grading.outcome == "undecided":
        console.print(say(f"What would settle it: {', '.join(sorted(skipped))}", "bold"))
    if candidates:
        _print_candidates(console, candidates, may_be_ungraded=grading.may_be_ungraded)
    for line in (*certain(grading.cautions), *possible(grading.cautions)):
        console.print(line)
    if trace:
        print_trace(console, grading.trace)
    console.print(say(f"By rulebook {grading.rulebook}, from: {known or 'nothing'}", "dim"))


def _print_why(console: Console, grading: Grading, asked: Asked) -> None:
    if grading.says and not grading.candidates:  # with candidates it says what is told below, in one breath
        for line in _new(grading.says, grading.name or ""):
            console.print(say(line))
    if grading.because and grading.because not in grading.says:
        console.print(say(grading.because))
    if grading.settled_by and grading.settled_by not in grading.says:
        console.print(say(f"This is disputed. To settle it: {grading.settled_by}"))
    if grading.rule:
        console.print(say(f"Rule {grading.rule} ({_standing(grading)})", "dim"))
    if grading.price is not None:
        console.print(_paid(grading.price, asked))


def _new(says: str, title: str) -> Iterator[str]:
    """What is said beyond the title that stands above it already; nothing if that is all."""
    rest = says.removeprefix(title).lstrip(" .:") if title and says.startswith(f"{title}.") else says
    if rest:
        yield rest


def _standing(grading: Grading) -> str:
    """Where the rule is from and how sure it is, each said once."""
    source, sure = grading.source or "no source", grading.confidence or ""
    return source if not sure or sure.replace("-", " ") == source else f"{source}, {sure}"


def _summary(candidates: Sequence[Candidate]) -> str:
    """How many grades it may be, and what the cheapest and the dearest of them fetch."""
    text = f"It can still be any of {len(candidates)} grades"
    prices = comparable(candidates)
    if prices:
        dearest, cheapest = prices[0], prices[-1]
        unit = f"{dearest.likely.currency} per {dearest.per}"
        text += f", from {rate(cheapest.likely)} to {rate(dearest.likely)} {unit}"
        unpriced = len(candidates) - len(prices)
        text += f"; {unpriced} of them without a price" if unpriced else ""
    return f"{text}."


def _print_candidates(console: Console, candidates: Sequence[Candidate], *, may_be_ungraded: bool) -> None:
    shown = candidates[:MOST]
    left = len(candidates) - len(shown)
    title = "It can still be"
    if left:
        title = f"The {MOST} dearest" if comparable(candidates) else f"{MOST} of them"
    console.print()
    for line in stacked(say(title, "bold"), *_figures(shown)):
        console.print(line)
    if left:
        console.print(say(f"and {left} more grades", "dim"))
    if may_be_ungraded:
        console.print(say("or nothing that the rulebook has a grade for", "dim"))


def _figures(candidates: Sequence[Candidate]) -> tuple[tuple[str, ...], list[Entry]]:
    """The heads of the figures and the candidates with theirs; none if no place was asked for."""
    names = [say(f"{one.name} ({one.grade})") for one in candidates]
    prices = [one.price for one in candidates]
    if not any(prices):
        return (), [Entry(name, ()) for name in names]
    columns = [
        rates([price.low if price else None for price in prices]),
        rates([price.likely if price else None for price in prices]),
        rates([price.high if price else None for price in prices]),
        [f"{price.likely.currency}/{price.per}" if price else "" for price in prices],
    ]
    rows = [Entry(name, list(map(say, row))) for name, *row in zip(names, *columns, strict=True)]
    return ("Low", "Likely", "High", "Per"), rows


def _print_test(console: Console, test: NextTest) -> None:
    console.print(say(f"Next: {how_to_test(test)}", "bold"))
    if test.beware:
        console.print(Padding(say(f"Beware: {test.beware}"), (0, 0, 0, 2)))
    if test.choices:
        answers = ((f"{test.attribute}={choice}", how) for choice, how in test.choices.items())
        console.print(Padding(hanging(answers, gap=2), (0, 0, 0, 2)))


def _paid(price: UnitPrice, asked: Asked) -> Text:
    amounts = " – ".join(map(rate, (price.low, price.likely, price.high)))
    told = say(f"{amounts} {price.likely.currency} per {price.per}")
    rests = asked.rests_on(price.basis) if price.basis is not None else Text()
    return told.append(" (").append_text(rests).append(")") if rests else told
