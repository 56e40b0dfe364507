"""What is to be settled, in the words of the request; and back again from what was kept of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from gradewright.answers.pins import Pins
from gradewright.db.knowing import KnownAt


@dataclass(frozen=True, slots=True)
class LineGiven:
    """One line of a ticket: weights and units as written."""

    label: str
    net: str
    price: Decimal
    amount: Decimal
    per: str | None = None
    grade: str | None = None
    gross: str | None = None
    tare: str | None = None
    deduction: str | None = None


@dataclass(frozen=True, slots=True)
class ChargeGiven:
    """Something that was taken off besides weights."""

    label: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class TicketGiven:
    """A ticket as it was handed out."""

    on: date
    lines: tuple[LineGiven, ...]
    total: Decimal
    number: str | None = None
    charges: tuple[ChargeGiven, ...] = ()
    cash: Decimal | None = None


@dataclass(frozen=True, slots=True)
class BinGiven:
    """What was brought, and at which price it was expected to sell, if not at the list's."""

    grade: str
    weight: str
    price: Decimal | None = None
    per: str | None = None


@dataclass(frozen=True, slots=True)
class MatchGiven:
    """That a line (from 1) stands for a bin, or for the bin that a part of the valuation is in."""

    line: int
    bin: str | None = None
    part: str | None = None


@dataclass(frozen=True, slots=True)
class Request:
    """A ticket, and what it is held against: a kept valuation, or bins."""

    yard: str
    ticket: TicketGiven
    valuation: str | None = None
    bins: tuple[BinGiven, ...] = ()
    matches: tuple[MatchGiven, ...] = ()
    known_at: KnownAt = field(default=None, compare=False)
    rulebook: str | None = None


def as_asked(request: Request) -> dict[str, Any]:
    """What is kept of a request; its pins say as known when, and by which version."""
    return {name: value for name, value in asdict(request).items() if name not in {"known_at", "rulebook"}}


def asked_again(asked: Mapping[str, Any], pins: Pins) -> Request:
    """The kept request, with its pins in it."""
    ticket = asked["ticket"]
    return Request(
        yard=asked["yard"],
        ticket=TicketGiven(
            on=date.fromisoformat(ticket["on"]),
            lines=tuple(LineGiven(**_exact(line, "price", "amount")) for line in ticket["lines"]),
            total=Decimal(ticket["total"]),
            number=ticket["number"],
            charges=tuple(ChargeGiven(**_exact(charge, "amount")) for charge in ticket["charges"]),
            cash=None if ticket["cash"] is None else Decimal(ticket["cash"]),
        ),
        valuation=asked["valuation"],
        bins=tuple(BinGiven(**_exact(each, "price")) for each in asked["bins"]),
        matches=tuple(MatchGiven(**match) for match in asked["matches"]),
        known_at=pins.revision,
        # A valuation brings its version with it.
        rulebook=None if asked["valuation"] is not None else pins.rulebook,
    )


def _exact(given: Mapping[str, Any], *names: str) -> dict[str, Any]:
    return {**given, **{name: Decimal(given[name]) for name in names if given[name] is not None}}
