"""Valuations: what a list of parts is worth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from gradewright_sdk import _wire
from gradewright_sdk._base import AsyncResource, Call, Resource, asynchronous, new_key, sync
from gradewright_sdk._inputs import Part, as_mapping
from gradewright_sdk._reading import reads_valuation

if TYPE_CHECKING:
    from gradewright_sdk._models import Valuation


def value_parts(
    parts: Part | Mapping[str, object] | Sequence[Part | Mapping[str, object]],
    *,
    region: str | None = None,
    yard: str | None = None,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    rulebook: str | None = None,
    hour_rate: Decimal | int | str | None = None,
    keep: bool = False,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Valuation]:
    """Value 1 to 1000 parts, or one by itself, at the prices of a region or a yard, on a day (today).

    `known_at` and `rulebook` pin what it rests on; the answer's `pins` say what it did rest on. With an
    `hour_rate` nothing is asked for that costs more time than it adds to that part on average. With `keep`
    the service stores it: the answer's `id` fetches and replays it.
    """
    body: dict[str, object] = dict(_wire.place_params(region, yard))
    if on is not None:
        body["on"] = _wire.day_text(on, "on")
    if known_at is not None:
        body["known_at"] = _wire.known_at_wire(known_at)
    if rulebook is not None:
        body["rulebook"] = rulebook
    if hour_rate is not None:
        body["hour_rate"] = _wire.amount_text(hour_rate, "hour_rate")
    body["keep"] = keep
    every = [parts] if isinstance(parts, Part | Mapping) else parts
    body["parts"] = _wire.to_wire([as_mapping(part) for part in every], "parts")
    return Call(
        "POST",
        _wire.path("valuations"),
        reads_valuation,
        body=body,
        writes=keep,
        idempotency_key=new_key(idempotency_key) if keep else None,
        timeout=timeout,
    )


def get_valuation(id: str, *, timeout: float | None = None) -> Call[Valuation]:
    """A kept valuation, the same bytes as when it was made. Raises NotFound."""
    return Call("GET", _wire.path("valuations", id), reads_valuation, timeout=timeout)


def replay_valuation(id: str, *, timeout: float | None = None) -> Call[Valuation]:
    """A kept valuation computed afresh from its request and pins: its `raw` is the same bytes. Raises
    NotFound.
    """
    return Call("POST", _wire.path("valuations", id, "replay"), reads_valuation, timeout=timeout)


class Valuations(Resource):
    """Valuations: what a list of parts is worth."""

    value = sync(value_parts)
    get = sync(get_valuation)
    replay = sync(replay_valuation)


class AsyncValuations(AsyncResource):
    """Valuations: what a list of parts is worth."""

    value = asynchronous(value_parts)
    get = asynchronous(get_valuation)
    replay = asynchronous(replay_valuation)
