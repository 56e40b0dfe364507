"""Prices, and later words about them, as entries of the ledger.

The prices of a posting have the lines of the posting; words that come in the same revision come after them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.entries import Entry, Form, Line, bare, plain
from gradewright.prices.models import EntryRow, PostingRow, WordRow

PRICE = Form(
    "price",
    EntryRow,
    (
        "kind",
        "posting",
        "yard",
        "author",
        "observed_on",
        "evidence",
        "grade",
        "label",
        "price",
        "currency",
        "per",
        "from_weight",
    ),
)
COPIED = ("yard", "author", "observed_on", "evidence")
"""What a posting says that its prices repeat."""
WORD = Form(
    "word", WordRow, ("kind", "posting", "about", "yard", "observed_on", "author", "verdict", "reason")
)


def price_entry(price: Entry, note: object) -> Entry:
    """A price tells its posting's note too, so that it can be read alone."""
    price["note"] = note
    return price


def prices_written(posting: PostingRow, entries: Iterable[EntryRow]) -> list[Entry]:
    """The entries of a posting that is written, line by line."""
    return [price_entry(PRICE.of(row), posting.note) for row in entries]


def words_written(words: Iterable[WordRow]) -> list[Entry]:
    """The entries of later words that are written, line by line."""
    return [WORD.of(row) for row in words]


async def between(session: AsyncSession, after: int, upto: int) -> list[Line]:
    """The prices and words recorded after revision `after`, up to `upto`."""
    notes = await _notes(session, after, upto)
    prices = [
        Line(revision, line, price_entry(PRICE.entry(values), notes.get(values[1])))
        for revision, line, *values in await PRICE.read(session, after, upto, "line")
    ]
    words = [
        Line(revision, line, WORD.entry(values))
        for revision, line, *values in await WORD.read(session, after, upto, "line")
    ]
    return sorted([*prices, *words], key=_place)


async def copies(
    session: AsyncSession, after: int, upto: int, told: Mapping[int, Sequence[Entry]]
) -> tuple[dict[int, str], list[tuple[int, str, str]]]:
    """What postings say beside their prices: when each revision's was recorded; and where a posting is not
    there, has no prices, or is not what they tell of it (revision, posting, what). `told`: the entries."""
    columns = (PostingRow.revision, PostingRow.id, PostingRow.recorded_at, *map(_of_posting, COPIED))
    rows = await session.execute(
        select(*map(bare, columns)).where(PostingRow.revision > after, PostingRow.revision <= upto)
    )
    recorded: dict[int, str] = {}
    faults: list[tuple[int, str, str]] = []
    postings: dict[object, set[int]] = {}
    for revision, posting, recorded_at, *values in rows:
        recorded[revision] = plain(recorded_at)
        postings.setdefault(posting, set()).add(revision)
        said = dict(zip(COPIED, map(plain, values), strict=True))
        has_prices = False
        for entry in told.get(revision, ()):
            if entry.get("posting") == posting and "price" in entry:
                has_prices = True
                faults += [
                    (revision, str(posting), f"{name} is {said[name]!r}; its prices say {entry[name]!r}")
                    for name in COPIED
                    if entry[name] != said[name]
                ]
        if not has_prices:
            faults.append((revision, str(posting), "has no prices"))
    for revision, entries in told.items():
        for posting in {str(entry["posting"]) for entry in entries if "price" in entry}:
            if revision not in postings.get(posting, ()):
                faults.append((revision, posting, "is not there; its prices are"))
    return recorded, list(dict.fromkeys(faults))


def _place(line: Line) -> tuple[int, float]:
    """By revision and line; a line that is no number, which only a hand can have put there, comes last."""
    return line.revision, line.line if type(line.line) is int else math.inf


def _of_posting(name: str) -> Any:
    return getattr(PostingRow, name)


async def _notes(session: AsyncSession, after: int, upto: int) -> dict[object, object]:
    rows = await session.execute(
        select(bare(PostingRow.id), bare(PostingRow.note)).where(
            PostingRow.revision > after, PostingRow.revision <= upto
        )
    )
    return {posting: plain(note) for posting, note in rows}
