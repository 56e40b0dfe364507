"""Prices, and later words about them, as entries of the ledger.

The prices of a posting have the lines of the posting; words that come in the same revision come after them.
"""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.entries import Entry, Form, Line, bare
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
    return sorted([*prices, *words], key=lambda line: line[:2])


async def _notes(session: AsyncSession, after: int, upto: int) -> dict[object, object]:
    rows = await session.execute(
        select(bare(PostingRow.id), bare(PostingRow.note)).where(
            PostingRow.revision > after, PostingRow.revision <= upto
        )
    )
    return dict(rows.all())
