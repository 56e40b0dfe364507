"""What a draft or a version changes, on a terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from rich.table import Table

from gradewright_sdk.cli._drafted import as_flow
from gradewright_sdk.cli._show import say

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import CurrencyImpact, DraftImpact, MovedTotal, RulebookComparison

MOST_SHOWN = 20


def print_impact(console: Console, found: DraftImpact) -> None:
    """What a draft would change, and for whom."""
    _line(
        console,
        f"{found.draft} ({found.version}) against {found.against}: {found.valuations} valuations, "
        f"{found.parts} parts, of which {found.parts_changed} change their grade.",
    )
    for currency in found.currencies:
        _currency(console, currency)
    for moved in found.each[:MOST_SHOWN]:
        was, now = (
            f"{side.grade or side.answered} {_amount(side.amount)}" for side in (moved.before, moved.after)
        )
        _line(console, f"  {moved.name}: {was} -> {now}")
    if len(found.each) > MOST_SHOWN:
        _line(console, f"  and {len(found.each) - MOST_SHOWN} more (--json shows them)")


def _currency(console: Console, found: CurrencyImpact) -> None:
    everything = found.all
    _line(
        console,
        f"\n{found.currency}: {everything.changed} of {everything.valuations} totals move, from "
        f"{everything.before:f} to {everything.after:f} together ({everything.change:f}). "
        f"{found.lose} lose {abs(found.lost):f}, {found.gain} gain {found.gained:f}.",
    )
    for beside, says in ((found.no_longer, "have no price any more"), (found.newly, "have a price now")):
        if beside.parts:
            told = f"{beside.parts} parts ({beside.weight_kg:f} kg, {beside.amount:f}) {says}"
            _line(console, f"{told}: beside the totals.")
    if found.quartiles is not None:
        q = found.quartiles
        _line(
            console,
            f"Of those that move a quarter change by {q.low:f} or less, half by {q.middle:f} or less, three "
            f"quarters by {q.high:f} or less.",
        )
    if found.moves:
        table = _table("Grade before", "Grade after", "Parts", "kg", "Before", "After", "Change")
        for each in found.moves[:MOST_SHOWN]:
            numbers = (each.weight_kg, each.amount_before, each.amount_after, each.change)
            cells = (each.before, each.after or "", str(each.parts), *(f"{number:f}" for number in numbers))
            table.add_row(*(say(cell) for cell in cells))
        console.print(table)
        if len(found.moves) > MOST_SHOWN:
            _line(console, f"and {len(found.moves) - MOST_SHOWN} moves more (--json shows them)")
    for title, moved in (("Lose most", found.losers), ("Gain most", found.gainers)):
        if moved:
            console.print(_moved(title, moved))


def _moved(title: str, moved: Sequence[MovedTotal]) -> Table:
    table = _table(title, "Region", "Before", "After", "Change")
    for each in moved:
        numbers = (f"{number:f}" for number in (each.before, each.after, each.change))
        table.add_row(*(say(cell) for cell in (each.valuation, each.region, *numbers)))
    return table


def print_comparison(console: Console, found: RulebookComparison) -> None:
    """What a version changes against another."""
    for line in found.summary:
        _line(console, line)
    for move in found.moves:
        before, after = (end.grade or end.answered for end in (move.before, move.after))
        _line(console, f"\n{before} -> {after}")
        for way in move.ways:
            rules = f"{way.rule_before or 'no rule'}, then {way.rule_after or 'no rule'}"
            _line(console, f"  {as_flow(way.part)}  by {rules}")
        if not move.all_ways:
            _line(console, "  and more")
    if found.examples:
        _line(console, f"\n{len(found.examples)} worked examples are new, gone or say something else:")
    for each in found.examples[:MOST_SHOWN]:
        _line(console, f"  {as_flow(each['part'])}: {_said(each['before'])} -> {_said(each['after'])}")
    if len(found.examples) > MOST_SHOWN:
        _line(console, f"  and {len(found.examples) - MOST_SHOWN} more (--json shows them)")
    if found.texts:
        _line(console, f"\n{len(found.texts)} texts stand otherwise (--json shows them).")


def _said(example: Mapping[str, Any] | None) -> str:
    """What an example says of its part, in a few words."""
    if example is None:
        return "no example"
    if example.get("candidates"):
        return " or ".join(example["candidates"])
    if example.get("contradiction"):
        return f"contradiction {example['contradiction']}"
    return str(example.get("grade") or "no grade")


def _amount(amount: Any) -> str:
    return "(no price)" if amount is None else f"{amount:f}"


def _line(console: Console, text: str) -> None:
    console.print(say(text), soft_wrap=True)


def _table(*titles: str) -> Table:
    return Table(*titles, box=None, padding=(0, 2, 0, 0), pad_edge=False)
