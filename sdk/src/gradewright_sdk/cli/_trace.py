"""Why rules hold or do not: those that matter one by one, the many others counted by their reason."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from gradewright_sdk.cli._layout import hanging
from gradewright_sdk.cli._show import say

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import TraceStep

FEW = 10  # rules that do not hold, up to which each is told
MOST_REASONS = 5
HOLDS = {True: "holds", False: "does not hold", None: "open"}


def print_trace(console: Console, trace: Sequence[TraceStep]) -> None:
    """The rules that hold or could still hold; before them those that do not, each if they are few."""
    against = [step for step in trace if step.holds is False]
    each = len(against) <= FEW
    if not each:
        console.print(say(f"{len(against)} rules do not hold (--json has each):", "dim"))
        reasons = Counter(map(_reason, against)).most_common()
        lines = [(f"  {count}", reason) for reason, count in reasons[:MOST_REASONS]]
        others = sum(count for _, count in reasons[MOST_REASONS:])
        if others:
            lines.append((f"  {others}", "for other reasons"))
        console.print(hanging((say(count, "dim"), say(reason, "dim")) for count, reason in lines))
    for step in trace:
        if step.holds is not False or each:
            why = f": {step.why}" if step.why else ""
            console.print(say(f"  {step.rule} ({step.grade}) {HOLDS[step.holds]}{why}", "dim"))


def _reason(step: TraceStep) -> str:
    """What is known that rules are against, without what each of them asks: "metal is copper"."""
    known = (step.why or "no reason is given").partition(";")[0]
    attribute, cannot, _ = known.partition(" cannot be ")
    return f"{attribute} cannot be what they ask for, on a part like this" if cannot else known
