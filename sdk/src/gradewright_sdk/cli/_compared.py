"""What a whole list would change, for people: line by line."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from rich.text import Text

from gradewright_sdk.cli._layout import Entry, stacked
from gradewright_sdk.cli._show import number, say

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import ListChange, ListCompared

HEADS = ("Price", "Before", "By")
KINDS = ("new", "raised", "lowered", "same", "gone", "refused", "unknown")
WORST = {"refused": "red", "unknown": "red", "raised": "green", "lowered": "yellow", "gone": "yellow"}


def print_compared(console: Console, found: ListCompared, *, all_: bool) -> None:
    """The lines that change something, or all; how many there are of each kind; what was stored."""
    currency = next((line.currency for line in found.lines if line.currency), "")
    title = f"{found.yard}, list of {found.observed_on}" + (f", in {currency}" if currency else "")
    shown = [line for line in found.lines if all_ or line.change != "same"]
    for one in stacked(say(title, "bold"), HEADS, [_entry(line) for line in shown]):
        console.print(one)
    counts = [(kind, getattr(found.counts, kind)) for kind in KINDS]
    console.print()
    console.print(say(", ".join(f"{count} {kind}" for kind, count in counts if count) + "."))
    if found.counts.gone:
        stays = "What is gone from the list stays as it was posted, until it is too old to count."
        console.print(say(stays, "dim"))
    console.print(say(f"Against the newest list as known at ledger revision {found.compared_with}.", "dim"))
    console.print(say(_outcome(found), "bold"))


def _outcome(found: ListCompared) -> str:
    if found.posting is not None:
        return f"Stored as {found.posting}, ledger revision {found.revision}."
    if found.can_be_stored:
        return "It can be stored as it is. This was a dry run: nothing was posted."
    return "It cannot be stored: mend the lines that are refused or unknown. Nothing was posted."


def _entry(line: ListChange) -> Entry:
    where = "-" if line.line is None else str(line.line)
    name = Text().append(f"{where:>5}  ").append(f"{line.change:<8} ", WORST.get(line.change, ""))
    name.append_text(say(", ".join(_named(line)) or "?"))
    before = line.before
    figures = [
        say("" if line.price is None else f"{number(line.price)}/{line.per}"),
        say("" if before is None else f"{number(before.price)}/{before.per}"),
        say(_by(line)),
    ]
    faults = [f"{fault.column}: {fault.detail}" if fault.column else fault.detail for fault in line.faults]
    return Entry(name, figures, say("\n".join(faults)) if faults else None)


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
    return _signed(line.by.amount) + percent


def _signed(value: Decimal) -> str:
    return f"{value:+f}"
