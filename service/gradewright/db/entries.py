"""Entries of the ledger in their canonical form: the bytes that are hashed, made from rows in one way only.

RFC 8785 JSON of an object whose values are strings, integers or null. openapi/LEDGER.md says it to the byte.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from decimal import Decimal
from operator import attrgetter
from types import MappingProxyType
from typing import Any, NamedTuple

import msgspec
from sqlalchemy import ColumnElement, Text, select, type_coerce
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.merkle import leaf_hash
from gradewright.db.base import Base

Entry = dict[str, Any]
"""An entry's kind and its own members, as they stand in its canonical form."""

# Sorted keys, no spaces, UTF-8, and escapes as RFC 8785 wants them: a test holds it to that, sign by sign.
_encode = msgspec.json.Encoder(order="sorted").encode
_AS_IT_IS = frozenset({str, int, type(None)})


class Line(NamedTuple):
    """An entry with its place: the revision that brought it, and which of that revision's entries it is."""

    revision: int
    line: int
    entry: Entry


def canonical(entry: Mapping[str, Any]) -> bytes:
    """The canonical bytes of a whole entry."""
    return _encode(entry)


def whole(number: int, line: Line, recorded_at: str | None) -> Entry:
    """The entry with the members that every entry has. `number`: of its leaf, from 0."""
    return {
        **line.entry,
        "number": number,
        "revision": line.revision,
        "line": line.line,
        "recorded_at": recorded_at,
    }


def hash_of(number: int, line: Line, recorded_at: str | None) -> bytes:
    """The hash of the entry's leaf."""
    return leaf_hash(_encode(whole(number, line, recorded_at)))


def plain(value: Any) -> Any:
    """A value of a row as it stands in an entry: days, instants and decimals as text."""
    if type(value) in _AS_IT_IS:
        return value
    if isinstance(value, bool):
        return int(value)
    if isinstance(value, datetime):
        return value.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return format(value, "f")
    return repr(value)  # what no write of the service has put there: it can only differ


@dataclass(frozen=True, slots=True)
class Form:
    """How rows of a table become entries: used when a row is written, and when it is read to be proved."""

    kind: str
    row: type[Base]
    members: tuple[str, ...]
    """The columns that an entry tells, in the order in which they are read; one of them may be the kind."""
    names: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    """The names of members that are called otherwise than their columns."""
    added: frozenset[str] = frozenset()
    """Members that entries did not have at first: left out where they are null, so that old ones stay."""
    _named: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_named", tuple(self.names.get(member, member) for member in self.members))

    def entry(self, values: Sequence[Any]) -> Entry:
        """The entry of a row: its values in the order of `members`."""
        if not _AS_IT_IS.issuperset(map(type, values)):  # SQLite gives text already
            values = list(map(plain, values))
        entry = {"kind": self.kind, **dict(zip(self._named, values, strict=True))}
        for member in self.added:
            if entry[member] is None:
                del entry[member]
        return entry

    def of(self, row: Base | Mapping[str, Any]) -> Entry:
        """The entry of a row that is written: an object, or its columns by name; a missing one is null."""
        if isinstance(row, Mapping):
            return self.entry([row.get(member) for member in self.members])
        return self.entry(attrgetter(*self.members)(row))

    async def read(self, session: AsyncSession, after: int, upto: int, *more: str) -> list[Any]:
        """The rows of revisions after one, up to another: revision, the columns `more`, the members.

        Values are as the database has them, read by no type: what was put there by hand comes through.
        """
        columns = [bare(getattr(self.row, name)) for name in ("revision", *more, *self.members)]
        revision = self.row.__table__.c.revision
        rows = await session.execute(select(*columns).where(revision > after, revision <= upto))
        return list(rows.all())


def in_order(found: Iterable[tuple[int, int, Sequence[Any], Entry]]) -> list[Line]:
    """Entries by revision; inside one by their rank and key, which is what numbers the lines from 1 on."""
    lines: list[Line] = []
    last, line = None, 0
    for revision, _, _, entry in sorted(found, key=_place):
        line = line + 1 if revision == last else 1
        last = revision
        lines.append(Line(revision, line, entry))
    return lines


Forms = Sequence[tuple[Form, int]]
"""In the order of their lines in a revision, with how many of their first members are the key."""


def written(forms: Forms, rows: Mapping[str, Iterable[Mapping[str, Any]]]) -> list[Entry]:
    """The entries of one write, in order: the rows that it adds, by kind, each its columns by name."""
    found = [
        (0, rank, [row[member] for member in form.members[:key]], form.of(row))
        for rank, (form, key) in enumerate(forms)
        for row in rows.get(form.kind, ())
    ]
    return [line.entry for line in in_order(found)]


async def between(session: AsyncSession, forms: Forms, after: int, upto: int) -> list[Line]:
    """The entries of some kinds of revisions after one, up to another."""
    found = []
    for rank, (form, key) in enumerate(forms):
        for revision, *values in await form.read(session, after, upto):
            found.append((revision, rank, values[:key], form.entry(values)))
    return in_order(found)


def _place(found: tuple[int, int, Sequence[Any], Entry]) -> tuple[int, int, tuple[str, ...]]:
    revision, rank, key, _ = found
    return revision, rank, tuple(str(plain(part)) for part in key)


def bare(column: Any) -> ColumnElement[Any]:
    """A column whose values are not converted."""
    return type_coerce(column, Text())
