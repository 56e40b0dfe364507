"""Does the history agree with itself? Every leaf is made again from the rows of all tables, and compared.

Read in one transaction, a few thousand entries at a time: memory does not grow with the ledger, but for a
hash for each 256 entries.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.exc import OperationalError
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.checkpoint import Checkpoint
from gradewright.core.merkle import Growing
from gradewright.db.entries import Entry, Line, bare, plain
from gradewright.db.leaves import BLOCK, LeafRow, NodeRow, TreeRow
from gradewright.db.ledger import LedgerRow, RevisionRow
from gradewright.db.session import Database
from gradewright.ledger.compare import FARTHEST, Revision, compare
from gradewright.ledger.difference import Difference
from gradewright.ledger.entries import lines_between, recorded_between, sizes_between, spans
from gradewright.ledger.leaf_reader import LeafReader, as_hash
from gradewright.ledger.report import MOST_KEPT, Report, Witness
from gradewright.ledger.subtrees import Subtrees, believe
from gradewright.ledger.swaps import name_swaps
from gradewright.prices.postings import PostingService
from gradewright.rulebooks.service import RulebookService

__all__ = ["Report", "Witness", "verify", "verify_within"]

FAR = 2**62


class _Verification:
    def __init__(
        self, session: AsyncSession, witnesses: Sequence[Witness], tell: Callable[[int, int], None]
    ) -> None:
        self.session = session
        self.report = Report()
        self.tell = tell
        self.witnesses = sorted(witnesses, key=lambda witness: witness.size)
        self.leaves = LeafReader(session)
        self.at = 0
        self.total = 0
        # Of the block that is not complete yet:
        self.rows: list[bytes | None] = []
        self.kept: list[bytes | None] = []
        self.disagreeing: dict[int, Difference] = {}

    async def run(self) -> Report:
        session = self.session
        newest = await self._newest()
        highest = await session.scalar(select(func.max(LeafRow.number)).where(LeafRow.number <= FAR))
        self.total = 0 if highest is None else highest + 1
        nodes = await session.execute(select(NodeRow.level, NodeRow.number, NodeRow.hash))
        self.subtrees = Subtrees({(level, number): as_hash(hashed) for level, number, hashed in nodes})
        waiting: list[Revision] = []
        after = 0
        async for upto in spans(session, 0, newest):
            waiting += await self._read(after, upto)
            after = upto
            # The last one waits: where it ends is seen by where the next one with rows begins.
            last = max((place for place, found in enumerate(waiting) if found.lines), default=0)
            await self._compare(waiting[:last], waiting[last:])
            waiting = waiting[last:]
            self.tell(upto, newest)
        await self._compare(waiting, [])
        await self._beyond(newest)
        self._finish()
        self.report.revisions = newest
        return self.report

    async def _newest(self) -> int:
        """The newest revision: what two of ledger, revisions and trees say, where one of them was edited."""
        session, row, tree = self.session, RevisionRow, TreeRow
        ledger = (await session.execute(select(LedgerRow.revision, bare(LedgerRow.recorded_at)))).all()
        said = [
            ledger[0][0] if ledger and type(ledger[0][0]) is int else -1,
            await session.scalar(select(func.max(row.revision)).where(row.revision <= FAR)) or 0,
            await session.scalar(select(func.max(tree.revision)).where(tree.revision <= FAR)) or 0,
        ]
        newest: int = sorted(said)[1]
        if not ledger or said[0] != newest:
            detail = f"it says revision {ledger[0][0]!r}" if ledger else "its row is not there"
            self.report.say(Difference("ledger", "changed", revision=newest, detail=detail))
        elif newest:
            recorded = (await recorded_between(session, newest - 1, newest)).get(newest)
            if recorded is not None and plain(ledger[0][1]) != recorded:
                detail = f"recorded_at is {plain(ledger[0][1])}; revision {newest} has {recorded}"
                self.report.say(Difference("ledger", "changed", revision=newest, detail=detail))
        start = await sizes_between(session, -FAR, 0)
        if start != {0: 0}:
            detail = f"the tree of revision 0 has no leaves, and there is none before it: found {start}"
            self.report.say(Difference("tree", "changed", revision=0, detail=detail))
        return newest

    async def _read(self, after: int, upto: int) -> list[Revision]:
        session, report = self.session, self.report
        lines = await lines_between(session, after, upto)
        recorded = await recorded_between(session, after, upto)
        sizes = await sizes_between(session, after, upto)
        by_revision = {
            number: list(found) for number, found in groupby(lines, key=lambda line: line.revision)
        }
        told: Mapping[int, Sequence[Entry]] = {
            number: [line.entry for line in found] for number, found in by_revision.items()
        }
        posted, faults = await PostingService.copies(session, after, upto, told)
        for revision, posting, what in faults:
            detail = f"{posting}: {what}"
            report.say(Difference("posting", "changed", revision=revision, detail=detail))
        for revision, version, what in await RulebookService.copies(session, after, upto, recorded):
            detail = f"{version}: {what}"
            report.say(Difference("rulebook", "changed", revision=revision, detail=detail))
        found = []
        for number in range(after + 1, upto + 1):
            if number not in recorded:
                report.say(Difference("revision", "removed", revision=number, detail="its row is not there"))
            found.append(
                Revision(
                    number,
                    by_revision.get(number, ()),
                    recorded.get(number),
                    sizes.get(number),
                    posted.get(number),
                )
            )
        return found

    async def _compare(self, found: Sequence[Revision], ahead: Sequence[Revision]) -> None:
        with_rows: Iterator[Revision] = iter([each for each in [*found, *ahead] if each.lines])
        after = next(with_rows, None)
        for revision in found:
            if after is revision:
                after = next(with_rows, None)
            await self.leaves.have(self.at + len(revision.lines) + 2 * FARTHEST)
            compared = compare(revision, self.at, self.leaves.get, self.total, after)
            if revision.posted_at not in {None, revision.recorded_at} and not any(
                said.of == "revision" for said in compared.differences
            ):
                detail = f"recorded_at is {revision.posted_at}; its revision has {revision.recorded_at}"
                self.report.say(Difference("posting", "changed", revision=revision.number, detail=detail))
            by_entry = {}
            for said in compared.differences:
                self.report.say(said)
                if said.of == "entry" and said.what == "changed" and said.entry is not None:
                    by_entry[said.entry] = said
            for number in range(self.at, compared.end):
                self._add(number, compared.hashes.get(number), by_entry.get(number))
            self.at = compared.end
            self.leaves.forget(self.at)

    def _add(self, number: int, row: bytes | None, said: Difference | None) -> None:
        leaf = self.leaves.get(number)
        if said is not None:
            self.disagreeing[len(self.rows)] = said
        self.rows.append(row)
        self.kept.append(leaf)
        if len(self.rows) == BLOCK:
            before = self.subtrees.tree.copy()
            believed = self.subtrees.add_block(self.rows, self.kept, self.disagreeing)
            self._ask(before, believed, last=False)
            self.rows, self.kept, self.disagreeing = [], [], {}

    def _ask(self, tree: Growing, believed: Sequence[bytes], *, last: bool) -> None:
        """Holds the tree against those who remember its root at a size in this block."""
        end = tree.size + len(believed)
        start = tree.size
        while self.witnesses and (self.witnesses[0].size < end or (last and self.witnesses[0].size <= end)):
            witness = self.witnesses.pop(0)
            self.report.witnesses += 1
            tree.add(believed[tree.size - start : witness.size - start])
            if tree.root() != witness.root:
                self._contradicted(witness, "its root is another")

    def _contradicted(self, witness: Witness, what: str) -> None:
        detail = f"{witness.name}: of the first {witness.size} entries {what}"
        self.report.say(Difference(witness.of, "changed", detail=detail))

    async def _beyond(self, newest: int) -> None:
        """Rows, leaves and trees behind the end, and before the beginning."""
        session, report = self.session, self.report
        for low, high in ((newest, FAR), (-FAR, 0)):
            for line in await lines_between(session, low, high):
                report.say(_beyond(line))
            for number in await recorded_between(session, low, high):
                report.say(Difference("revision", "added", revision=number))
            _, faults = await PostingService.copies(session, low, high, {})
            for number, posting, _ in faults:
                report.say(Difference("posting", "added", revision=number, detail=posting))
        for number in sorted(await sizes_between(session, newest + 1, FAR)):
            report.say(Difference("tree", "added", revision=number))
        outside = select(LeafRow.number).where((LeafRow.number >= self.at) | (LeafRow.number < 0))
        for number in await session.scalars(outside.order_by(LeafRow.number).limit(MOST_KEPT)):
            report.say(Difference("leaf", "added", entry=number))

    def _finish(self) -> None:
        tree = self.subtrees.tree
        witness = next((each for each in self.witnesses if each.size == self.at), None)

        def fits(tried: Sequence[bytes]) -> bool:
            grown = tree.copy()
            grown.add(tried)
            return witness is not None and grown.root() == witness.root

        believed = [each or b"" for each in believe(self.rows, self.kept, self.disagreeing, fits)]
        self._ask(tree.copy(), believed, last=True)
        for left in self.witnesses:
            self.report.witnesses += 1
            self._contradicted(left, f"there are only {self.at} left")
        tree.add(believed)
        report = self.report
        report.entries, report.root = self.at, tree.root()
        for said in (*self.subtrees.differences, *self.subtrees.unexpected()):
            report.say(said)
        name_swaps(report.differences)
        for each in report.differences:
            if each.of == "entry" and each.what == "changed" and not each.detail:
                each.detail = "its row and its leaf do not agree"


def _beyond(line: Line) -> Difference:
    return Difference(
        "entry",
        "added",
        revision=line.revision,
        line=line.line,
        kind=str(line.entry["kind"]),
        row=line.entry,
        detail="of a revision that the ledger does not have",
    )


async def verify(
    database: Database,
    *,
    checkpoint: Checkpoint | None = None,
    witnesses: Sequence[Witness] = (),
    tell: Callable[[int, int], None] = lambda done, newest: None,
) -> Report:
    """Recomputes every leaf, node, tree and root. `checkpoint`: one kept earlier, its signature checked.

    `tell(done, newest)` is called with revisions as it goes on.
    """
    gc.freeze()  # what was there before is not looked through again and again: a fifth of the time
    try:
        async with database.read() as session:
            if not database.embedded:  # else a read sees one state anyway
                await session.connection(execution_options={"isolation_level": "REPEATABLE READ"})
            return await verify_within(session, checkpoint=checkpoint, witnesses=witnesses, tell=tell)
    finally:
        gc.unfreeze()


async def verify_within(
    session: AsyncSession,
    *,
    checkpoint: Checkpoint | None = None,
    witnesses: Sequence[Witness] = (),
    tell: Callable[[int, int], None] = lambda done, newest: None,
) -> Report:
    """The same of what a session sees."""
    asked = [*witnesses]
    if checkpoint is not None:
        asked.append(Witness("checkpoint", checkpoint.origin, checkpoint.size, checkpoint.root))
    try:
        return await _Verification(session, asked, tell).run()
    except OperationalError as error:
        if "decode" not in str(error.orig):
            raise
        # SQLite keeps bytes in a column of text, where a hand has put them there: read them as what they are.
        raw: Any = (await (await session.connection()).get_raw_connection()).driver_connection
        raw.text_factory = _text
        try:
            return await _Verification(session, asked, tell).run()
        finally:
            raw.text_factory = str


def _text(found: bytes) -> str:
    return found.decode(errors="backslashreplace")
