"""What is asked of a teardown, in the words of the request: weights as written, grades by any name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from gradewright.db.knowing import KnownAt

PIECE_BY_PIECE = "piece-by-piece"
ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class SpanGiven:
    """A weight that is known from low to high."""

    low: str
    likely: str
    high: str


WeightGiven = str | SpanGiven


@dataclass(frozen=True, slots=True)
class LeftGiven:
    """What is left over of one piece: a grade, or a charge for a piece or for a unit of mass (`per`)."""

    name: str | None = None
    weight: WeightGiven | None = None
    grade: str | None = None
    charge: Decimal | None = None
    per: str | None = None


@dataclass(frozen=True, slots=True)
class OpeningGiven:
    """How one piece is opened; `how`: all-at-once or piece-by-piece."""

    how: str
    minutes: Decimal = ZERO
    cost: Decimal = ZERO
    cautions: tuple[str, ...] = ()
    leftover: LeftGiven | None = None


@dataclass(frozen=True, slots=True)
class NodeGiven:
    """A part, or several alike, and what is inside of one of them; `minutes`: to take one off.

    `kind`: of device, whose usual parts stand in for those in it that were not weighed.
    """

    name: str
    count: int = 1
    weight: WeightGiven | None = None
    weight_each: WeightGiven | None = None
    observed: Mapping[str, Any] | None = None
    grade: str | None = None
    minutes: Decimal | None = None
    must_come_off: bool = False
    cautions: tuple[str, ...] = ()
    opens: OpeningGiven | None = None
    parts: tuple[NodeGiven, ...] = ()
    kind: str | None = None


@dataclass(frozen=True, slots=True)
class ListedGiven(NodeGiven):
    """A part in a list; `within`: the place, from 0, of the one that it is inside of, None for the device."""

    within: int | None = None


@dataclass(frozen=True, slots=True)
class KindGiven:
    """A device of a kind that nobody has opened yet: what is usual for the kind stands in for its parts.

    `grade`: what it is sold as whole, `minutes`: to take it apart; where that is not what the kind says.
    `leftover`: what becomes of what no record names. `count`: how many weigh that together; None: nobody
    said, and it is one.
    """

    kind: str
    weight: WeightGiven
    grade: str | None = None
    minutes: Decimal | None = None
    leftover: LeftGiven | None = None
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Request:
    """A device, as a tree, as a list of `parts`, or as one of a kind (`usual`); where, and what an hour is
    worth; `None`: the newest, or today.

    `lots`: by grade, the weight of the lot that it is sold in, with what else is there.
    """

    device: NodeGiven | None = None
    parts: tuple[ListedGiven, ...] = ()
    usual: KindGiven | None = None
    hour_rate: Decimal = ZERO
    weighing_minutes: Decimal = Decimal(1)
    lots: Mapping[str, str] = field(default_factory=dict)
    region: str | None = None
    yard: str | None = None
    on: date | None = None
    known_at: KnownAt = None
    rulebook: str | None = None
