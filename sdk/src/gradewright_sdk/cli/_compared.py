"""What a whole list would change, for people: line by line."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from rich.text import Text

from gradewright_sdk.cli._failures import listed
from gradewright_sdk.cli._layout import Entry, stacked
from gradewright_sdk.cli._show import number, say

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import ListChange, ListCompared
    from gradewright_sdk.cli._list_slips import ListSlips

HEADS = ("Price", "Before", "By")
KINDS = ("new", "raised", "lowered", "same", "gone", "refused", "unknown")
WORST = {"refused": "red", "unknown": "red", "raised": "green", "lowered": "yellow", "gone": "yellow"}


def print_compared(console: Console, found: ListCompared, slips: ListSlips, *, all_: bool) -> None:
    """The lines that change something, wait or are slips, or all; how many of each kind; what was stored, and
    by their numbers what waits and what is a slip: they may stand above many that are gone."""
    currency = next((line.currency for line in found.lines if line.currency), "")
    title = f"{found.yard}, list of {found.observed_on}" + (f", in {currency}" if currency else "")
    shown = [
        _entry(line, slips.at.get(at))
        for at, line in enumerate(found.lines)
        if all_ or line.change != "same" or line.held or at in slips.at
    ]
    for one in stacked(say(title, "bold"), HEADS, shown):
        console.print(one)
    counts = [(kind, getattr(found.counts, kind)) for kind in KINDS]
    console.print()
    console.print(say(", ".join(f"{count} {kind}" for kind, count in counts if count) + "."))
    if found.counts.gone:
        stays = "What is gone from the list stays as it was posted, until it is too old to count."
        console.print(say(stays, "dim"))
    console.print(say(f"Against the newest list as known at ledger revision {found.compared_with}.", "dim"))
    console.print(say(_outcome(found), "bold"))
    for says in slips.in_the_end:
        console.print(say(says, "yellow"))


def _outcome(found: ListCompared) -> str:
    some = "1 price of it" if found.held == 1 else f"{found.held} prices of it"
    if found.posting is not None:
        waits = f"; {some} {'waits and does' if found.held == 1 else 'wait and do'} not count yet"
        return f"Stored as {found.posting}, ledger revision {found.revision}{waits if found.held else ''}."
    if found.can_be_stored:
        waits = f", and {some} will wait and not count yet" if found.held else ""
        return f"It can be stored as it is{waits}. This was a dry run: nothing was posted."
    return "It cannot be stored: mend the lines that are refused or unknown. Nothing was posted."


def _entry(line: ListChange, slip: str | None) -> Entry:
    where = "-" if line.line is None else str(line.line)
    name = Text().append(f"{where:>5}  ").append(f"{line.change:<8} ", WORST.get(line.change, ""))
    name.append_text(say(", ".join(_named(line)) or "?"))
    before = line.before
    figures = [
        say("" if line.price is None else f"{number(line.price)}/{line.per}"),
        say("" if before is None else f"{number(before.price)}/{before.per}"),
        say(_by(line)),
    ]
    faults = [(f"{fault.column}: " if fault.column else "", listed(fault.detail)) for fault in line.faults]
    below = [f"{column}{says}" for column, says in faults]
    if line.held is not None:
        return Entry(name, figures, say("\n".join([*below, f"waits: {line.held.says}"]), "yellow"))
    if slip is not None:
        return Entry(name, figures, say(slip, "yellow"))
    return Entry(name, figures, say("\n".join(below)) if below else None)


def _named(line: ListChange) -> Iterator[str]:
    if line.label is not None:
        yield line.label + (f" ({line.grade})" if line.grade else "")
    elif line.grade is not None:
        yield line.grade
    if line.from_weight is not None:
        yield f"from {line.from_weight}"


def _by(line: ListChange) -> str:
    if line.by is None:
        return ""
    percent = "" if line.percent is None else f" ({_signed(line.percent)} %)"
    elsewise = line.before is not None and line.before.per != line.per
    return _signed(line.by.amount) + (f"/{line.per}" if elsewise else "") + percent


def _signed(value: Decimal) -> str:
    return f"{value:+f}"
