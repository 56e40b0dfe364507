"""What kinds of device are made of, from what people found in theirs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import AsyncResource, Call, Resource, asynchronous, new_key, sync
from gradewright_sdk._inputs import Part, as_mapping
from gradewright_sdk._reading import reads, reads_list

if TYPE_CHECKING:
    from gradewright_sdk._models import (
        Composition,
        CompositionRecorded,
        CompositionWithdrawn,
        DeviceKind,
        DeviceKindCorrected,
        DeviceRecords,
    )


def list_kinds(
    *, known_at: int | datetime | str | None = None, timeout: float | None = None
) -> Call[tuple[DeviceKind, ...]]:
    """All kinds of device of which something is known, by slug."""
    known = None if known_at is None else _wire.known_at_wire(known_at)
    read = reads_list(lambda: results.DeviceKind, "kinds")
    return Call("GET", _wire.path("compositions"), read, query=_wire.query(known_at=known), timeout=timeout)


def get_composition(
    kind: str,
    *,
    weight: str | None = None,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    timeout: float | None = None,
) -> Call[Composition]:
    """What a kind of device usually consists of: median and quartiles of each grade's share and weight and of
    the minutes. Scaled to a device of `weight` ("70 kg"); from records of the day `on` (today) or before, as
    known at a revision or an instant (now). Raises UnknownDeviceKind.
    """
    asked = _wire.query(
        weight=weight,
        on=None if on is None else _wire.day_text(on, "on"),
        known_at=None if known_at is None else _wire.known_at_wire(known_at),
    )
    read = reads(lambda: results.Composition)
    return Call("GET", _wire.path("compositions", kind), read, query=asked, timeout=timeout)


def list_records(
    kind: str,
    *,
    known_at: int | datetime | str | None = None,
    limit: int | None = None,
    cursor: str | None = None,
    timeout: float | None = None,
) -> Call[DeviceRecords]:
    """The records of a kind, newest first, also those that were taken back; `next` is the cursor of the page
    after this one. Raises UnknownDeviceKind.
    """
    known = None if known_at is None else _wire.known_at_wire(known_at)
    return Call(
        "GET",
        _wire.path("compositions", kind, "records"),
        reads(lambda: results.DeviceRecords),
        query=_wire.query(known_at=known, limit=limit, cursor=cursor),
        timeout=timeout,
    )


def record(
    kind: str,
    parts: Sequence[Part | Mapping[str, object]],
    *,
    on: date | str,
    weight: str | None = None,
    minutes: Decimal | int | str | None = None,
    made_year: int | None = None,
    model: str | None = None,
    region: str | None = None,
    source: str | None = None,
    from_memory: bool = False,
    note: str | None = None,
    new_kind: Mapping[str, str] | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[CompositionRecorded]:
    """Record what came out of one device (members): its `parts`, of each the grade or what was observed, and
    its weight (names of parts are left out); what is not named is its rest. `weight`: of the whole device,
    `minutes`: of all the work, `on`: the day.

    The first record of a kind brings it along: `new_kind={"name": "Treadmill", "grade": "appliances-whole"}`,
    the grade being that in which it is usually sold whole. `source`: a publication that tells it, if it is
    not your own work. Raises UnknownDeviceKind, or InvalidRequest with every fault.
    """
    body: dict[str, Any] = {
        "kind": kind,
        "on": _wire.day_text(on, "on"),
        "weight": weight,
        "minutes": str(minutes) if isinstance(minutes, int) else minutes,
        "made_year": made_year,
        "model": model,
        "region": region,
        "source": source,
        "from_memory": from_memory,
        "note": note,
        "new_kind": new_kind,
        "parts": [{k: v for k, v in as_mapping(part).items() if k != "name"} for part in parts],
    }
    return Call(
        "POST",
        _wire.path("compositions"),
        reads(lambda: results.CompositionRecorded),
        body=body,
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


def correct_kind(
    kind: str,
    *,
    name: str,
    grade: str | None = None,
    reason: str,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[DeviceKindCorrected]:
    """Tell a kind otherwise from here on (maintainers): what it is called, and the `grade` in which it is
    usually sold whole, None where in none. Raises NotFound, UnknownGrade, and Conflict where it is told so
    already.
    """
    return Call(
        "POST",
        _wire.path("compositions", kind, "correction"),
        reads(lambda: results.DeviceKindCorrected),
        body={"name": name, "grade": grade, "reason": reason},
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


def withdraw_record(
    kind: str,
    record: str,
    *,
    reason: str,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[CompositionWithdrawn]:
    """Take a record back, by its id (whoever made it, and maintainers). It counts no more from here on."""
    return Call(
        "POST",
        _wire.path("compositions", kind, "records", record, "withdrawal"),
        reads(lambda: results.CompositionWithdrawn),
        body={"reason": reason},
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


class Compositions(Resource):
    """What kinds of device are made of."""

    kinds = sync(list_kinds)
    get = sync(get_composition)
    records = sync(list_records)
    record = sync(record)
    correct = sync(correct_kind)
    withdraw = sync(withdraw_record)


class AsyncCompositions(AsyncResource):
    """What kinds of device are made of."""

    kinds = asynchronous(list_kinds)
    get = asynchronous(get_composition)
    records = asynchronous(list_records)
    record = asynchronous(record)
    correct = asynchronous(correct_kind)
    withdraw = asynchronous(withdraw_record)
