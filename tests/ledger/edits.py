"""Edits that somebody with the database in hand could make, one at random, and what must be named then."""
# ruff: noqa: S608 - statements made of names that stand in this file

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import text
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.ledger.difference import Difference

KEYS: dict[str, tuple[str, ...]] = {
    "entries": ("revision", "line"),
    "words": ("revision", "line"),
    "postings": ("id",),
    "regions": ("code",),
    "yards": ("slug",),
    "yard_labels": ("yard", "label_folded", "valid_from", "revision"),
    "yard_refusals": ("yard", "grade", "valid_from", "revision"),
    "yard_limits": ("yard", "name", "valid_from", "revision"),
    "region_limits": ("region", "name", "valid_from", "revision"),
    "region_labels": ("region", "label_folded", "valid_from", "revision"),
    "region_refusals": ("region", "grade", "valid_from", "revision"),
    "benchmarks": ("slug",),
    "benchmark_values": ("benchmark", "day", "revision"),
    "device_kinds": ("slug",),
    "device_kind_corrections": ("kind", "revision"),
    "compositions": ("id",),
    "components": ("composition", "line"),
    "composition_withdrawals": ("composition",),
    "rulebooks": ("version",),
    "revisions": ("revision",),
    "leaves": ("number",),
    "nodes": ("level", "number"),
    "trees": ("revision",),
}
WEIGHTS = {"entries": 10, "leaves": 4, "trees": 3, "nodes": 3, "postings": 3}
CHOICES: dict[str, tuple[str, ...]] = {
    "evidence": ("ticket", "written-list", "sign", "told"),
    "rounding": ("half-even", "half-up", "down"),
    "verdict": ("accepted", "rejected"),
    "kind": ("withdrawal", "confirmation", "dispute"),
}
Row = dict[str, Any]


@dataclass
class Edit:
    """What was done, and what tells a difference that names it from one that does not."""

    says: str
    names: Callable[[Difference], bool]
    touched: set[int] = field(default_factory=set)
    """The revisions in which anything may be told."""


