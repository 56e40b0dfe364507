"""Price lists and their history."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import AsyncResource, Call, Resource, asynchronous, sync
from gradewright_sdk._reading import reads

if TYPE_CHECKING:
    from gradewright_sdk._models import PriceList, Series


def _day(value: date | str | None, name: str) -> str | None:
    return None if value is None else _wire.day_text(value, name)


def list_prices(
    *,
    region: str | None = None,
    yard: str | None = None,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    weight: str | None = None,
    grade: str | None = None,
    timeout: float | None = None,
) -> Call[PriceList]:
    """The price list of a region or a yard, on a day (today), as known at a revision or an instant (now).

    `weight` ("150 lb") prices a lot of that weight, `grade` asks for one grade alone.
    """
    query = _wire.query(
        **_wire.place_params(region, yard),
        on=_day(on, "on"),
        known_at=None if known_at is None else _wire.known_at_wire(known_at),
        weight=weight,
        grade=grade,
    )
    return Call("GET", _wire.path("prices"), reads(lambda: results.PriceList), query=query, timeout=timeout)


def price_series(
    region: str,
    grade: str,
    *,
    from_: date | str | None = None,
    to: date | str | None = None,
    step: str | None = None,
    known_at: int | datetime | str | None = None,
    timeout: float | None = None,
) -> Call[Series]:
    """A grade's price in a region over time. `step` is day, week or month; at most 400 points."""
    query = _wire.query(
        from_=_day(from_, "from_"),
        to=_day(to, "to"),
        step=step,
        known_at=None if known_at is None else _wire.known_at_wire(known_at),
    )
    return Call(
        "GET",
        _wire.path("prices", region, grade, "series"),
        reads(lambda: results.Series),
        query=query,
        timeout=timeout,
    )


class Prices(Resource):
    """Price lists and their history."""

    list = sync(list_prices)
    series = sync(price_series)


class AsyncPrices(AsyncResource):
    """Price lists and their history."""

    list = asynchronous(list_prices)
    series = asynchronous(price_series)
