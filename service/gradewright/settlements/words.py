"""What a settlement comes to, in sentences for people."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields

from gradewright.core.settlement import Effects
from gradewright.core.ticket import Flaw
from gradewright.core.units import show_mass

Money = Callable[[int], str]
"""Minor units as text, without a sign of the currency."""

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
    parts = [(getattr(effects, each.name), NAMES[each.name]) for each in fields(effects)]
    told = sorted(((amount, name) for amount, name in parts if amount), key=lambda part: -abs(part[0]))
    made_of = ", ".join(f"{money(amount)} {name}" for amount, name in told)
    if not difference:
        return f"Paid as expected{f': {made_of}' if told else ''}."
    more = "more" if difference > 0 else "less"
    return f"Paid {money(abs(difference))} {currency} {more} than expected: {made_of}."


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