class Editor:
    """Makes edits in a session whose triggers are out of the way."""

    def __init__(self, session: AsyncSession, chance: random.Random) -> None:
        self.session = session
        self.chance = chance

    async def rows(self, table: str) -> list[Row]:
        """All rows of a table, in the order of their keys."""
        order = ", ".join(KEYS[table])
        found = await self.session.execute(text(f"SELECT * FROM {table} ORDER BY {order}"))
        return [dict(row) for row in found.mappings()]

    async def set(self, table: str, row: Row, **values: Any) -> None:
        """Changes a row."""
        setting = ", ".join(f"{name} = :new_{name}" for name in values)
        where = " AND ".join(f"{name} = :{name}" for name in KEYS[table])
        keys = {name: row[name] for name in KEYS[table]}
        new = {f"new_{name}": value for name, value in values.items()}
        done = await self.session.execute(text(f"UPDATE {table} SET {setting} WHERE {where}"), keys | new)
        assert done.rowcount == 1  # type: ignore[attr-defined]

    async def remove(self, table: str, row: Row) -> None:
        """Removes a row."""
        where = " AND ".join(f"{name} = :{name}" for name in KEYS[table])
        await self.session.execute(
            text(f"DELETE FROM {table} WHERE {where}"), {name: row[name] for name in KEYS[table]}
        )

    async def add(self, table: str, row: Row) -> None:
        """Adds a row."""
        names = ", ".join(row)
        marks = ", ".join(f":{name}" for name in row)
        await self.session.execute(text(f"INSERT INTO {table} ({names}) VALUES ({marks})"), row)

    async def one(self) -> Edit:
        """One edit at random."""
        tables = list(KEYS)
        (table,) = self.chance.choices(tables, [WEIGHTS.get(name, 1) for name in tables])
        how = self.chance.choice((self.change, self.change, self.take, self.put, self.swap))
        return await how(table)

    async def change(self, table: str) -> Edit:
        """A value of a row becomes another."""
        row = self.chance.choice(await self.rows(table))
        column = self.chance.choice([name for name in row if name not in KEYS[table]])
        new = row[column] + 1_000 if column == "revision" else self._other(column, row[column])
        await self.set(table, row, **{column: new})
        says = f"{table}.{column} of {_key(table, row)}: {row[column]!r} -> {new!r}"
        now = {**row, column: new}
        here, there = _named(table, row), _named(table, now)
        return Edit(says, lambda found: here(found) or there(found), _in(row) | _in(now))

    def _other(self, column: str, value: Any) -> Any:
        if column in CHOICES and value in CHOICES[column]:
            return self.chance.choice([other for other in CHOICES[column] if other != value])
        if column in {"lifted", "from_memory"}:
            return not value
        if isinstance(value, bytes):
            place = self.chance.randrange(len(value))
            return value[:place] + bytes([value[place] ^ 1]) + value[place + 1 :]
        if isinstance(value, int):
            return value + self.chance.choice((-1, 1, 7))
        if hasattr(value, "year") or (isinstance(value, str) and value[:2] == "20" and value[4:5] == "-"):
            return _later(value)
        return f"{value}x" if column != "price" else f"{value}1"

    async def take(self, table: str) -> Edit:
        """A row is removed."""
        row = self.chance.choice(await self.rows(table))
        await self.remove(table, row)
        return Edit(f"{table} {_key(table, row)} removed", _named(table, row), _in(row))

    async def put(self, table: str) -> Edit:
        """A row is added, like another but for its key."""
        rows = await self.rows(table)
        row = dict(self.chance.choice(rows))
        if table in {"entries", "words"}:
            row["line"] = max(other["line"] for other in rows if other["revision"] == row["revision"]) + 1
        elif table == "leaves":
            row["number"] = rows[-1]["number"] + self.chance.choice((1, 2, 300))
        elif table == "nodes":
            row["number"] += 10
        elif table in {"trees", "revisions"}:
            row["revision"] = rows[-1]["revision"] + self.chance.choice((1, 5))
        elif table == "postings":
            row["id"] += "x"
            row["revision"] += 1_000
        else:
            last = KEYS[table][1 if "valid_from" in row else 0]
            row[last] += "x"
        await self.add(table, row)
        return Edit(f"{table} {_key(table, row)} added", _named(table, row), _in(row))

    async def swap(self, table: str) -> Edit:
        """Two rows take each other's place: all values but the key, or all values but one."""
        rows = await self.rows(table)
        if len(rows) < 2:
            return await self.change(table)
        one, other = self.chance.sample(rows, 2)
        inner = [name for name in one if name not in KEYS[table]]
        if self.chance.random() < 0.5:
            inner = [self.chance.choice(inner)]
        swapped = [name for name in inner if one[name] != other[name]]
        if not swapped:
            return await self.swap(table)
        if table == "postings" and "revision" in swapped:
            await self.set(table, other, revision=10_000_000)
        await self.set(table, one, **{name: other[name] for name in swapped})
        await self.set(table, other, **{name: one[name] for name in swapped})
        first, second = _named(table, one), _named(table, other)
        says = f"{table} {_key(table, one)} and {_key(table, other)} swapped in {', '.join(swapped)}"
        return Edit(says, lambda found: first(found) or second(found), _in(one) | _in(other))


def _key(table: str, row: Row) -> tuple[Any, ...]:
    return tuple(row[name] for name in KEYS[table])


def _in(row: Row) -> set[int]:
    return {row["revision"]} if "revision" in row else set()


def _later(value: Any) -> Any:
    """A day or an instant a year later."""
    if isinstance(value, str):
        return f"{int(value[:4]) + 1}{value[4:]}"
    return value.replace(year=value.year + 1)


def _named(table: str, row: Row) -> Callable[[Difference], bool]:
    """Whether a difference is told where the row is, or belongs."""
    if table in {"entries", "words"}:
        return lambda found: (
            found.of == "entry" and (found.revision, found.line) == (row["revision"], row["line"])
        )
    if table == "leaves":
        return lambda found: found.of in {"leaf", "entry"} and found.entry == row["number"]
    if table == "nodes":
        return lambda found: (
            found.of == "node" and (found.level, found.number) == (row["level"], row["number"])
        )
    if table == "trees":
        return lambda found: found.of == "tree" and found.revision == row["revision"]
    if table == "revisions":
        kinds = {"revision", "entry", "posting", "ledger", "rulebook"}
        return lambda found: found.of in kinds and found.revision == row["revision"]
    kinds = {"postings": {"posting", "entry"}, "rulebooks": {"rulebook", "entry"}}.get(table, {"entry"})
    return lambda found: found.of in kinds and found.revision == row["revision"]
