"""Proofs of documents: worked out aside, once for each document, prover and set of limits; then kept.

One is worked out at a time: each takes a processor for seconds. Maintainers come first.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import msgspec

from gradewright.collector import gives_back
from gradewright.core.errors import GradewrightError, Path
from gradewright.core.house_limits import HouseLimit
from gradewright.core.rulebook import Rulebook
from gradewright.db.packed import pack, unpack
from gradewright.db.readonly import ReadOnlyDatabase
from gradewright.db.session import Database
from gradewright.rulebooks import repository
from gradewright.rulebooks.turns import Few, Turns

MOST_REMEMBERED = 32
"""Of a database that cannot be written so many of the last proofs, for each set of limits, stay in memory."""
WAITS = "another proof, which comes first"
"""What is told to be worked on while somebody else's proof is."""
Limits = tuple[HouseLimit, ...]
Told = Mapping[str, Any]
"""A `proof.Proof`, or what was found in a place, as JSON has it."""
Tell = Callable[[str, int, int], None]
"""Is told, from another thread, what is looked at, how far it is and how much there is."""


class Busy(GradewrightError):
    """As many proofs are waiting as may."""

    slug = "unavailable"


@dataclass(slots=True)
class _Work:
    """A proof that is being worked out, and all who want to hear how far it is.

    `limits`: those of a place under which it is looked at; none: the document's own. `known`: what is so
    under these. `which`: the number of the set of limits, and how many there are. `first`: a maintainer
    waits for it. `begun`: its turn has come.
    """

    rulebook: Rulebook
    limits: Limits = ()
    known: frozenset[tuple[str, Path, str]] = frozenset()
    which: tuple[int, int] = (0, 0)
    first: bool = False
    begun: bool = False
    listeners: list[Tell] = field(default_factory=list)

    def prove(self) -> bytes:
        from gradewright.rulebooks import proof  # the solver, loaded where it is needed

        if not self.limits:
            return msgspec.json.encode(proof.prove(self.rulebook, (), self._tell))
        tell = proof.of_place(self._tell, *self.which)
        return msgspec.json.encode(proof.in_place(self.rulebook, self.limits, self.known, tell))

    def _tell(self, what: str, done: int, of: int) -> None:
        for tell in tuple(self.listeners):
            tell(what, done, of)


@dataclass(slots=True)
class _Asker:
    """One who asks for a proof: `tell` hears how far it is. `most`: one of few who may wait; None: first."""

    document: str
    tell: Tell | None
    anew: bool
    most: int | None
    waits: bool = False


class Proofs:
    """Proves what nobody has proved yet, and remembers the rest."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._running: dict[tuple[str, str], tuple[_Work, asyncio.Task[bytes]]] = {}
        self._turns, self._few = Turns(), Few()
        self._unkept: dict[tuple[str, str], bytes] = {}

    async def of(
        self,
        rulebook: Rulebook,
        houses: Sequence[Limits],
        now: datetime,
        tell: Tell | None = None,
        *,
        anew: bool = False,
        most_waiting: int | None = None,
    ) -> Told:
        """The proof of a rulebook, under its own limits and under sets of limits that places have instead.

        Takes seconds the first time, for each set. Whoever asks for the same meanwhile waits for the same.
        `anew`: it is worked out again, whatever is kept; what is kept stays. Raises `Busy` where others wait
        for so many proofs as `most_waiting` that are not kept yet. Who asks without it does not wait for
        those, but for the one that is being worked out.
        """
        asker = _Asker(rulebook.sha256, tell, anew, most_waiting)
        with self._turns.asking() if most_waiting is None else nullcontext():
            try:
                return await self._whole(rulebook, houses, now, asker)
            finally:
                if asker.waits:
                    self._few.take(asker.document)

    async def _whole(
        self, rulebook: Rulebook, houses: Sequence[Limits], now: datetime, asker: _Asker
    ) -> Told:
        own = await self._of(_Work(rulebook), now, asker)
        if not houses:
            return own
        from gradewright.rulebooks.proof import where

        known = frozenset((each["kind"], tuple(each["at"]), each["says"]) for each in own["findings"])
        findings, complete = list(own["findings"]), own["complete"]
        for number, limits in enumerate(houses):
            work = _Work(rulebook, limits, known, (number, len(houses)))
            there = await self._of(work, now, asker)
            within, begins = where(rulebook, limits)
            findings += (
                {**each, "within": within, "says": begins + each["says"]} for each in there["findings"]
            )
            complete = complete and there["complete"]
        return {**own, "findings": findings, "complete": complete}

    async def _of(self, new: _Work, now: datetime, asker: _Asker) -> Told:
        key = asker.document, asked(new.limits)
        if not asker.anew:
            kept = self._unkept.get(key)
            if kept is None:
                async with self._database.read() as session:
                    kept = await repository.proof(session, *key)
            if kept is not None:
                return _read(await unpack(kept))
        self._wait(asker)
        if key not in self._running:
            self._running[key] = new, asyncio.create_task(self._found(key, new, now))
            self._running[key][1].add_done_callback(lambda _: self._running.pop(key, None))
        work, task = self._running[key]
        if asker.most is None and not work.first:
            work.first = True
            self._turns.go_on()
        if asker.tell is not None:
            if not work.begun and any(other.begun for other, _ in self._running.values()):
                asker.tell(WAITS, 0, 0)
            work.listeners.append(asker.tell)
        # Who stops waiting does not stop the proof: others may wait for it, and it is kept.
        return _read(await asyncio.shield(task))

    def _wait(self, asker: _Asker) -> None:
        """Lets one wait, once for the whole proof; what goes on though nobody waits counts too."""
        if asker.most is None or asker.waits:
            return
        others = {document for (document, _), (work, _) in self._running.items() if not work.first}
        others.update(self._few.waiting)
        if asker.document not in others and len(others) >= asker.most:
            raise Busy("Other proofs are being worked out. Ask again in a minute.")
        self._few.add(asker.document)
        asker.waits = True

    async def _found(self, key: tuple[str, str], work: _Work, now: datetime) -> bytes:
        async with self._turns.of(work):
            work.begun = True
            proved = await asyncio.to_thread(gives_back()(work.prove))
        packed = await pack(proved)
        try:
            async with self._database.write() as session:
                await repository.keep_proof(session, *key, found=packed, made_at=now)
        except ReadOnlyDatabase:
            self._unkept[key] = packed
            while len(self._unkept) > MOST_REMEMBERED:
                del self._unkept[next(iter(self._unkept))]
        return proved


def asked(limits: Limits = ()) -> str:
    """What was proved by which prover, under which limits: another name for what may come out otherwise."""
    from gradewright.rulebooks.proof import PROVER

    if not limits:
        return f"{PROVER} whole"  # before, less was kept of a proof
    told = json.dumps([(limit.name, limit.given) for limit in limits])
    return f"{PROVER} place {hashlib.sha256(told.encode()).hexdigest()}"


def _read(proved: bytes) -> Told:
    told: Told = msgspec.json.decode(proved)
    return told
