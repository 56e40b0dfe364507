"""Hauls: which bins go to which yard."""

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
    from gradewright_sdk._models import Haul

_read = reads_kept(lambda: results.Haul, "haul-id")


def plan_haul(
    bins: Sequence[Mapping[str, object]] | None = None,
    *,
    valuation: str | None = None,
    region: str | None = None,
    yards: Sequence[str] | None = None,
    trip_cost: Decimal | int | str | None = None,
    stop_cost: Decimal | int | str | None = None,
    stop_cost_at: Mapping[str, Decimal | int | str] | None = None,
    pile_cost: Decimal | int | str | None = None,
    load: str | None = None,
    trips: int | None = None,
    hold_back: bool = False,
    lower: bool = True,
    estimates: bool = False,
    seconds: int | None = None,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    rulebook: str | None = None,
    keep: bool = False,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Haul]:
    """Which of up to 40 bins go to which of a region's yards, or of up to 12 `yards`, in which grade, on
    which trip, so that the most is left after the costs of each trip, each stop and each pile at a stop
    beyond the first. `stop_cost_at` has, by yard, what a stop there costs instead.

    Each of the `bins` has a `grade` and a `weight` with its unit, and may have a `name` (that of its grade
    where it has none), `lots` (into how many equal ones it may be taken apart) and `lower_to` (as which
    cheaper grades it may be sold; by itself those whose buyers commonly take it so, unless `lower` is False).
    Instead, a kept `valuation` stands for
    its piles. `load` is what a trip can carry; with `hold_back` what is not worth it stays; with `estimates`
    a yard without a price of its own is taken to pay the region's or the kin's. After as much work as
    `seconds` (5, at most 20) allow, the best found is answered with its gap, and the same again another
    time: `timeout` has to be longer.
    """
    body: dict[str, object] = {}
    if bins is not None:
        body["bins"] = _wire.to_wire([_named(one) for one in bins], "bins")
    given = {
        "valuation": valuation,
        "region": region,
        "yards": None if yards is None else list(yards),
        "load": load,
        "trips": trips,
        "seconds": seconds,
        "rulebook": rulebook,
        "hold_back": hold_back or None,
        "lower": None if lower else False,
        "estimates": estimates or None,
    }
    body |= {name: value for name, value in given.items() if value is not None}
    stops = {
        yard: _wire.amount_text(cost, f"stop_cost_at[{yard!r}]")
        for yard, cost in (stop_cost_at or {}).items()
    }
    of_all = {"trip": trip_cost, "stop": stop_cost, "pile": pile_cost, "stop_at": stops or None}
    costs = _wire.with_amounts(of_all, "costs")
    if costs:
        body["costs"] = costs
    if on is not None:
        body["on"] = _wire.day_text(on, "on")
    if known_at is not None:
        body["known_at"] = _wire.known_at_wire(known_at)
    body["keep"] = keep
    return Call(
        "POST",
        _wire.path("hauls"),
        _read,
        body=body,
        writes=keep,
        idempotency_key=new_key(idempotency_key) if keep else None,
        timeout=timeout,
    )


def _named(one: Mapping[str, object]) -> Mapping[str, object]:
    """A bin without a name is called as its grade is."""
    grade = one.get("grade")
    return one if one.get("name") is not None or grade is None else {**one, "name": grade}


def get_haul(id: str, *, timeout: float | None = None) -> Call[Haul]:
    """A kept haul, the same bytes as when it was made. Raises NotFound."""
    return Call("GET", _wire.path("hauls", id), _read, timeout=timeout)


def replay_haul(id: str, *, timeout: float | None = None) -> Call[Haul]:
    """A kept haul worked out afresh from its plan and pins: its `raw` is the same bytes. Raises NotFound."""
    return Call("POST", _wire.path("hauls", id, "replay"), _read, timeout=timeout)


class Hauls(Resource):
    """Hauls: which bins go to which yard."""

    plan = sync(plan_haul)
    get = sync(get_haul)
    replay = sync(replay_haul)


class AsyncHauls(AsyncResource):
    """Hauls: which bins go to which yard."""

    plan = asynchronous(plan_haul)
    get = asynchronous(get_haul)
    replay = asynchronous(replay_haul)
