"""The service itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk._base import AsyncResource, Call, Resource, asynchronous, sync
from gradewright_sdk._reading import reads

if TYPE_CHECKING:
    from gradewright_sdk._models import Readiness


def service_ready(*, timeout: float | None = None) -> Call[Readiness]:
    """What the service has: its newest revision and its rulebook versions. Raises ServerError if it is not
    ready.
    """
    return Call("GET", "/readyz", reads(lambda: results.Readiness), timeout=timeout)


class Service(Resource):
    """The service itself."""

    ready = sync(service_ready)


class AsyncService(AsyncResource):
    """The service itself."""

    ready = asynchronous(service_ready)
