"""Regions: where prices are compared."""

from __future__ import annotations

from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import AsyncResource, Call, Resource, asynchronous, new_key, sync
from gradewright_sdk._reading import reads, reads_list

if TYPE_CHECKING:
    from gradewright_sdk._models import Region


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


class Regions(Resource):
    """Regions: where prices are compared."""

    list = sync(list_regions)
    get = sync(get_region)
    create = sync(create_region)


class AsyncRegions(AsyncResource):
    """Regions: where prices are compared."""

    list = asynchronous(list_regions)
    get = asynchronous(get_region)
    create = asynchronous(create_region)
