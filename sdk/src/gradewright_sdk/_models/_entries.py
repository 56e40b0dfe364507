"""Entries of the ledger: typed by their kind, with the very bytes that were hashed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from pydantic import Field, PrivateAttr

from gradewright_sdk._base import Answer
from gradewright_sdk._models._common import Amount, InCurrency, Result, validated
from gradewright_sdk._problems import unexpected


class LedgerEntry(Result):
    """One entry of the ledger. Those of a kind that this package does not know have no other fields, but all
    their `members`.
    """

    number: int
    revision: int
    line: int
    kind: str
    recorded_at: datetime | None
    _raw: bytes = PrivateAttr(default=b"")

    @property
    def raw(self) -> bytes:
        """The canonical form (RFC 8785), byte for byte."""
        return self._raw

    @property
    def leaf(self) -> bytes:
        """The hash of its leaf in the tree over the ledger (RFC 6962)."""
        return hashlib.sha256(b"\0" + self._raw).digest()

    @property
    def members(self) -> dict[str, Any]:
        """Everything that it tells, by the names on the wire."""
        told: dict[str, Any] = json.loads(self._raw)
        return told

    @property
    def position(self) -> str:
        """Where it stands: kept once the entry is dealt with, it is the `after` to go on with."""
        return f"{self.revision}.{self.line}"


class PriceEntry(LedgerEntry, InCurrency):
    """A price as somebody said it, whether it counts or waits, or is taken back or overtaken later: what
    counts is in price lists. `price` is for one `per`, in lots from `from_weight` on.
    """

    posting: str
    yard: str
    author: str
    observed_on: date
    evidence: str
    note: str | None
    grade: str
    label: str | None
    price: Amount
    per: str
    from_weight: str | None


class WordEntry(LedgerEntry):
    """A later word about line `about` of a posting; `kind`: withdrawal, confirmation, dispute, decision."""

    posting: str
    about: int
    yard: str
    observed_on: date
    author: str
    verdict: str | None
    reason: str


class RegionEntry(LedgerEntry):
    """A region was made."""

    code: str
    name: str
    parent: str | None
    currency: str
    unit: str
    author: str | None


class YardEntry(LedgerEntry):
    """A yard was made."""

    slug: str
    name: str
    region: str
    currency: str
    unit: str
    rounding: str
    cash_increment: Decimal | None
    author: str | None


class _OfPlace(LedgerEntry):
    """A house rule, of a yard or of a region, from a day on."""

    yard: str | None = None
    region: str | None = None
    from_: date = Field(alias="from")
    author: str | None
    reason: str | None

    @property
    def place(self) -> str:
        """The yard's slug or the region's code."""
        return self.yard or self.region or ""


class LabelEntry(_OfPlace):
    """A place's own word for a grade; `lifted`: it means nothing any more."""

    label: str
    folded: str
    grade: str | None
    lifted: bool | None


class RefusalEntry(_OfPlace):
    """A grade that a place does not take; `lifted`: takes again."""

    grade: str
    lifted: bool | None


class LimitEntry(_OfPlace):
    """A place's own value of a limit; None: that of the rulebook again."""

    limit: str
    value: str | None
    says: str | None


class BenchmarkEntry(LedgerEntry):
    """A benchmark was made."""

    slug: str
    name: str
    currency: str | None
    unit: str | None
    source: str
    author: str | None


class ReadingEntry(LedgerEntry):
    """A benchmark's value of a day was recorded."""

    benchmark: str
    date: date
    value: Decimal
    author: str | None


class DeviceKindEntry(LedgerEntry):
    """A kind of device was made."""

    slug: str
    name: str
    grade: str | None
    author: str | None


class DeviceKindCorrectionEntry(LedgerEntry):
    """A kind of device is called, and usually sold whole as, something else from here on."""

    device_kind: str
    name: str
    grade: str | None
    author: str
    reason: str


class CompositionEntry(LedgerEntry):
    """A device was recorded."""

    composition: str
    device_kind: str
    taken_on: date
    weight: str | None
    made_year: int | None
    model: str | None
    minutes: Decimal | None
    region: str | None
    source: str | None
    from_memory: bool
    note: str | None
    rulebook: str
    author: str | None


class ComponentEntry(LedgerEntry):
    """All of one sort that came out of a recorded device; `observed` is JSON as text."""

    composition: str
    part: int
    grade: str
    weight: str | None
    share: str | None
    count: int | None
    observed: str | None
    says: str | None


class CompositionWithdrawalEntry(LedgerEntry):
    """A record of a device was taken back."""

    composition: str
    author: str
    reason: str


class RulebookEntry(LedgerEntry):
    """A version of the rulebook was published."""

    version: str
    effective_from: date
    sha256: str


KINDS: Mapping[str, type[LedgerEntry]] = {
    "price": PriceEntry,
    **dict.fromkeys(("withdrawal", "confirmation", "dispute", "decision"), WordEntry),
    "region": RegionEntry,
    "yard": YardEntry,
    "label": LabelEntry,
    "refusal": RefusalEntry,
    "limit": LimitEntry,
    "benchmark": BenchmarkEntry,
    "reading": ReadingEntry,
    "device_kind": DeviceKindEntry,
    "device_kind_correction": DeviceKindCorrectionEntry,
    "composition": CompositionEntry,
    "component": ComponentEntry,
    "composition_withdrawal": CompositionWithdrawalEntry,
    "rulebook": RulebookEntry,
}


def read_entries(answer: Answer) -> tuple[LedgerEntry, ...]:
    """The entries of an answer in JSON Lines."""
    kind = answer.headers.get("content-type", "").partition(";")[0].strip()
    if kind != "application/x-ndjson":
        raise unexpected(answer, f"it is {kind or 'of no type'}, not application/x-ndjson")
    return tuple(_read(line, answer) for line in answer.content.splitlines())


def _read(line: bytes, answer: Answer) -> LedgerEntry:
    try:
        data = json.loads(line)
    except (ValueError, RecursionError) as error:
        raise unexpected(answer, "it has a line that is not JSON") from error
    kind = data.get("kind") if isinstance(data, dict) else None
    entry = validated(KINDS.get(str(kind), LedgerEntry), data, answer)
    entry._raw = line
    return entry
