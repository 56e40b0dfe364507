"""Gradings: which grade a part is, or what to look at next."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import AsyncResource, Call, Resource, asynchronous, sync
from gradewright_sdk._inputs import Observed
from gradewright_sdk._reading import reads

if TYPE_CHECKING:
    from gradewright_sdk._models import Grading


def grade_part(
    observed: Observed,
    *,
    rulebook: str | None = None,
    on: date | str | None = None,
    region: str | None = None,
    yard: str | None = None,
    skip: Collection[str] = (),
    alike_within: str | None = None,
    hour_rate: Decimal | int | str | None = None,
    weight: str | None = None,
    timeout: float | None = None,
) -> Call[Grading]:
    """Grade one part from what was observed of it, by a rulebook version or the one in force on a day
    (today).

    With a `region` or a `yard` the candidates come with their prices there. Attributes in `skip` are not
    asked for as the next test, because nobody can tell. Where the prices of all candidates lie within a share
    of the dearest, `alike_within` (default "5 %"; "0 %" where they are equal), finding out more is not worth
    it, and no test is asked for. With an `hour_rate`, what an hour of work is worth, it is not worth it where
    it adds less to a part of that `weight` ("1 kg") on average than its minutes cost. Nothing is stored.
    """
    body: dict[str, object] = {"observed": _wire.to_wire(observed, "observed")}
    if rulebook is not None:
        body["rulebook"] = rulebook
    if on is not None:
        body["on"] = _wire.day_text(on, "on")
    if skip:
        body["skip"] = sorted(skip)
    if alike_within is not None:
        body["alike_within"] = alike_within
    if hour_rate is not None:
        body["hour_rate"] = _wire.amount_text(hour_rate, "hour_rate")
    if weight is not None:
        body["weight"] = weight
    body |= _wire.place_params(region, yard, needed=False)
    return Call("POST", _wire.path("gradings"), reads(lambda: results.Grading), body=body, timeout=timeout)


class Gradings(Resource):
    """Gradings: which grade a part is, or what to look at next."""

    grade = sync(grade_part)


class AsyncGradings(AsyncResource):
    """Gradings: which grade a part is, or what to look at next."""

    grade = asynchronous(grade_part)
