"""How far one price was moved with its benchmark."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from gradewright.core.benchmarks import Reading
from gradewright.core.rates import Rate


@dataclass(frozen=True, slots=True)
class Movement:
    """From the benchmark's value when a price was seen to that of the day asked for.

    `share`: how much of the benchmark's move is passed on; `times`: what the price `seen` on
    a day was multiplied by.
    """

    benchmark: str
    share: Decimal
    before: Reading
    after: Reading
    times: Decimal
    seen: Rate
    seen_on: date


@dataclass(frozen=True, slots=True)
class Moves:
    """How many of a quote's entries moved, and with what; `likely`: how the likely price did, if it did."""

    benchmark: str
    share: Decimal
    entries: int
    likely: Movement | None
