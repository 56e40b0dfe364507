"""Costs as they are written: "5" for the whole, "0.30 per kg" for a unit of mass, or 0.30/kg."""

from __future__ import annotations

from typing import NamedTuple


class Cost(NamedTuple):
    """An amount, and what it is for; None where it is for the whole."""

    amount: str
    per: str | None


def cost(text: str) -> Cost | None:
    """What a text says; None where it does not begin with an amount, or names no unit behind "per"."""
    amount, sign, unit = (part.strip() for part in f" {text} ".replace("/", " per ").partition(" per "))
    if not amount or not (amount[0].isdigit() or amount[0] in "-.") or bool(sign) != bool(unit):
        return None
    return Cost(amount, unit or None)


def charge_or_grade(text: str) -> dict[str, str]:
    """What becomes of a rest: a grade, or a charge for the device or for a unit of mass."""
    told = cost(text)
    if told is None:
        return {"grade": text.strip()}
    return {"charge": told.amount, **({"per": told.per} if told.per else {})}
