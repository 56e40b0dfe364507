"""The parts of a valuation for people: in a table where it is wide enough, else each in two or three
lines.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from rich.table import Table
from rich.text import Text

from gradewright_sdk.cli._basis import Asked
from gradewright_sdk.cli._layout import Entry, stacked
from gradewright_sdk.cli._show import clean, few, number, rate, say, spreads, two_lines

if TYPE_CHECKING:
    from rich.console import RenderableType

    from gradewright_sdk._models import Rulebook, Valuation, ValuedPart

WIDE = 100  # columns from which on there is room for a table
AMOUNTS = "Low – likely – high"
NOT_COUNTED = "not counted"
LEAST_BASIS, MOST_BASIS = 28, 42  # columns for "2 yards only, 14 days ago", and for a whole sentence
NAMES = 50  # columns for part and grade before the basis gets more


def parts(valuation: Valuation, rulebook: Rulebook, width: int) -> Iterator[RenderableType]:
    """The parts with their grade, price, what that rests on, and amounts."""
    asked = Asked.by_names(valuation.region, valuation.yard, valuation.on, rulebook)
    shown = spreads([part.amount for part in valuation.parts])
    amounts = [
        say(text) if part.amount is not None else say(NOT_COUNTED, "yellow")
        for part, text in zip(valuation.parts, shown, strict=True)
    ]
    if width >= WIDE:
        yield _table(valuation, asked, amounts, width)
        return
    entries = [
        Entry(say(_name(part)), [amount], _below(part, asked))
        for part, amount in zip(valuation.parts, amounts, strict=True)
    ]
    yield from stacked(say("Part", "bold"), (AMOUNTS,), entries)


def _name(part: ValuedPart) -> str:
    return f"{part.name} ×{part.count}" if part.count > 1 else part.name


def _below(part: ValuedPart, asked: Asked) -> Text:
    line = say(f"{part.weight.shown} · ", "dim")
    told = Text().append_text(line)
    if part.grade is None:
        told.append(clean(part.outcome), "yellow")
        maybe = _maybe(part)
        between = _between(part)
        told.append(clean(f": {maybe}" if maybe else ""))
        told.append(f" {between}" if between else "")
        return told
    told.append(clean(part.grade_name or part.grade))
    note = _note(part)
    told.append(f", {note}" if note else "", "dim")
    if part.price is None:
        return told.append(", ").append("no price", "yellow")
    told.append(clean(f" at {_rate(part)}"), "dim")
    rests = asked.rests_on(part.price.basis)
    return told.append(" (", "dim").append_text(rests).append(")", "dim") if rests else told


def _table(valuation: Valuation, asked: Asked, amounts: list[Text], width: int) -> Table:
    room = width - 6 - max(len(AMOUNTS), *(amount.cell_len for amount in amounts))
    basis = min(max(room - NAMES, LEAST_BASIS), MOST_BASIS)
    grade = max((room - basis) // 2, 1)
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("Part", width=room - basis - grade, overflow="fold")
    table.add_column("Grade", width=grade, overflow="fold")
    table.add_column("Price, and what it rests on", width=basis, overflow="fold")
    table.add_column(AMOUNTS, justify="right", no_wrap=True)
    for part, amount in zip(valuation.parts, amounts, strict=True):
        between = _between(part)
        told = two_lines(amount, say(between, "yellow")) if between else amount
        table.add_row(two_lines(_name(part), part.weight.shown), _grade(part), _price(part, asked), told)
    return table


def _grade(part: ValuedPart) -> RenderableType:
    if part.grade is not None:
        return two_lines(part.grade_name or part.grade, _note(part))
    return two_lines(part.outcome, _maybe(part), style="yellow")


def _price(part: ValuedPart, asked: Asked) -> RenderableType:
    if part.price is None:
        return say("-") if part.grade is None else say("no price", "yellow")
    return two_lines(_rate(part), asked.rests_on(part.price.basis))


def _rate(part: ValuedPart) -> str:
    if part.price is None:
        return ""
    tier = f" from {part.price.from_weight}" if part.price.from_weight else ""
    return f"{rate(part.price.likely)} per {part.price.per}{tier}"


def _note(part: ValuedPart) -> str:
    if part.confidence == "disputed":
        return "disputed"
    return "" if part.outcome == "graded" else "as named"


def _maybe(part: ValuedPart) -> str:
    names = few([candidate.name for candidate in part.candidates])
    return f"{names}?" if names else ""


def _between(part: ValuedPart) -> str:
    """What it may come to, and how many of the grades that it may be have no price."""
    amounts = sorted({one.amount.likely for one in part.candidates if one.amount is not None})
    if not amounts:
        return ""
    span = number(amounts[0]) if len(amounts) == 1 else f"{number(amounts[0])} to {number(amounts[-1])}"
    unknown = sum(one.amount is None for one in part.candidates)
    return f"{span}?" + (f" {unknown} unpriced" if unknown else "")
