"""Postings written in bulk, with the leaves, nodes and trees that writing them one by one would have made.

SQLite takes the rows under the same triggers and foreign keys as in service. PostgreSQL takes them by COPY,
as from a backup, without: what was written is read again and held against the tree afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import psycopg
from sqlalchemy import Connection, Engine, select, text, update

from gradewright.core.merkle import root_of
from gradewright.db.base import Base
from gradewright.db.entries import Line, hash_of
from gradewright.db.leaves import BLOCK, LEVELS, LeafRow, NodeRow, TreeRow
from gradewright.db.ledger import LedgerRow, RevisionRow
from gradewright.prices.entries import PRICE, price_entry
from gradewright.prices.models import EntryRow, PostingRow

Row = dict[str, Any]
IN_ONE_TRANSACTION = 2000  # postings


def columns(row: type[Base]) -> list[str]:
    """The columns of a table, in its order."""
    return [column.name for column in row.__table__.columns]


class Tree:
    """Where the tree over the ledger ends: what is needed to go on with it, and what is to be written."""

    def __init__(self, connection: Connection) -> None:
        self.size: int = (
            connection.execute(select(TreeRow.size).order_by(TreeRow.size.desc())).scalars().first() or 0
        )
        self.leaves: list[tuple[int, bytes]] = []
        self.nodes: list[tuple[int, int, bytes]] = []
        self._pending: list[list[bytes]] = []
        for level in range(LEVELS):
            begin = self.size // BLOCK ** (level + 1) * BLOCK
            row, where = (LeafRow, True) if level == 0 else (NodeRow, NodeRow.level == level)
            found = select(row.hash).where(where, row.number >= begin).order_by(row.number)
            self._pending.append(list(connection.execute(found).scalars()))

    def add(self, hashed: bytes) -> None:
        """One leaf more, and the nodes over the subtrees that it completes."""
        self.leaves.append((self.size, hashed))
        self.size += 1
        for level in range(LEVELS):
            self._pending[level].append(hashed)
            if len(self._pending[level]) < BLOCK:
                return
            hashed = root_of(self._pending[level])
            self._pending[level] = []
            self.nodes.append((level + 1, self.size // BLOCK ** (level + 1) - 1, hashed))


def fill(engine: Engine, postings: Iterable[tuple[Row, list[Row]]]) -> None:
    """Writes postings, with text for every value but numbers, each at the next revision."""
    with engine.begin() as connection:
        tree = Tree(connection)
        newest = connection.execute(select(LedgerRow.revision)).scalar_one()
    for batch in _batches(_rows(postings, newest, tree)):
        with engine.begin() as connection:
            if engine.dialect.name == "sqlite":
                _step(connection, [(instant,) for _, instant in batch[RevisionRow]])
                del batch[RevisionRow]
            else:
                connection.execute(text("SET LOCAL session_replication_role = replica"))
                revision, instant = batch[RevisionRow][-1]
                connection.execute(update(LedgerRow).values(revision=revision), {})
                connection.exec_driver_sql("UPDATE ledger SET recorded_at = %s", (instant,))
            batch[LeafRow], tree.leaves = tree.leaves, []
            batch[NodeRow], tree.nodes = tree.nodes, []
            for row, rows in batch.items():
                _add(connection, row, rows)


Batch = dict[type[Base], list[tuple[Any, ...]]]


def _rows(postings: Iterable[tuple[Row, list[Row]]], newest: int, tree: Tree) -> Iterator[Batch]:
    """The rows of one posting after the other, in all tables but those of leaves and nodes."""
    of_posting, of_entry = columns(PostingRow), columns(EntryRow)
    for revision, (posting, entries) in enumerate(postings, start=newest + 1):
        posting["revision"] = revision
        for entry in entries:
            entry["revision"] = revision
            told = price_entry(PRICE.of(entry), posting["note"])
            tree.add(hash_of(tree.size, Line(revision, entry["line"], told), posting["recorded_at"]))
        yield {
            RevisionRow: [(revision, posting["recorded_at"])],
            PostingRow: [tuple(map(posting.get, of_posting))],
            EntryRow: [tuple(map(entry.get, of_entry)) for entry in entries],
            TreeRow: [(revision, tree.size)],
        }


def _batches(rows: Iterator[Batch]) -> Iterator[Batch]:
    batch: Batch = {}
    count = 0
    for one in rows:
        for row, found in one.items():
            batch.setdefault(row, []).extend(found)
        count += 1
        if count == IN_ONE_TRANSACTION:
            yield batch
            batch, count = {}, 0
    if count:
        yield batch


def _step(connection: Connection, instants: list[tuple[str]]) -> None:
    """Takes the revisions one by one, as the ledger's trigger wants it."""
    connection.exec_driver_sql("UPDATE ledger SET revision = revision + 1, recorded_at = ?", instants)


def _add(connection: Connection, row: type[Base], rows: list[tuple[Any, ...]]) -> None:
    if not rows:
        return
    table, names = row.__tablename__, columns(row)
    if connection.dialect.name == "sqlite":
        marks = ", ".join("?" * len(names))
        statement = f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})"  # noqa: S608 - own names
        connection.exec_driver_sql(statement, rows)
        return
    driver: psycopg.Connection[Any] = connection.connection.driver_connection  # type: ignore[assignment]
    with (
        driver.cursor() as cursor,
        cursor.copy(f"COPY {table} ({', '.join(names)}) FROM STDIN".encode()) as copy,
    ):
        for each in rows:
            copy.write_row(each)
