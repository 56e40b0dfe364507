"""A settlement for people: what was paid for what, where the difference comes from, what is unclear."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.table import Table

from gradewright_sdk.cli._cautions import by_grade
from gradewright_sdk.cli._layout import Entry, hanging, stacked
from gradewright_sdk.cli._matches import option
from gradewright_sdk.cli._show import number, say

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console, RenderableType

    from gradewright_sdk._models import (
        Markdowns,
        MarkedDown,
        MayBeMarkedDown,
        SettledGroup,
        Settlement,
        SettlementEffects,
        UnclearTicketLine,
    )

WHOLE = frozenset({"missing", "unexpected"})  # all of a group's difference, which its line says already
NAMES = {
    "weight": "weight",
    "deductions": "deductions",
    "grade": "grade",
    "price": "price",
    "grade_or_price": "grade or price (cannot be told apart)",
    "missing": "bins that are not on the ticket",
    "unexpected": "lines that stand for no bin",
    "unpriced": "bins that had no price",
    "rounding": "rounding",
    "arithmetic": "faults in the ticket's own sums",
}


def print_settlement(console: Console, found: Settlement) -> None:
    """All of it, each section only if it has something to say."""
    ticket = f", ticket {found.number}" if found.number else ""
    console.print(say(f"{found.yard}, {found.on}{ticket}, money in {found.currency}", "bold"))
    if found.withdrawn_at is not None:
        console.print(say(f"Taken back on {found.withdrawn_at:%Y-%m-%d}: it counts in no figure.", "yellow"))
    if found.against.says is not None:
        console.print(say(f"Against {found.against.valuation}. {found.against.says}", "yellow"))
    entries = [*(_entry(group, found) for group in found.groups), *_below_the_line(found)]
    entries.append(
        Entry(
            say("All", "bold"),
            [say(number(amount), "bold") for amount in (found.expected.likely, found.paid, found.difference)],
        )
    )
    for one in stacked(say("What was brought", "bold"), ("expected", "paid", "difference"), entries):
        console.print(one)
    _section(console, "Where the difference comes from", _parts(found.effects))
    if found.flaws:
        _section(console, "The ticket does not add up", hanging(("-", flaw.says) for flaw in found.flaws))
    unclear = [*_unclear(found)]
    if unclear:
        _section(console, "Unclear", hanging(("-", text) for text in unclear))
    if found.marked_down:
        _section(console, "Marked down", hanging(("-", each.says) for each in found.marked_down))
    unpriced = [f"{each.name}: {each.unpriced}" for each in found.bins if each.unpriced]
    if unpriced:
        _section(console, "No price was expected", hanging(("-", text) for text in unpriced))
    if found.cautions:
        _section(console, "Cautions", *by_grade(found.cautions))
    console.print()
    pins = found.pins
    console.print(say(f"Rulebook {pins.rulebook}, ledger revision {pins.revision}", "dim"))
    if found.id is not None:
        console.print(say(f"Kept as {found.id}"))
    if found.posting is not None:
        console.print(say(f"Prices posted as {found.posting}"))
    if found.looks_like is not None:
        console.print(say(alike(found), "yellow"))


def alike(found: Settlement) -> str:
    """What is said of a ticket that looks like another one, with what to do."""
    return (
        f"It looks like the ticket of {found.looks_like}: the same weights and amounts on the same day. In "
        "figures the two count as one. If they are one ticket, take this one back: gradewright-client "
        f'settlement {found.id} --withdraw "settled twice"'
    )


def print_markdowns(console: Console, found: Markdowns) -> None:
    """How a yard marks down: grade by grade, with the intervals."""
    console.print(say(f"{found.yard}: {found.says}", "bold"))
    if not found.grades:
        return
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    told: list[tuple[str, MarkedDown]] = [(one.grade, one) for one in found.grades]
    told += [] if found.overall is None else [("any of these", found.overall)]
    unclear = any(one.unclear for _, one in told)
    heads = ("Grade", "Marked down", "Share (95 %)", "By (95 %)", *(("Unclear",) if unclear else ()))
    for head in heads:
        table.add_column(head, overflow="fold")
    for name, one in told:
        table.add_row(say(name), *_figures(one)[: len(heads) - 1])
    console.print(table)


def _figures(one: MarkedDown) -> tuple[str, ...]:
    often, much = one.often, one.much
    by = "-"
    if much is not None:
        by = much.median if much.low is None else f"{much.median} ({much.low} to {much.high})"
    share = f"{often.share} ({often.low} to {often.high})"
    return f"{often.tickets} of {often.of} tickets", share, by, str(one.unclear)


def _section(console: Console, title: str, *what: RenderableType) -> None:
    console.print()
    console.print(say(title, "bold"))
    for one in what:
        console.print(Padding(one, (0, 0, 0, 2)))


def _entry(group: SettledGroup, found: Settlement) -> Entry:
    name = " + ".join(bin_.name for bin_ in group.bins) or "not expected"
    lines = ", ".join(f"line {n} ({found.lines[n - 1].label})" for n in group.lines) or "not on the ticket"
    made_of = ", ".join(
        f"{number(getattr(group.effects, part))} {says}"
        for part, says in NAMES.items()
        if getattr(group.effects, part).amount and part not in WHOLE
    )
    without = {each.name for each in found.bins if each.unpriced}
    if any(bin_.name in without for bin_ in group.bins):  # nothing was expected, which is not zero
        figures = [say("no price"), say(number(group.paid)), say("-")]
    else:
        figures = [say(number(amount)) for amount in (group.expected, group.paid, group.difference)]
    return Entry(say(name), figures, say(f"{lines}: {made_of}" if made_of else lines, "dim"))


def _below_the_line(found: Settlement) -> Iterator[Entry]:
    """What is paid or taken beside the lines, so that the rows add up: charges, then sums that are off, and
    what rounding to cash comes to."""
    rest = found.paid.amount - sum(group.paid.amount for group in found.groups)
    rows = []
    for charge in found.charges:
        rows.append((f"charge: {charge.label}", -charge.amount.amount))
        rest += charge.amount.amount
    if rest:
        name = "the ticket's own sums" if found.cash is None else "the ticket's own sums, and cash"
        rows.append((name, rest))
    for name, amount in rows:
        figure = say(f"{amount:f}")
        yield Entry(say(name), [say(""), figure, figure])


def _parts(effects: SettlementEffects) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, show_header=False)
    table.add_column(overflow="fold")
    table.add_column(justify="right", no_wrap=True)
    shown = [(says, getattr(effects, part)) for part, says in NAMES.items()]
    told = [(says, amount) for says, amount in shown if amount.amount]
    for says, amount in told or [("there is none", None)]:
        table.add_row(say(says), "" if amount is None else number(amount))
    return table


def _unclear(found: Settlement) -> list[str]:
    lines = [_unclear_line(one) for one in found.unmatched.lines]
    lines += [_may_be_marked_down(one) for one in found.may_be_marked_down]
    bins = [f"{one.name} is not on the ticket." for one in found.unmatched.bins]
    return [*lines, *bins]


def _unclear_line(one: UnclearTicketLine) -> str:
    meant = option(one.meant_together) or " or ".join(option([each]) for each in one.meant)
    return f"line {one.line}: {one.because}" + (f" Perhaps {meant}." if meant else "")


def _may_be_marked_down(one: MayBeMarkedDown) -> str:
    return f"{one.because} If so: {option(one.meant)}. If not: {option(one.not_so)}."
