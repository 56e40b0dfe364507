"""House rules of yards and regions: said by maintainers, read by anyone. Only added to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.errors import Conflict, Fault, Path, Refused, UnknownGrade
from gradewright.core.house import HouseRules, Label, OwnLimit, Refusal, Speaker, last_words
from gradewright.db.knowing import KnownAt, revision_of
from gradewright.db.session import Database
from gradewright.regions.service import RegionService
from gradewright.rulebooks.service import RulebookService
from gradewright.yards.atlas import House
from gradewright.yards.checking import Checker
from gradewright.yards.house_effects import HouseEffects, Told
from gradewright.yards.service import YardService


@dataclass(frozen=True, slots=True)
class Saying:
    """What a maintainer says of one place, from a day on and for a reason.

    A limit or label without a value is lifted; `takes` are grades that are taken, whoever else refuses them.
    """

    valid_from: date
    reason: str
    limits: tuple[OwnLimit, ...] = ()
    labels: tuple[tuple[str, str | None], ...] = ()
    refuses: tuple[str, ...] = ()
    takes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Said:
    """What was added, at which revision, and what to know about it."""

    revision: int
    rules: HouseRules
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class InForce:
    """What holds in a place on a day, each with whose word it is; and all that the place itself ever said."""

    own: Speaker
    revision: int
    limits: tuple[tuple[Speaker, OwnLimit], ...]
    labels: tuple[tuple[Speaker, Label], ...]
    refusals: tuple[tuple[Speaker, Refusal], ...]


class HouseRuleService:
    """Checks what is said against the rulebook of the day from which it counts, and keeps it."""

    def __init__(
        self, database: Database, regions: RegionService, yards: YardService, rulebooks: RulebookService
    ) -> None:
        self._database = database
        self._regions = regions
        self._yards = yards
        self._rulebooks = rulebooks
        self._effects = HouseEffects(yards, rulebooks)

    async def yard(self, slug: str) -> House:
        """A yard by its slug; `UnknownYard` if there is none."""
        return House((await self._yards.atlas()).yard(slug).region, slug)

    async def region(self, code: str) -> House:
        """A region by its code; `UnknownRegion` if there is none."""
        return House((await self._yards.atlas()).region(code).code)

    async def in_force(self, house: House, on: date, known_at: KnownAt = None) -> InForce:
        """What holds in a place on a day, as known at a revision or an instant."""
        revision = await revision_of(self._database, known_at)
        atlas = await self._yards.atlas()
        speakers = list(atlas.speakers(house.region, house.yard, revision))
        limits: dict[str, tuple[Speaker, OwnLimit]] = {}
        labels: dict[str, tuple[Speaker, Label]] = {}
        refusals: dict[str, tuple[Speaker, Refusal]] = {}
        for speaker in speakers:
            for name, limit in last_words(speaker.rules.limits, on, revision).items():
                if not limit.lifted:
                    limits.setdefault(name, (speaker, limit))
            for folded, label in last_words(speaker.rules.labels, on, revision).items():
                labels.setdefault(folded, (speaker, label))
            for grade, refusal in last_words(speaker.rules.refusals, on, revision).items():
                refusals.setdefault(grade, (speaker, refusal))
        return InForce(
            replace(speakers[0], rules=speakers[0].rules.known(revision)),
            revision,
            tuple(limits[name] for name in sorted(limits)),
            tuple(pair for _, pair in sorted(labels.items()) if not pair[1].lifted),
            tuple(pair for _, pair in sorted(refusals.items()) if not pair[1].lifted),
        )

    async def check(self, house: House, saying: Saying, author: str | None) -> tuple[HouseRules, Told]:
        """The words as they can be kept, and what their limits do. Raises `UnknownGrade` or `Refused` with
        every fault.

        A limit that leaves parts without an answer which have one by the rulebook of that day is refused, as
        is one that does so in a place within, or later, by a version that begins later too: with it a version
        would be in force there that could not be published. Takes a second or two the first time for each set
        of limits, and remembers what it found: asked before a write, it keeps no other writer waiting.
        """
        rulebook = (await self._rulebooks.in_force(saying.valid_from, at=("from",))).rulebook
        atlas = await self._yards.atlas()
        checker = Checker(rulebook, atlas, house.region, house.yard, saying.valid_from)
        by: dict[str, Any] = {"author": author, "reason": saying.reason}
        said = HouseRules(
            tuple(replace(limit, **by) for limit in checker.limits(saying.limits)),
            tuple(replace(label, **by) for label in checker.labels(saying.labels)),
            tuple(
                replace(refusal, **by)
                for refusal in (*checker.refuses(saying.refuses), *checker.takes(saying.takes))
            ),
        )
        checker.said_once(saying.refuses, saying.takes)
        told = Told()
        if not checker.faults:
            at: Path = ("limits", 0, "value") if len(said.limits) == 1 else ("limits",)
            told = await self._effects.of(house, said, saying.valid_from, rulebook)
            checker.only_grades = checker.only_grades and not told.breaks
            checker.faults += [Fault(each, at) for each in told.breaks]
        if checker.faults:
            more = f" (and {len(checker.faults) - 1} more)" if len(checker.faults) > 1 else ""
            kind = UnknownGrade if checker.only_grades else Refused
            raise kind(f"{checker.faults[0].detail} Nothing was stored.{more}", faults=tuple(checker.faults))
        return said, told

    async def look_ahead(self, house: House, saying: Saying) -> None:
        """Finds out what `say` will ask, before anything is locked for it. Raises as `check` does."""
        await self.check(house, saying, None)

    async def say(
        self, session: AsyncSession, house: House, saying: Saying, now: datetime, author: str | None = None
    ) -> Said:
        """Adds to the rules of a place in `session`; takes a revision. Raises as `check` does, and `Conflict`
        where what was checked is not all any more that there is to look at."""
        said, told = await self.check(house, saying, author)
        notes = (*await self._later(house, said, saying.valid_from), *told.notes)
        if house.yard is not None:
            taken = await self._yards.say(session, house.yard, said, now)
        else:
            taken = await self._regions.say(session, house.region, said, now)
        await self._looked_at(house, said, saying.valid_from, told, taken.number - 1)
        return Said(taken.number, said, notes)

    async def _looked_at(self, house: House, said: HouseRules, on: date, told: Told, known_at: int) -> None:
        """Raises `Conflict` where a version was published, or another limit said, since limits were checked.

        Asked by who has taken the revision after `known_at`: until that is kept nothing comes in between.
        """
        await self._database.newest(known_at)
        unseen = await self._effects.unseen(house, said, on, told.looked_at)
        if unseen:
            under = " and ".join(" ".join(value) for value in unseen[0].after) or "its own limits"
            raise Conflict(
                "While this was checked another version was published, or limits of places were said: what "
                f"version {unseen[0].version} is under {under} was not looked at. Nothing was stored. Send "
                "it again: it is looked at anew."
            )

    async def _later(self, house: House, said: HouseRules, on: date) -> Iterator[str]:
        """Which later words about the same stand already."""
        atlas = await self._yards.atlas()
        speaker = next(atlas.speakers(house.region, house.yard))
        return (
            f"{about}: what was said from {later.valid_from.isoformat()} on holds from that day all the same."
            for kind in ("limits", "labels", "refusals")
            for word in getattr(said, kind)
            for about, later in last_words(getattr(speaker.rules, kind), date.max).items()
            if about == word.key and later.valid_from > on
        )
