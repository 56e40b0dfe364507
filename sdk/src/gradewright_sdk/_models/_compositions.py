"""Kinds of device: what they usually consist of, and the records that this rests on."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from ._common import Result, Whole
from ._rulebooks import Caution


class Likely(Result):
    """Low, likely and high of a figure that is no money."""

    low: Decimal
    likely: Decimal
    high: Decimal


class DeviceKind(Result):
    """A kind of device; `grade`: in which it is usually sold whole. `records` of so many `voices` count;
    `published`: from publications alone, on what such devices are made of.
    """

    kind: str
    name: str
    grade: str | None = None
    records: int
    voices: int
    published: bool
    weight_kg: Likely | None = None
    minutes: Likely | None = None


class TypicalPart(Result):
    """One grade of a kind of device: its `share` of the whole (of one), its weight, its number of `pieces`,
    and in how many records it was `found`.
    """

    grade: str
    name: str | None = None
    share: Likely | None = None
    weight_kg: Likely | None = None
    pieces: Likely | None = None
    found: int


class CompositionRest(Result):
    """What nobody named."""

    share: Likely | None = None
    weight_kg: Likely | None = None


class SharesRestOn(Result):
    """What shares are of: the records that tell the weight of the whole device, of so many `voices`."""

    records: int
    voices: int
    says: str


class Composition(DeviceKind, Whole):
    """What a kind of device usually consists of. `weight` is that asked for, to which the parts are scaled;
    `weight_kg` what recorded devices weigh. `says`: what to know of it, in sentences.
    """

    on: date
    known_at: int
    rulebook: str
    weight: str | None = None
    parts: tuple[TypicalPart, ...] = ()
    rest: CompositionRest | None = None
    shares_rest_on: SharesRestOn | None = None
    says: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()


class RecordedPart(Result):
    """All of one sort that came out of a device."""

    grade: str
    weight: str | None = None
    share: str | None = None
    count: int | None = None
    observed: dict[str, Any] | None = None
    says: str | None = None


class RecordWithdrawn(Result):
    """When a record was taken back, and why."""

    revision: int
    reason: str


class DeviceRecord(Result):
    """One device as it was recorded. `source`: the publication that tells it. Without `author`: loaded."""

    id: str
    kind: str
    on: date
    weight: str | None = None
    made_year: int | None = None
    model: str | None = None
    minutes: Decimal | None = None
    region: str | None = None
    source: str | None = None
    from_memory: bool = False
    note: str | None = None
    rulebook: str
    author: str | None = None
    revision: int
    parts: tuple[RecordedPart, ...] = ()
    withdrawn: RecordWithdrawn | None = None


class DeviceRecords(Whole):
    """A page of records, newest first; `next` is the cursor of the next one."""

    known_at: int
    records: tuple[DeviceRecord, ...] = ()
    next: str | None = None


class CompositionRecorded(Whole):
    """A record that was stored. `unusual`: what to look at again, a sentence each, and whether it counts."""

    id: str
    kind: str
    revision: int
    unusual: tuple[str, ...] = ()


class DeviceKindCorrected(Whole):
    """What a kind of device is called and sold whole as, from a revision on."""

    kind: str
    name: str
    grade: str | None
    revision: int
    reason: str


class CompositionWithdrawn(Whole):
    """A record that was taken back."""

    id: str
    revision: int
    reason: str
