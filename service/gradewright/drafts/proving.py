"""Proofs of documents: worked out aside, once for each document, prover and set of limits; then kept."""

from __future__ import annotations

import asyncio
import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from typing import Any

from gradewright.core.errors import Path
from gradewright.core.house_limits import HouseLimit
from gradewright.core.rulebook import Rulebook
from gradewright.db.packed import pack, unpack
from gradewright.db.readonly import ReadOnlyDatabase
from gradewright.db.session import Database
from gradewright.drafts import repository
from gradewright.yards.service import YardService

Limits = tuple[HouseLimit, ...]
Tell = Callable[[str, int, int], None]
"""Is told, from another thread, what is looked at, how far it is and how much there is."""


@dataclass(frozen=True, slots=True)
class Found:
    """One thing that keeps a version from being relied on, with the smallest part that shows it, if one can.

    `within`: the place under whose own limits it is so; None: under the version's.
    """

    says: str
    at: Path
    part: Mapping[str, Any] | None
    within: str | None


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
    """What a proof has found; `complete`: whether all that there is of it is told."""

    findings: tuple[Found, ...]
    pairs: tuple[Pair, ...]
    complete: bool


@dataclass(slots=True)
class _Work:
    """A proof that is being worked out, and all who want to hear how far it is."""

    rulebook: Rulebook
    houses: Sequence[Limits]
    listeners: list[Tell] = field(default_factory=list)

    def prove(self) -> Proved:
        return _prove(self.rulebook, self.houses, self._tell)

    def _tell(self, what: str, done: int, of: int) -> None:
        for tell in tuple(self.listeners):
            tell(what, done, of)


class Proofs:
    """Proves what nobody has proved yet, and remembers the rest."""

    def __init__(self, database: Database, yards: YardService) -> None:
        self._database = database
        self._yards = yards
        self._running: dict[tuple[str, str], tuple[_Work, asyncio.Task[Proved]]] = {}

    async def of(self, rulebook: Rulebook, now: datetime, tell: Tell | None = None) -> Proved:
        """The proof of a rulebook, under its own limits and those of places on the day on which it begins.

        Takes seconds the first time. Whoever asks for the same meanwhile waits for the same.
        """
        houses = await self._houses(rulebook.effective_from, rulebook)
        key = rulebook.sha256, _asked(houses)
        async with self._database.read() as session:
            kept = await repository.proof(session, *key)
        if kept is not None:
            return _read(json.loads(await unpack(kept)))
        if key not in self._running:
            new = _Work(rulebook, houses)
            self._running[key] = new, asyncio.create_task(asyncio.to_thread(new.prove))
            self._running[key][1].add_done_callback(lambda _: self._running.pop(key, None))
        work, task = self._running[key]
        if tell is not None:
            work.listeners.append(tell)
        # Who stops waiting does not stop the proof: others may wait for it.
        proved = await asyncio.shield(task)
        packed = await pack(json.dumps(asdict(proved), ensure_ascii=False).encode())
        with suppress(ReadOnlyDatabase):  # then it is found out again the next time
            async with self._database.write() as session:
                await repository.keep_proof(session, *key, found=packed, made_at=now)
        return proved

    async def _houses(self, on: date, rulebook: Rulebook) -> list[Limits]:
        """The sets of limits that places have on a day instead of the rulebook's own, each once."""
        atlas = await self._yards.atlas()
        places: list[tuple[str, str | None]] = [(yard.region, yard.slug) for yard in atlas.all()]
        places += [(region.code, None) for region in atlas.regions.all()]
        found: dict[tuple[tuple[str, str], ...], Limits] = {}
        for region, yard in places:
            limits = atlas.limits(region, yard, on)
            own = tuple(limit for limit in limits if limit.name in rulebook.limits)
            if own:
                found.setdefault(tuple((limit.name, limit.given) for limit in own), own)
        return [found[values] for values in sorted(found)]


def _asked(houses: Sequence[Limits]) -> str:
    """What was proved by which prover, under which limits: another name for what may come out otherwise."""
    from gradewright.rulebooks.proof import PROVER

    if not houses:
        return PROVER
    told = json.dumps([[(limit.name, limit.given, limit.within) for limit in limits] for limits in houses])
    return f"{PROVER} {hashlib.sha256(told.encode()).hexdigest()}"


def _prove(rulebook: Rulebook, houses: Sequence[Limits], tell: Tell) -> Proved:
    from gradewright.rulebooks.proof import prove  # the solver, loaded where it is needed

    proof = prove(rulebook, houses, tell)
    return _read(json.loads(json.dumps(
        {
            "findings": [
                {"says": one.says, "at": one.at, "part": one.part and dict(one.part), "within": one.within}
                for one in proof.findings
            ],
            "pairs": [asdict(pair) for pair in proof.overlaps],
            "complete": proof.complete,
        }
    )))  # fmt: skip


def _read(kept: Mapping[str, Any]) -> Proved:
    findings = tuple(Found(**{**one, "at": tuple(one["at"])}) for one in kept["findings"])
    return Proved(findings, tuple(Pair(**pair) for pair in kept["pairs"]), kept["complete"])
