"""Whole lists of a yard: what they would change, and the list as a file."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from ._common import Amount, ReadsCurrency, Result, Whole
from ._files import File
from ._postings import HeldPrice


class ListFault(Result):
    """One thing wrong with a line, in a column or in the line as a whole."""

    column: str | None = None
    detail: str
    suggestions: tuple[str, ...] = ()


class NearName(Result):
    """What may have been meant by an unknown label: a `label` of the yard, or a `grade` by a name of it."""

    kind: str
    written: str
    grade: str


class PriceBefore(ReadsCurrency):
    """The price that stood there before, as posted in a line of a posting."""

    label: str | None = None
    price: Amount
    currency: str
    per: str
    from_weight: str | None = None
    observed_on: date
    posting: str
    line: int


class ListChange(ReadsCurrency):
    """A line of the list and what it changes: `change` is new, raised, lowered, same, refused or unknown, or
    gone for a price that the list does not have any more (its `line` is None).

    `line` is its number in the file. `by` is for the line's own unit, `percent` of the price before.
    `held`: why the price, once it is stored, waits instead of counting; None for one that counts.
    """

    line: int | None = None
    change: str
    label: str | None = None
    grade: str | None = None
    price: Amount | None = None
    currency: str | None = None
    per: str | None = None
    from_weight: str | None = None
    by: Amount | None = None
    percent: Decimal | None = None
    before: PriceBefore | None = None
    faults: tuple[ListFault, ...] = ()
    near: tuple[NearName, ...] = ()
    held: HeldPrice | None = None


class ListCounts(Result):
    """How many lines there are of each kind."""

    new: int = 0
    raised: int = 0
    lowered: int = 0
    same: int = 0
    gone: int = 0
    refused: int = 0
    unknown: int = 0


class ListCompared(Whole):
    """A list against the newest prices of its yard, as known at the revision `compared_with`.

    `posting` and `revision` are where it is stored; None after a dry run, which `can_be_stored` sums up.
    `held`: how many of its prices wait.
    """

    yard: str
    observed_on: date
    evidence: str
    note: str | None = None
    rulebook: str
    dry_run: bool
    can_be_stored: bool
    posting: str | None = None
    revision: int | None = None
    compared_with: int
    counts: ListCounts
    held: int = 0
    lines: tuple[ListChange, ...]


@dataclass(frozen=True, slots=True)
class ListFile(File):
    """A yard's list as a file, and the revision that it is known at."""
