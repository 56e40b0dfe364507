"""What a draft would change about what people have kept, on a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from rich.table import Table

from gradewright_sdk.cli._drafted import print_line
from gradewright_sdk.cli._show import say

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import (
        CurrencyImpact,
        DraftImpact,
        ImpactPlace,
        MovedTotal,
        OneSidedTotal,
    )

MOST_SHOWN = 20
GRAM = Decimal("0.001")
BESIDE = ("Price lost", "Price new")
"""Columns of what has a price before, or after, alone."""
NOTHING_KEPT = (
    "Look at other days with --from and --to, or at parts of your own with --list FILE --region REGION; "
    "valuations are kept by `gradewright-client value FILE --keep`."
)


def print_impact(console: Console, found: DraftImpact) -> None:
    """What a draft would change, and for whom."""
    held = f"{found.draft} ({found.version}) against {found.against}"
    days = "" if found.from_ is None else f", kept from {found.from_} to {found.to}"
    if not found.valuations:
        print_line(console, f"{held}{days}: no valuations. {NOTHING_KEPT}")
        return
    print_line(
        console,
        f"{held}{days}: {_many(found.valuations, 'valuation')}, {_many(found.parts, 'part')}, of which "
        f"{found.parts_changed} {'changes its' if found.parts_changed == 1 else 'change their'} grade.",
    )
    for currency in found.currencies:
        _currency(console, currency)
    for moved in found.each[:MOST_SHOWN]:
        was, now = (
            f"{side.grade or side.answered} {_amount(side.amount)}" for side in (moved.before, moved.after)
        )
        print_line(console, f"  {moved.name}: {was} -> {now}")
    if len(found.each) > MOST_SHOWN:
        print_line(console, f"  and {len(found.each) - MOST_SHOWN} more (--json shows them)")


def _currency(console: Console, found: CurrencyImpact) -> None:
    everything = found.all
    besides = (everything.no_longer, "lose their price"), (everything.newly, "get a price")
    counted = [(beside, says) for beside, says in besides if beside.parts]
    headline = [
        f"{everything.changed} of {everything.valuations} totals move, from {everything.before:f} to "
        f"{everything.after:f} together ({everything.change:f})",
        f"{found.lose} lose {abs(found.lost):f}, {found.gain} gain {found.gained:f}",
        *(f"{each.valuations} have parts that {says}, {each.amount:f} together" for each, says in counted),
    ]
    print_line(console, f"\n{found.currency}: {'. '.join(headline)}.")
    for beside, says in counted:
        told = f"{beside.parts} parts ({beside.weight_kg:f} kg, {beside.amount:f}) {says}"
        print_line(console, f"{told}: beside the totals.")
    if found.quartiles is not None:
        q = found.quartiles
        print_line(
            console,
            f"Of those that move a quarter change by {q.low:f} or less, half by {q.middle:f} or less, three "
            f"quarters by {q.high:f} or less.",
        )
    if len(found.regions) > 1:
        console.print(_places(found.regions))
    if found.moves:
        moves = found.moves[:MOST_SHOWN]
        rows = [
            (
                f"{move.before} ->\n{move.after or 'no grade'}",
                str(move.parts),
                f"{_thousandths(move.weight_kg):f}",
                *(f"{number:f}" for number in (move.amount_before, move.amount_after, move.change)),
            )
            for move in moves
        ]
        sides = [(move.amount_no_longer, move.amount_newly) for move in moves]
        console.print(_with_beside(("Grade", "Parts", "kg", "Before", "After", "Change"), rows, sides))
        if len(found.moves) > MOST_SHOWN:
            print_line(console, f"and {len(found.moves) - MOST_SHOWN} moves more (--json shows them)")
    for title, moved in (("Lose most", found.losers), ("Gain most", found.gainers)):
        if moved:
            console.print(_moved(title, moved))
    for title, sided in (("Lose a price", found.lose_price), ("Get a price", found.gain_price)):
        if sided:
            console.print(_sided(title, sided))


def _places(places: Sequence[ImpactPlace]) -> Table:
    rows = [
        (
            each.region or "",
            str(each.valuations),
            str(each.changed),
            *(f"{number:f}" for number in (each.before, each.after, each.change)),
        )
        for each in places
    ]
    sides = [(each.no_longer.amount, each.newly.amount) for each in places]
    return _with_beside(("Region", "Valuations", "Move", "Before", "After", "Change"), rows, sides)


def _with_beside(
    titles: Sequence[str], rows: Sequence[Sequence[str]], sides: Sequence[tuple[Decimal, Decimal]]
) -> Table:
    """A table with what has a price before, or after, alone; without these columns where nothing has."""
    some = any(amount for side in sides for amount in side)
    table = _table(*titles, *(BESIDE if some else ()))
    for row, side in zip(rows, sides, strict=True):
        table.add_row(*map(say, row), *(say(f"{amount:f}") for amount in side if some))
    return table


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _thousandths(weight: Decimal) -> Decimal:
    """A weight to the gram, where it has more figures than that and a gram at all: --json shows all."""
    if abs(weight) < GRAM:
        return weight
    return min(weight, weight.quantize(GRAM), key=lambda each: len(each.as_tuple().digits))


def _sided(title: str, sided: Sequence[OneSidedTotal]) -> Table:
    table = _table(title, "Region", "Parts", "Amount")
    for each in sided:
        cells = (each.valuation, each.region, str(each.parts), f"{each.amount:f}")
        table.add_row(*(say(cell) for cell in cells))
    return table


def _moved(title: str, moved: Sequence[MovedTotal]) -> Table:
    table = _table(title, "Region", "Before", "After", "Change")
    for each in moved:
        numbers = (f"{number:f}" for number in (each.before, each.after, each.change))
        table.add_row(*(say(cell) for cell in (each.valuation, each.region, *numbers)))
    return table


def _amount(amount: Any) -> str:
    return "(no price)" if amount is None else f"{amount:f}"


def _table(*titles: str) -> Table:
    return Table(*titles, box=None, padding=(0, 2, 0, 0), pad_edge=False)
