"""Whether the process lives, and whether it can answer."""

from __future__ import annotations

from typing import Literal

from litestar import get
from litestar.di import NamedDependency

from gradewright.db.ledger import newest_revision
from gradewright.db.session import Database
from gradewright.rulebooks.service import RulebookService
from gradewright.web.fields import Out
from gradewright.web.problems import RequestRefused


class Health(Out):
    """The process answers."""

    status: Literal["ok"] = "ok"


class Readiness(Out):
    """The database answers: the newest revision, and the rulebooks to answer by."""

    status: Literal["ready"] = "ready"
    revision: int
    rulebooks: list[str]


@get("/healthz", operation_id="healthz", summary="Is the process alive?", tags=["operators"])
async def healthz() -> Health:
    """Answers without touching the database."""
    return Health()


@get("/readyz", operation_id="readyz", summary="Can it answer?", tags=["operators"])
async def readyz(
    database: NamedDependency[Database], rulebooks: NamedDependency[RulebookService]
) -> Readiness:
    """Reads the newest revision and the rulebooks; 503 while the database cannot be used or holds none."""
    async with database.read() as session:
        revision = await newest_revision(session)
    versions = list(await rulebooks.versions())
    if not versions:
        raise RequestRefused(
            "unavailable",
            "No rulebook is loaded, so nothing can be graded yet. Run `gradewright rulebooks load`.",
        )
    return Readiness(revision=revision.number, rulebooks=versions)
