"""A grading for people: the grade and why, or what it may be and what to look at next."""

from __future__ import annotations

from collections.abc import Set
from typing import TYPE_CHECKING

from rich.table import Table

from gradewright_sdk.cli._show import how_to_test, rate, say

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import Grading, NextTest, UnitPrice

MOST = 12
HOLDS = {True: "holds", False: "does not hold", None: "open"}


def print_grading(console: Console, grading: Grading, known: str, skipped: Set[str], *, trace: bool) -> None:
    """All of it; `known` is what it was graded from, `skipped` what the person did not know."""
    console.print()
    title = grading.name or grading.grade or grading.outcome
    console.print(say(title, "bold" if grading.outcome == "graded" else "bold yellow"))
    _print_why(console, grading)
    _print_candidates(console, grading)
    if grading.next_test is not None and grading.next_test.attribute not in skipped:
        _print_test(console, grading.next_test)
    if skipped and grading.outcome == "undecided":
        console.print(say(f"What would settle it: {', '.join(sorted(skipped))}", "bold"))
    for caution in grading.cautions:
        console.print(say(f"! {caution.name}: {caution.says}", "yellow"))
    for step in grading.trace if trace else ():
        why = f": {step.why}" if step.why else ""
        console.print(say(f"  {step.rule} ({step.grade}) {HOLDS[step.holds]}{why}", "dim"))
    console.print(say(f"By rulebook {grading.rulebook}, from: {known or 'nothing'}", "dim"))


def _print_why(console: Console, grading: Grading) -> None:
    if grading.says and len(grading.candidates) <= MOST:
        console.print(say(grading.says))
    if grading.because and grading.because not in grading.says:
        console.print(say(grading.because))
    if grading.rule:
        sure = f", {grading.confidence}" if grading.confidence else ""
        console.print(say(f"Rule {grading.rule} ({grading.source or 'no source'}{sure})", "dim"))
    if grading.price is not None:
        console.print(say(_paid(grading.price)))


def _print_candidates(console: Console, grading: Grading) -> None:
    if not grading.candidates:
        return
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("It can still be", ratio=1, overflow="fold")
    table.add_column("Low – likely – high", justify="right", no_wrap=True)
    table.add_column("Per", no_wrap=True)
    for candidate in grading.candidates[:MOST]:
        price = candidate.price
        paid = "-" if price is None else " – ".join(map(rate, (price.low, price.likely, price.high)))
        per = "" if price is None else f"{price.likely.currency}/{price.per}"
        table.add_row(say(f"{candidate.name} ({candidate.grade})"), paid, per)
    left = len(grading.candidates) - MOST
    if left > 0:
        table.add_row(say(f"and {left} more grades"), "", "")
    if grading.may_be_ungraded:
        table.add_row(say("or nothing that the rulebook has a grade for"), "", "")
    console.print(table)


def _print_test(console: Console, test: NextTest) -> None:
    console.print(say(f"Next: {how_to_test(test)}", "bold"))
    for choice, how in (test.choices or {}).items():
        console.print(say(f"  {test.attribute}={choice}: {how}"))
    if test.beware:
        console.print(say(f"  Beware: {test.beware}"))


def _paid(price: UnitPrice) -> str:
    amounts = " – ".join(map(rate, (price.low, price.likely, price.high)))
    sure = f" ({price.basis.says})" if price.basis is not None and price.basis.says else ""
    return f"{amounts} {price.likely.currency} per {price.per}{sure}"
