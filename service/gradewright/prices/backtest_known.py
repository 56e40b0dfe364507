"""What was known at the end of a day, for prices of the next one to be predicted from.

Days end at midnight UTC. `recorded`: what the ledger had by then, that is prices, later words and values of
benchmarks, and what authors weighed by it: what the service would have answered. `seen`: prices count as
known from the day on which they were seen, whenever they were recorded, so that a history which was uploaded
at once can be tested; words, values and standing are then those of the revision that is asked for, and know
more than one knew. Which rulebook is in force on a day is as known at that revision, either way.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Literal

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.benchmarks.kept import Benchmarks
from gradewright.benchmarks.service import ages
from gradewright.core.aging import NOTHING_AGES, Aging
from gradewright.core.rulebook import Rulebook
from gradewright.core.timeline import days_before
from gradewright.db.ledger import revision_at
from gradewright.prices import said
from gradewright.prices.counting import Asked, everybody, standing_of
from gradewright.prices.judged import Days, Weighed, versions
from gradewright.prices.repository import Seen
from gradewright.prices.said import Spoken

KnownWhen = Literal["recorded", "seen"]


@dataclass(frozen=True, slots=True)
class Known:
    """What was known: prices up to a revision, what had been said of them, and how they are weighed, with
    benchmarks (`aged`) and without; the same object where no grade follows one."""

    revision: int
    spoken: Spoken
    plain: Weighed
    aged: Weighed


@dataclass(frozen=True, slots=True)
class Reader:
    """Reads what was known of the yards of a region, in one session; `rows`: all that was seen there in the
    span."""

    session: AsyncSession
    yards: Collection[str]
    currency: str
    benchmarks: Benchmarks
    rows: Sequence[Seen]

    async def at(self, day: date, rulebook: Rulebook, revision: int, since: date) -> Known:
        """As known at a revision, of what was seen from a day on up to another."""
        spoken = await said.spoken(self.session, self.yards, since=since, until=day, revision=revision)
        aging = ages(rulebook, self.benchmarks, revision)
        aged = await self._weighed(day, rulebook, revision, aging, spoken)
        plain = aged
        if aging.follows:
            plain = await self._weighed(day, rulebook, revision, NOTHING_AGES, spoken)
        return Known(revision, spoken, plain, aged)

    async def evenings(self, days: Collection[date], by: Days, revision: int) -> dict[date, Known]:
        """At the end of each of the days, by the rulebook of each; none of a day without one."""
        found: dict[date, Known] = {}
        for day in days:
            rulebook = by[day]
            if rulebook is not None:
                then = await revision_at(self.session, datetime.combine(day, time.max, UTC))
                since = days_before(day, rulebook.pricing.stale_after)
                found[day] = await self.at(day, rulebook, min(then, revision), since)
        return found

    async def at_last(self, since: date, until: date, by: Days, revision: int) -> dict[str, Known]:
        """At a revision, of all that can count on one of the days, by version of the rulebook."""
        return {
            rulebook.version: await self.at(until, rulebook, revision, since) for rulebook in versions(by)
        }

    async def _weighed(
        self, day: date, rulebook: Rulebook, revision: int, aging: Aging, spoken: Spoken
    ) -> Weighed:
        asked = Asked(self.yards, self.currency, day, revision, rulebook.pricing, aging)
        standing = await standing_of(self.session, asked)
        rows = (row for row in self.rows if row.revision <= revision)
        return Weighed(aging, await everybody(self.session, asked, standing, rows, spoken))


def as_seen(days: Collection[date], by: Days, at_last: Mapping[str, Known]) -> dict[date, Known]:
    """What is known at last, for each of the days: prices count from the day on which they were seen."""
    rulebooks = ((day, by[day]) for day in days)
    return {day: at_last[rulebook.version] for day, rulebook in rulebooks if rulebook is not None}
