"""Amounts of money as they are written in answers: digits with the places of the currency."""

from __future__ import annotations

from functools import cache

from gradewright.core.money import minor_per_unit
from gradewright.core.rates import Amount

Cents = tuple[str, ...]


@cache
def cents_of(currency: str) -> Cents:
    """How what is less than one of the currency is written, by its minor units: ".00" to ".99" for USD."""
    minor = minor_per_unit(currency)
    places = len(str(minor)) - 1
    return tuple(f".{part:0{places}d}" for part in range(minor)) if places else ("",)


def spelled(amount: int, cents: Cents) -> str:
    """So many minor units as decimal text: 335 of USD is "3.35"."""
    if amount < 0:
        return f"-{spelled(-amount, cents)}"
    return f"{amount // len(cents)}{cents[amount % len(cents)]}"


def amount_shown(amount: Amount, cents: Cents) -> dict[str, str]:
    """An amount as plain values."""
    low, likely, high = amount
    return {"low": spelled(low, cents), "likely": spelled(likely, cents), "high": spelled(high, cents)}


def amount_text(amount: Amount | None, cents: Cents) -> str:
    """The same as canonical JSON. Every line has one, so the usual case is written out."""
    if amount is None:
        return "null"
    low, likely, high = amount
    unit = len(cents)
    if low < 0 or likely < 0 or high < 0:
        low_text, likely_text, high_text = (spelled(each, cents) for each in amount)
        return f'{{"high":"{high_text}","likely":"{likely_text}","low":"{low_text}"}}'
    return (
        f'{{"high":"{high // unit}{cents[high % unit]}","likely":"{likely // unit}{cents[likely % unit]}",'
        f'"low":"{low // unit}{cents[low % unit]}"}}'
    )
