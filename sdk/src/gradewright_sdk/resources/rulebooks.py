"""Rulebook versions."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import AsyncResource, Call, Resource, asynchronous, sync
from gradewright_sdk._reading import reads, reads_list

if TYPE_CHECKING:
    from gradewright_sdk._models import Rulebook, RulebookSummary


def list_rulebooks(*, timeout: float | None = None) -> Call[tuple[RulebookSummary, ...]]:
    """All published versions, in short."""
    return Call(
        "GET",
        _wire.path("rulebooks"),
        reads_list(lambda: results.RulebookSummary, "rulebooks"),
        timeout=timeout,
    )


def rulebook_in_force(*, on: date | str | None = None, timeout: float | None = None) -> Call[Rulebook]:
    """The version in force on a day (today). Raises NoRulebookInForce."""
    query = _wire.query(on=None if on is None else _wire.day_text(on, "on"))
    return Call(
        "GET",
        _wire.path("rulebooks", "in-force"),
        reads(lambda: results.Rulebook),
        query=query,
        timeout=timeout,
    )


def get_rulebook(version: str, *, timeout: float | None = None) -> Call[Rulebook]:
    """One version, whole. Raises NotFound or NoRulebookInForce."""
    return Call("GET", _wire.path("rulebooks", version), reads(lambda: results.Rulebook), timeout=timeout)


class Rulebooks(Resource):
    """Rulebook versions."""

    list = sync(list_rulebooks)
    in_force = sync(rulebook_in_force)
    get = sync(get_rulebook)


class AsyncRulebooks(AsyncResource):
    """Rulebook versions."""

    list = asynchronous(list_rulebooks)
    in_force = asynchronous(rulebook_in_force)
    get = asynchronous(get_rulebook)
