"""What a settlement comes to, in sentences for people."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from gradewright.core.effects import Effects
from gradewright.core.settlement import Group
from gradewright.core.ticket import Flaw
from gradewright.core.units import show_mass

ZERO_IS_EXPECTED = frozenset({"1"})
"""The methods by which bins without a price were told as if nothing had been expected of them."""

Money = Callable[[int], str]
"""Minor units as text, without a sign of the currency."""

AS_EXPECTED = "Paid as expected."
CANNOT_BE_TOLD = "whether that was paid right cannot be told"
NAMES = {
    "weight": "weight",
    "deductions": "deductions",
    "grade": "grade",
    "price": "price",
    "grade_or_price": "grade or price, which cannot be told apart",
    "missing": "bins that are not on the ticket",
    "unexpected": "lines that stand for no bin",
    "unpriced": "bins that had no price",
    "rounding": "rounding",
    "arithmetic": "faults in the ticket's own sums",
}


def in_all(effects: Effects, difference: int, money: Money, currency: str) -> str:
    """The difference, and what it is made of, the largest part first."""
    parts = [(amount, NAMES[name]) for name, amount in effects.named().items() if amount]
    told = sorted(parts, key=lambda part: -abs(part[0]))
    made_of = ", ".join(f"{money(amount)} {name}" for amount, name in told)
    if not difference:
        return f"Paid as expected: {made_of}." if told else AS_EXPECTED
    more = "more" if difference > 0 else "less"
    return f"Paid {money(abs(difference))} {currency} {more} than expected: {made_of}."


def of_group(group: Group, unpriced: Sequence[str], money: Money, currency: str) -> str:
    """What became of some bins; `unpriced`: the names of those of which no price was expected."""
    if not unpriced:
        return in_all(group.effects, group.paid - group.expected, money, currency)
    if not group.linked.lines:
        return f"It is not on the ticket, and no price was expected: {CANNOT_BE_TOLD}."
    of = f" of {' and '.join(unpriced)}" if len(group.linked.bins) > 1 else ""
    return f"Paid {money(group.paid)} {currency}. No price was expected{of}: {CANNOT_BE_TOLD}."


def with_unpriced(says: str, unpriced: Sequence[str]) -> str:
    """The sentence on all of a ticket, with what it does not speak of."""
    if not unpriced:
        return says
    if says == AS_EXPECTED:
        says = "Where a price was expected, paid as expected."
    return f"{says} No price was expected of {' and '.join(unpriced)}: {CANNOT_BE_TOLD}."


def of_flaw(flaw: Flaw, money: Money) -> str:
    """What does not add up, and by how much."""
    stated, right = (
        (show_mass(flaw.stated), show_mass(flaw.right))
        if flaw.about == "net"
        else (money(int(flaw.stated)), money(int(flaw.right)))
    )
    if flaw.about == "net":
        return f"Line {flaw.line}: the net weight is {stated}; gross less what is taken off is {right}."
    if flaw.about == "amount":
        rule = (
            f" It would be right if rounded {flaw.rule.value}, which this yard does not." if flaw.rule else ""
        )
        return f"Line {flaw.line}: net times price is {right}, and the ticket says {stated}.{rule}"
    if flaw.about == "total":
        return f"The amounts less the charges are {right}, and the total says {stated}."
    return f"In the steps that this yard pays in cash the total is {right}; {stated} were paid."


def named_lines(lines: Sequence[int]) -> str:
    """Lines by their numbers; they are given by their places, from 0."""
    numbers = [str(line + 1) for line in lines]
    if len(numbers) == 1:
        return f"line {numbers[0]}"
    return f"lines {', '.join(numbers[:-1])} and {numbers[-1]}"
