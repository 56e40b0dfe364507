"""Whether a version that ships would change what the database has answered for days gone by."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time

from gradewright.core.rulebook import Rulebook
from gradewright.db.session import Database
from gradewright.prices.posted_since import posted_since
from gradewright.rulebooks.service import RulebookService
from gradewright.valuations.given_since import given_since


@dataclass(frozen=True, slots=True)
class Used:
    """What there is of days on which a version would be in force: by which version, and how much of it."""

    version: str
    answers: int
    postings: int

    def told(self) -> str:
        """How much, in words."""
        counted = ((self.answers, "kept answer"), (self.postings, "posting"))
        return " and ".join(f"{count:,} {what}{'s' * (count > 1)}" for count, what in counted if count)


async def used(
    database: Database, rulebooks: RulebookService, rulebook: Rulebook, today: date
) -> Used | None:
    """What was valued or posted for days, up to today, on which the version would be in force instead of
    another; None where nothing was, or where no version was in force on them.

    Only kept answers are known: one that nobody kept shows by the prices that were posted.
    """
    begins = rulebook.effective_from
    standing = await rulebooks.standing(rulebook)
    if begins > today or standing.before is None or rulebook.version in standing.days:
        return None
    since = datetime.combine(begins, time.min, UTC)
    instead_of = (standing.before, *rulebook.instead_of)
    answers = sum([await given_since(database, version, since) for version in instead_of])
    postings = await posted_since(database, begins, standing.ends)
    return Used(standing.before, answers, postings) if answers or postings else None
