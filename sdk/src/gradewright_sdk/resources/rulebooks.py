"""Rulebook versions."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import Answer, AsyncResource, Call, Resource, asynchronous, sync
from gradewright_sdk._problems import unexpected
from gradewright_sdk._reading import reads, reads_list
from gradewright_sdk._telling import Progress, reads_last, telling

if TYPE_CHECKING:
    from gradewright_sdk._models import Rulebook, RulebookComparison, RulebookProof, RulebookSummary

HTML = "text/html"

COMPARING = 180.0  # seconds: far versions, compared for the first time, take more than a minute
PROVING = 180.0  # seconds: one proof is worked out at a time


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


def rulebook_page(version: str, *, timeout: float | None = None) -> Call[str]:
    """One version as a page of HTML that a person can read and print. Raises NoRulebookInForce."""
    path = _wire.path("rulebooks", version, "page")
    return Call("GET", path, _as_page, timeout=timeout, accept=f"{HTML}, application/problem+json;q=0.1")


def _as_page(answer: Answer) -> str:
    if not answer.headers.get("content-type", "").startswith(HTML):
        raise unexpected(answer, "it is not a page")
    return answer.content.decode("utf-8")


def compare_rulebooks(
    version: str,
    *,
    with_: str | None = None,
    progress: Progress | None = None,
    timeout: float | None = COMPARING,
) -> Call[RulebookComparison]:
    """What a version changes against another one (the one before it), by meaning: each move of parts from
    grade to grade with the smallest part that makes it. The first time it takes seconds, and more than a
    minute where much moves: `progress` is told meanwhile what is counted, and how many so far. Raises
    NotFound, NoRulebookInForce; ServerError where too many are waiting.
    """
    return Call(
        "GET",
        _wire.path("rulebooks", version, "comparison"),
        reads_last(lambda: results.RulebookComparison, "comparison"),
        query=_wire.query(**{"with": with_}),
        timeout=timeout,
        **telling(progress),
    )


def prove_rulebook(
    version: str, *, progress: Progress | None = None, timeout: float | None = PROVING
) -> Call[RulebookProof]:
    """Whether a version can be relied on, over every part that can be described, under its own limits and
    those of all places; what is found comes with the smallest part that shows it. The first time it takes
    some seconds: `progress` is told meanwhile what is looked at, how far it is, and how much there is. Raises
    NoRulebookInForce; ServerError where too many are waiting.
    """
    return Call(
        "GET",
        _wire.path("rulebooks", version, "proof"),
        reads_last(lambda: results.RulebookProof, "proof"),
        timeout=timeout,
        **telling(progress),
    )


class Rulebooks(Resource):
    """Rulebook versions."""

    list = sync(list_rulebooks)
    in_force = sync(rulebook_in_force)
    get = sync(get_rulebook)
    compare = sync(compare_rulebooks)
    proof = sync(prove_rulebook)
    page = sync(rulebook_page)


class AsyncRulebooks(AsyncResource):
    """Rulebook versions."""

    list = asynchronous(list_rulebooks)
    in_force = asynchronous(rulebook_in_force)
    get = asynchronous(get_rulebook)
    compare = asynchronous(compare_rulebooks)
    proof = asynchronous(prove_rulebook)
    page = asynchronous(rulebook_page)
