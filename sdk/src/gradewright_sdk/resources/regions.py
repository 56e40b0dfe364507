"""Regions: where prices are compared."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import AsyncResource, Call, Resource, asynchronous, new_key, sync
from gradewright_sdk._reading import reads, reads_list
from gradewright_sdk.resources import _house_rules
from gradewright_sdk.resources._house_rules import Listed

if TYPE_CHECKING:
    from gradewright_sdk._models import HouseRules, HouseRulesAdded, Region


def list_regions(*, timeout: float | None = None) -> Call[tuple[Region, ...]]:
    """All regions."""
    return Call("GET", _wire.path("regions"), reads_list(lambda: results.Region, "regions"), timeout=timeout)


def get_region(code: str, *, timeout: float | None = None) -> Call[Region]:
    """One region. Raises UnknownRegion."""
    return Call("GET", _wire.path("regions", code), reads(lambda: results.Region), timeout=timeout)


def create_region(
    code: str,
    *,
    name: str,
    currency: str,
    unit: str,
    parent: str | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Region]:
    """Make a region (maintainers). `unit` is the mass unit usual there. Raises Conflict if the code is
    taken.
    """
    body = {"code": code, "name": name, "parent": parent, "currency": currency, "unit": unit}
    return Call(
        "POST",
        _wire.path("regions"),
        reads(lambda: results.Region),
        body=body,
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


def get_house_rules(
    code: str,
    *,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    timeout: float | None = None,
) -> Call[HouseRules]:
    """What holds in the region on a day (None: today) of limits, labels and refusals, as known at a revision
    or an instant, and all that the region itself ever said. Raises UnknownRegion.
    """
    return _house_rules.read("regions", code, on, known_at, timeout)


def add_house_rules(
    code: str,
    *,
    reason: str,
    from_: date | str | None = None,
    limits: Listed = (),
    labels: Listed | None = None,
    refuses: Sequence[str] = (),
    takes: Sequence[str] = (),
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[HouseRulesAdded]:
    """Add to the region's house rules from a day on (maintainers), None: today; all of it, or nothing.

    `limits` are values for limits of the rulebook, {"heavy_steel_thickness": "1/8 in"}, or mappings with
    limit, value and says; `labels` its own words, {"Girder": "steel-heavy"}, or mappings with label and
    grade; None lifts either. `takes` are grades that are taken again. Raises InvalidRequest or UnknownGrade
    with every fault.
    They hold at every yard in it that has no word of its own.
    """
    return _house_rules.add(
        "regions",
        code,
        reason=reason,
        from_=from_,
        limits=limits,
        labels=labels or {},
        refuses=refuses,
        takes=takes,
        idempotency_key=idempotency_key,
        timeout=timeout,
    )


class Regions(Resource):
    """Regions: where prices are compared."""

    list = sync(list_regions)
    get = sync(get_region)
    create = sync(create_region)
    house_rules = sync(get_house_rules)
    add_house_rules = sync(add_house_rules)


class AsyncRegions(AsyncResource):
    """Regions: where prices are compared."""

    list = asynchronous(list_regions)
    get = asynchronous(get_region)
    create = asynchronous(create_region)
    house_rules = asynchronous(get_house_rules)
    add_house_rules = asynchronous(add_house_rules)
