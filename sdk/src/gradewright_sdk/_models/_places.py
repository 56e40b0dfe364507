"""Regions, yards and what was posted there."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from pydantic import AwareDatetime, Field

from ._common import Amount, InCurrency, Result, Whole


class Region(Whole):
    """Where prices are compared. `unit` is the mass unit usual there. `revision` only just after it was
    made.
    """

    code: str
    name: str
    parent: str | None = None
    currency: str
    unit: str
    revision: int | None = None


class Label(Result):
    """A yard's own word for a grade, from a day on."""

    label: str
    grade: str
    from_: date | None = Field(default=None, alias="from")


class Yard(Whole):
    """A buyer with a scale. `refuses` are the grades it does not take. `cash_increment`: what cash is rounded
    to.
    """

    slug: str
    name: str
    region: str
    currency: str
    unit: str
    rounding: str | None = None
    cash_increment: Decimal | None = None
    labels: tuple[Label, ...] = ()
    refuses: tuple[str, ...] = ()
    revision: int | None = None


class PostedPrice(InCurrency):
    """One price as it was posted: money per mass unit `per`, from the weight `from_weight` on if it says
    one.
    """

    line: int
    grade: str
    label: str | None = None
    price: Amount
    per: str
    from_weight: str | None = None


class Posting(Whole):
    """Prices that someone saw at one yard on one day. `recorded_at` is when the service took it in."""

    id: str
    revision: int
    yard: str
    observed_on: date
    evidence: str
    author: str
    recorded_at: AwareDatetime
    note: str | None = None
    prices: tuple[PostedPrice, ...]


class Readiness(Whole):
    """What the service has: the ledger's newest revision and the rulebook versions loaded."""

    status: str
    revision: int
    rulebooks: tuple[str, ...] = ()
