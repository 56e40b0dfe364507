"""What the proof of a document says to its maintainers: under its own limits, and those of places."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from gradewright.core.errors import Path
from gradewright.core.rulebook import Rulebook
from gradewright.db.session import Database
from gradewright.drafts.places import AtPlaces
from gradewright.rulebooks import proofs
from gradewright.rulebooks.proofs import Limits, Tell, Told
from gradewright.yards.service import Atlas, YardService


@dataclass(frozen=True, slots=True)
class Found:
    """One thing that keeps a version from being relied on, with the smallest part that shows it, if one can.

    `within`: the place under whose own limits it is so; None: under the version's. `fault`: False for what
    comes to nothing in that place alone. `kind`: as `proof.Kind` has it; `alike`: the other values that show
    the same, by attribute, and `ranges`: all that do, in words.
    """

    says: str
    at: Path
    part: Mapping[str, Any] | None
    within: str | None
    fault: bool
    kind: str
    alike: Mapping[str, Sequence[Any]]
    ranges: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Pair:
    """Two rules of different grades that a part can meet both: the earlier decides."""

    first: str
    second: str
    first_grade: str
    second_grade: str
    part: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Proved:
    """What a proof has found; `complete`: whether all that there is of it is told; `houses`: under which
    limits of places."""

    findings: tuple[Found, ...]
    pairs: tuple[Pair, ...]
    complete: bool
    houses: Houses


@dataclass(frozen=True, slots=True)
class Houses:
    """The sets of limits that places have meanwhile instead of a rulebook's own, each once, as they are known
    at a revision; and how many places have any. `whose`: of each set the words of all who say it."""

    limits: Sequence[Limits]
    places: int
    revision: int
    whose: Sequence[Sequence[Limits]] = ()


class Proofs:
    """Proofs of documents, as they would be in force in all places that there are."""

    def __init__(self, database: Database, yards: YardService) -> None:
        self._database, self._proofs = database, proofs.Proofs(database)
        self._yards, self._at_places = yards, AtPlaces()

    async def of(
        self,
        rulebook: Rulebook,
        now: datetime,
        tell: Tell | None = None,
        until: date | None = None,
        most_waiting: int | None = None,
    ) -> Proved:
        """The proof of a rulebook, under its own limits and those that places have on any day on which it is
        in force: from its beginning on, before the day `until`, if that is known.

        Takes seconds the first time. `tell` hears how far it is. Raises `Busy` where so many as
        `most_waiting` wait for a proof.
        """
        houses = await self.houses(rulebook, until or date.max)
        kept = await self._proofs.of(rulebook, houses.limits, now, tell, most_waiting=most_waiting)
        pairs = tuple(Pair(**pair) for pair in kept["overlaps"])
        return Proved(tuple(map(_found, kept["findings"])), pairs, kept["complete"], houses)

    async def whole(
        self,
        rulebook: Rulebook,
        now: datetime,
        tell: Tell | None = None,
        until: date | None = None,
        *,
        anew: bool = False,
    ) -> Told:
        """The same with all that the prover says. `anew`: worked out again, whatever is kept."""
        houses = await self.houses(rulebook, until or date.max)
        return await self._proofs.of(rulebook, houses.limits, now, tell, anew=anew)

    async def pairs(self, rulebook: Rulebook, now: datetime, tell: Tell | None = None) -> tuple[Pair, ...]:
        """The rules whose order decides, under its own limits: as kept, or found in some seconds."""
        kept = await self._proofs.of(rulebook, (), now, tell)
        return tuple(Pair(**pair) for pair in kept["overlaps"])

    async def own(self, rulebook: Rulebook, now: datetime, tell: Tell | None = None) -> tuple[Found, ...]:
        """What the prover finds under a rulebook's own limits: as kept, or found in some seconds."""
        return tuple(map(_found, (await self._proofs.of(rulebook, (), now, tell))["findings"]))

    async def moved_at_places(
        self, before: Rulebook, rulebook: Rulebook, until: date | None
    ) -> tuple[str, ...]:
        """What a rulebook changes at places that have limits of their own, and nowhere else: also by limits
        that it does not have any more."""
        houses = await self.houses(rulebook, until or date.max, names=before.limits.keys())
        return await self._at_places.moved(before, rulebook, houses.whose)

    async def houses(
        self, rulebook: Rulebook, until: date, at_least: int = 0, names: Iterable[str] = ()
    ) -> Houses:
        """The limits that places have on any day on which a rulebook is in force, before the day `until`: as
        known at the newest revision, and be it `at_least` that one. `names`: others to look for than it has.
        """
        # Before the map, which may be newer: what it has of a later revision is left out.
        revision = (await self._database.newest(at_least)).number
        atlas = await self._yards.atlas()
        places: list[tuple[str, str | None]] = [(yard.region, yard.slug) for yard in atlas.all(revision)]
        places += [(region.code, None) for region in atlas.regions.all(revision)]
        having, wanted = set(), {*rulebook.limits, *names}
        found: dict[tuple[tuple[str, str], ...], list[Limits]] = {}
        for region, yard in places:
            for on in _days(atlas, region, yard, rulebook.effective_from, until):
                limits = atlas.limits(region, yard, on, revision)
                own = tuple(limit for limit in limits if limit.name in wanted)
                if own:
                    said = found.setdefault(tuple((limit.name, limit.given) for limit in own), [])
                    if own not in said:
                        said.append(own)
                    having.add((region, yard))
        whose = [found[values] for values in sorted(found)]
        return Houses([said[0] for said in whose], len(having), revision, whose)


def _found(told: Told) -> Found:
    alike, ranges = told["alike"] or {}, told["ranges"] or {}
    shown = told["part"], told["within"], told["fault"], told["kind"], alike, ranges
    return Found(told["says"], tuple(told["at"]), *shown)


def _days(atlas: Atlas, region: str, yard: str | None, begins: date, until: date) -> list[date]:
    """The first day, and each later one on which another word about limits begins to hold in a place."""
    said = {word.valid_from for speaker in atlas.speakers(region, yard) for word in speaker.rules.limits}
    return [begins, *sorted(day for day in said if begins < day < until)]
