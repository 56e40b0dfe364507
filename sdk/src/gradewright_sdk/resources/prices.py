"""Price lists and their history."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import Answer, AsyncResource, Call, Resource, asynchronous, sync
from gradewright_sdk._reading import reads

if TYPE_CHECKING:
    from gradewright_sdk._models import Backtest, PriceList, Series, SeriesFile

MEDIA = {"csv": "text/csv", "svg": "image/svg+xml"}


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
    grade: str,
    *,
    region: str | None = None,
    yard: str | None = None,
    from_: date | str | None = None,
    to: date | str | None = None,
    step: str | None = None,
    weight: str | None = None,
    known_at: int | datetime | str | None = None,
    timeout: float | None = None,
) -> Call[Series]:
    """A grade's price in a region, or at a yard, over time: from its own yards, each point by the rulebook of
    its day.

    The points are a day, week or month (`step`) apart and end on `to` (today); at most 400. `weight` ("150
    lb") prices a lot of that weight, `known_at` is a revision or an instant (now).
    """
    return Call(
        "GET",
        _of_place(grade, region, yard),
        reads(lambda: results.Series),
        query=_span(from_, to, step, weight, known_at),
        timeout=timeout,
    )


def price_series_csv(
    grade: str,
    *,
    region: str | None = None,
    yard: str | None = None,
    from_: date | str | None = None,
    to: date | str | None = None,
    step: str | None = None,
    weight: str | None = None,
    known_at: int | datetime | str | None = None,
    timeout: float | None = None,
) -> Call[SeriesFile]:
    """The same as a CSV file: `content` is its bytes, `text` the same as text, and it has a line a point."""
    path, query = _of_place(grade, region, yard), _span(from_, to, step, weight, known_at)
    return _file(path, query, "csv", timeout)


def price_chart(
    grade: str,
    *,
    region: str | None = None,
    yard: str | None = None,
    from_: date | str | None = None,
    to: date | str | None = None,
    step: str | None = None,
    weight: str | None = None,
    known_at: int | datetime | str | None = None,
    timeout: float | None = None,
) -> Call[SeriesFile]:
    """The same as a chart, drawn by the service: `content` is an SVG file, as wide as whatever shows it."""
    path, query = _of_place(grade, region, yard), _span(from_, to, step, weight, known_at)
    return _file(path, query, "svg", timeout)


def backtest(
    region: str,
    *,
    from_: date | str | None = None,
    to: date | str | None = None,
    grade: str | None = None,
    known_at: int | datetime | str | None = None,
    known_when: str | None = None,
    timeout: float | None = None,
) -> Call[Backtest]:
    """How well the prices seen in a region from one day to another (the last 28 days) would have been
    predicted from what was known at the end of the day before: by the price last posted at the yard, by the
    likely price, and by that with benchmarks. At most 10,000 prices; `grade` takes those of one grade.

    Known is what had been recorded by then. With `known_when` "seen" prices count as known from the day on
    which they were seen: for a history that was uploaded at once.
    """
    query = _wire.query(
        from_=_day(from_, "from_"),
        to=_day(to, "to"),
        grade=grade,
        known_at=None if known_at is None else _wire.known_at_wire(known_at),
        known_when=known_when,
    )
    path = _wire.path("prices", region, "backtest")
    return Call("GET", path, reads(lambda: results.Backtest), query=query, timeout=timeout)


def _of_place(grade: str, region: str | None, yard: str | None) -> str:
    place = _wire.place_params(region, yard)
    if "yard" in place:
        return _wire.path("yards", place["yard"], "prices", grade, "series")
    return _wire.path("prices", place["region"], grade, "series")


def _span(
    from_: date | str | None,
    to: date | str | None,
    step: str | None,
    weight: str | None,
    known_at: int | datetime | str | None,
) -> _wire.Query:
    return _wire.query(
        from_=_day(from_, "from_"),
        to=_day(to, "to"),
        step=step,
        weight=weight,
        known_at=None if known_at is None else _wire.known_at_wire(known_at),
    )


def _file(path: str, query: _wire.Query, format: str, timeout: float | None) -> Call[SeriesFile]:
    accept = f"{MEDIA[format]}, application/problem+json;q=0.1"
    query = (*query, ("format", format))
    return Call("GET", path, _read_file, query=query, accept=accept, timeout=timeout)


def _read_file(answer: Answer) -> SeriesFile:
    from gradewright_sdk._models import read_file

    return read_file(results.SeriesFile, answer)


class Prices(Resource):
    """Price lists and their history."""

    list = sync(list_prices)
    series = sync(price_series)
    series_csv = sync(price_series_csv)
    chart = sync(price_chart)
    backtest = sync(backtest)


class AsyncPrices(AsyncResource):
    """Price lists and their history."""

    list = asynchronous(list_prices)
    series = asynchronous(price_series)
    series_csv = asynchronous(price_series_csv)
    chart = asynchronous(price_chart)
    backtest = asynchronous(backtest)
