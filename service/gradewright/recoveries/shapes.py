"""Pieces of answers that the kinds of recovery share: ranges, grades with their prices."""

from __future__ import annotations

from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction
from math import floor
from typing import Any

from gradewright.core.decimals import EXACT, plain, trimmed
from gradewright.core.grading import Contradiction, Graded, Grader, Outcome, Undecided
from gradewright.core.money import minor_as_decimal
from gradewright.core.pricelist import PriceList, Shown
from gradewright.core.recovery.assay import Ends
from gradewright.core.recovery.measured import Range, rounded
from gradewright.valuations.lines import outcome_name

HUNDRED = Decimal(100)
Triple = tuple[Decimal, Decimal, Decimal]


def percent(share: Decimal) -> str:
    """A fraction of one in percent."""
    return f"{trimmed(EXACT.multiply(share, HUNDRED))} %"


def in_percent(shares: Triple) -> dict[str, str]:
    """Low, likely and high as shares in percent."""
    low, likely, high = shares
    return {"low": percent(low), "likely": percent(likely), "high": percent(high)}


def figures(value: Range, places: int) -> dict[str, str]:
    """Low, likely and high as decimals, each rounded to the nearer."""
    return {
        "low": plain(rounded(value.low, places)),
        "likely": plain(rounded(value.likely, places)),
        "high": plain(rounded(value.high, places)),
    }


def money(value: Range, currency: str) -> dict[str, str]:
    """Minor units as amounts, each rounded half to even."""
    return {
        "low": one_amount(value.low, currency),
        "likely": one_amount(value.likely, currency),
        "high": one_amount(value.high, currency),
    }


def at_most(value: Range, currency: str) -> dict[str, str]:
    """The same, each rounded down: none is more than it is."""
    return money(Range(*(Fraction(floor(end)) for end in (value.low, value.likely, value.high))), currency)


def one_amount(value: Fraction, currency: str) -> str:
    """So many minor units as an amount, rounded half to even."""
    return plain(minor_as_decimal(round(value), currency))


def ends(value: Ends, places: int) -> dict[str, str]:
    """The two ends as decimals."""
    return {"low": plain(rounded(value.low, places)), "high": plain(rounded(value.high, places))}


def ends_of_money(value: Ends, currency: str) -> dict[str, str]:
    """The two ends as amounts."""
    return {"low": one_amount(value.low, currency), "high": one_amount(value.high, currency)}


def minutes(value: Fraction) -> str:
    """Minutes to a hundredth, rounded down: what is told to pay still pays."""
    return trimmed(rounded(value, 2, ROUND_FLOOR))


def grades_left(outcome: Outcome) -> tuple[str, ...]:
    """The grades that it may be."""
    if isinstance(outcome, Graded):
        return (outcome.grade,)
    return outcome.candidates if isinstance(outcome, Undecided) else ()


def graded(grader: Grader, outcome: Outcome, prices: PriceList | None) -> dict[str, Any]:
    """An outcome with the grades that it leaves, and their prices where a place was named."""
    book = grader.rulebook
    one = outcome if isinstance(outcome, Graded) else None
    because = one.rule.because if one else None
    if isinstance(outcome, Contradiction):
        because = " ".join(entry.because for entry in outcome.impossible)
    return {
        "outcome": outcome_name(outcome),
        "grade": one.grade if one else None,
        "because": because,
        "candidates": [
            {"grade": grade, "name": book.grades[grade].name, "price": _price(prices, grade)}
            for grade in grades_left(outcome)
        ],
        "may_be_ungraded": isinstance(outcome, Undecided) and outcome.may_be_ungraded,
    }


def _price(prices: PriceList | None, grade: str) -> Shown | None:
    found = None if prices is None else prices.price(grade)
    return None if found is None else found.shown
