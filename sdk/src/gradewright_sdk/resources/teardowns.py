"""Teardowns: whether to sell a device whole or to take it apart, and how far."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import AsyncResource, Call, Resource, asynchronous, new_key, sync
from gradewright_sdk._reading import reads_kept

if TYPE_CHECKING:
    from gradewright_sdk._models import Teardown

_read = reads_kept(lambda: results.Teardown, "teardown-id")


def plan_teardown(
    device: Mapping[str, object] | Sequence[Mapping[str, object]] | None = None,
    *,
    parts: Sequence[Mapping[str, object]] | None = None,
    hour_rate: Decimal | int | str,
    region: str | None = None,
    yard: str | None = None,
    lots: Mapping[str, str] | None = None,
    weighing_minutes: Decimal | int | str | None = None,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    rulebook: str | None = None,
    keep: bool = False,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Teardown]:
    """The plan that leaves the most of a device when an hour is worth `hour_rate` ("0" is allowed).

    A `device` is a part: a `name`, a `weight` (or `weight_each` of `count`) as text or as low, likely and
    high, a `grade` or what was `observed`, `opens` (`how`: "all-at-once" or "piece-by-piece", `minutes`,
    `cost`, `leftover`) and the `parts` that come out. Parts that come off one by one have `minutes`, and
    `must_come_off` where they may not stay on. `lots` names by grade the lot that it is sold in, with what
    else there is of it.

    What is large, or deeper than thirty parts in one another, is given as a list, instead or as `parts`: the
    device first, then each part behind the one that it is `within`, which is its place in the list from 0.
    """
    if (device is None) == (parts is None):
        raise ValueError("give device= or parts=, one of them")
    if device is not None and not isinstance(device, Mapping):
        device, parts = None, device
    what: dict[str, object] = {"device": _wire.with_amounts(device, "device")}
    if parts is not None:
        what = {"parts": _wire.with_amounts(parts, "parts")}
    place = _wire.place_params(region, yard)
    rest = (lots, weighing_minutes, on, known_at, rulebook, keep, idempotency_key, timeout)
    return _call(what, hour_rate, place, *rest)


def teardown_of(
    kind: str,
    weight: str | Mapping[str, str],
    *,
    count: int | None = None,
    hour_rate: Decimal | int | str = "0",
    grade: str | None = None,
    minutes: Decimal | int | str | None = None,
    leftover: Mapping[str, object] | None = None,
    region: str | None = None,
    yard: str | None = None,
    lots: Mapping[str, str] | None = None,
    weighing_minutes: Decimal | int | str | None = None,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    rulebook: str | None = None,
    keep: bool = False,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Teardown]:
    """Whether to open a device of a `kind` ("treadmill") and a `weight` ("70 kg") before anybody has: what
    was recorded of others of its kind stands in for its parts; `typical` says what that rests on.

    `count`: how many weigh that together; it has to be told of what weighs far more or less than those that
    were recorded. `grade`: what it is sold as whole, `minutes`: to take one apart, where you know better.
    `leftover`: what becomes of what no record names: a `grade`, or a `charge` for the device or `per` unit.
    `hour_rate`: what an hour is worth; "0" where your time is free.
    """
    what: dict[str, object] = {"kind": kind, "weight": _wire.to_wire(weight, "weight")}
    if count is not None:
        what["count"] = count
    if grade is not None:
        what["grade"] = grade
    if minutes is not None:
        what["minutes"] = _wire.amount_text(minutes, "minutes")
    if leftover is not None:
        what["leftover"] = _wire.with_amounts(leftover, "leftover")
    place = _wire.place_params(region, yard)
    rest = (lots, weighing_minutes, on, known_at, rulebook, keep, idempotency_key, timeout)
    return _call(what, hour_rate, place, *rest)


def get_teardown(id: str, *, timeout: float | None = None) -> Call[Teardown]:
    """A kept teardown, the same bytes as when it was made. Raises NotFound."""
    return Call("GET", _wire.path("teardowns", id), _read, timeout=timeout)


def replay_teardown(id: str, *, timeout: float | None = None) -> Call[Teardown]:
    """A kept teardown worked out afresh from its request and pins: its `raw` is the same bytes. Raises
    NotFound.
    """
    return Call("POST", _wire.path("teardowns", id, "replay"), _read, timeout=timeout)


def _call(
    what: Mapping[str, object],
    hour_rate: Decimal | int | str,
    place: Mapping[str, str],
    lots: Mapping[str, str] | None,
    weighing_minutes: Decimal | int | str | None,
    on: date | str | None,
    known_at: int | datetime | str | None,
    rulebook: str | None,
    keep: bool,
    idempotency_key: str | None,
    timeout: float | None,
) -> Call[Teardown]:
    body: dict[str, object] = {**place, **what, "hour_rate": _wire.amount_text(hour_rate, "hour_rate")}
    if lots:
        body["lots"] = _wire.to_wire(lots, "lots")
    if weighing_minutes is not None:
        body["weighing_minutes"] = _wire.amount_text(weighing_minutes, "weighing_minutes")
    if on is not None:
        body["on"] = _wire.day_text(on, "on")
    if known_at is not None:
        body["known_at"] = _wire.known_at_wire(known_at)
    if rulebook is not None:
        body["rulebook"] = rulebook
    body["keep"] = keep
    return Call(
        "POST",
        _wire.path("teardowns"),
        _read,
        body=body,
        writes=keep,
        idempotency_key=new_key(idempotency_key) if keep else None,
        timeout=timeout,
    )


class Teardowns(Resource):
    """Teardowns: whether to sell a device whole or to take it apart, and how far."""

    plan = sync(plan_teardown)
    of = sync(teardown_of)
    get = sync(get_teardown)
    replay = sync(replay_teardown)


class AsyncTeardowns(AsyncResource):
    """Teardowns: whether to sell a device whole or to take it apart, and how far."""

    plan = asynchronous(plan_teardown)
    of = asynchronous(teardown_of)
    get = asynchronous(get_teardown)
    replay = asynchronous(replay_teardown)
