"""Answers of one kind kept on request, read again, and worked out again from their pins."""

from __future__ import annotations

import json
import secrets
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from gradewright.answers.pins import Answer, Pins, canonical
from gradewright.clock import Clock
from gradewright.core.errors import Fault, GradewrightError, NotFound, Refused
from gradewright.db import answers
from gradewright.db.answers import AnswerRow, KeptAnswer
from gradewright.db.packed import pack, unpack
from gradewright.db.session import Database
from gradewright.ledger.service import LedgerService

Row = TypeVar("Row", bound=KeptAnswer)


class ReplayDiffers(GradewrightError):
    """A kept answer and its repetition are not the same: a fault of the service, never of the caller."""

    slug = "internal-error"


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of answer: what it is called, the path it is kept under, how its ids begin, its methods.

    `methods`: the ways of working it out that can be repeated; the last is the one in use.
    """

    noun: str
    path: str
    prefix: str
    methods: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """A kept answer: its id, its bytes, and the ledger that it was worked out from.

    The ledger's tree is told beside the answer and not in it, as the id is: so an answer has the same bytes
    kept or not, those kept before there was a tree can be repeated, and what is not kept waits for no root.
    `author`: the account that asked, where the kind of answer has one.
    """

    id: str
    body: bytes
    tree_size: int | None = None
    tree_root: bytes | None = None
    author: str | None = None


class Keeping(Generic[Row]):
    """Keeps the answers of one kind in the rows of one table.

    `database` and `clock` are for the edge, which keeps an answer under an idempotency key.
    """

    def __init__(
        self, database: Database, ledger: LedgerService, clock: Clock, kind: Kind, rows: type[Row]
    ) -> None:
        self.database = database
        self.clock = clock
        self.kind = kind
        self._ledger = ledger
        self._rows = rows

    async def keep(self, asked: Mapping[str, Any], answer: Answer, **beside: Any) -> Kept:
        """Keep an answer with its request, as plain JSON values; `beside`: further columns of the row."""
        tree = await self._ledger.tree_at(answer.pins.revision)
        row = self._rows(
            id=f"{self.kind.prefix}-{secrets.token_hex(10)}",
            created_at=self.clock(),
            request=canonical(asked).decode(),
            rulebook=answer.pins.rulebook,
            revision=answer.pins.revision,
            method=answer.pins.method,
            answer=await pack(answer.body),
            sha256=answer.sha256,
            tree_size=tree.size,
            tree_root=tree.root,
            **beside,
        )
        async with self.database.write() as session:
            await answers.add(session, row)
        return await _kept(row, answer.body)

    async def get(self, answer: str) -> Kept:
        """A kept answer as it was given; `NotFound` if there is none of that id."""
        return await _kept(await self._find(answer))

    async def asked(self, answer: str) -> tuple[dict[str, Any], Pins]:
        """What a kept answer was asked, and its pins; `NotFound` if there is none of that id."""
        row = await self._find(answer)
        return json.loads(row.request), Pins(row.rulebook, row.revision, row.method)

    async def replay(self, answer: str, again: Callable[[dict[str, Any], Pins], Awaitable[Answer]]) -> Kept:
        """The kept request worked out `again` with its pins. Raises `ReplayDiffers` where a byte differs."""
        row = await self._find(answer)
        if row.method not in self.kind.methods:
            *others, newest = self.kind.methods
            known = f"{', '.join(others)} and {newest}" if others else newest
            detail = f"{answer} was worked out by method {row.method}; this service knows {known}."
            raise Refused(detail, faults=(Fault(detail, ("method",)),))
        worked_out = await again(json.loads(row.request), Pins(row.rulebook, row.revision, row.method))
        kept = await _kept(row)
        if worked_out.body != kept.body:
            raise ReplayDiffers(
                f"Worked out again with its pins, {answer} gives {worked_out.sha256}, not {row.sha256}."
            )
        if row.tree_size is not None:
            tree = await self._ledger.tree_at(row.revision)
            if (tree.size, tree.root) != (row.tree_size, row.tree_root):
                raise ReplayDiffers(
                    f"The ledger at revision {row.revision} is not the one that {answer} was worked out "
                    "from: its root is another. Whoever runs this service can look with: gradewright verify"
                )
        return kept

    async def _find(self, answer: str) -> Row:
        noun, prefix = self.kind.noun, self.kind.prefix
        async with self.database.read() as session:
            row = await answers.find(session, self._rows, answer)
        if row is None or not answer.startswith(f"{prefix}-"):
            raise NotFound(
                f"There is no {noun} {answer!r} here. Only those asked for with keep: true are kept."
            )
        return row


def decisions(database: Database, ledger: LedgerService, clock: Clock, kind: Kind) -> Keeping[AnswerRow]:
    """Keeps one kind of decision, in the table that all decisions share."""
    return Keeping(database, ledger, clock, kind, AnswerRow)


async def _kept(row: KeptAnswer, body: bytes | None = None) -> Kept:
    body = await unpack(row.answer) if body is None else body
    return Kept(row.id, body, row.tree_size, row.tree_root, getattr(row, "author", None))
