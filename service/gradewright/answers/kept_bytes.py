"""Are kept answers still the bytes that were given? Each is held against the SHA-256 that was kept with it.

An answer carries the hash of its own bytes without that one member, and its row has it again, with the pins.
So a hand that changes any of them is told, unless it makes the hash anew in both: then only working the
answer out again tells, as its `replay` does.
"""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from sqlalchemy import LargeBinary, cast, func, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.answers import KeptAnswer
from gradewright.db.entries import bare
from gradewright.db.session import Database
from gradewright.ledger.difference import Difference
from gradewright.ledger.report import Report

PAGE = 500  # rows that are fetched at once: some megabytes at most
Tables = Iterable[tuple[str, type[KeptAnswer]]]


async def hold(
    database: Database,
    tables: Tables,
    report: Report,
    tell: Callable[[int, int], None] = lambda done, of: None,
) -> None:
    """Says in the report which kept answers are not what was kept. `tell(done, of)` as it goes on."""
    async with database.read() as session:
        held = [(noun, rows) for noun, rows in tables]
        of = sum([await session.scalar(select(func.count()).select_from(rows)) or 0 for _, rows in held])
        for noun, rows in held:
            columns = (rows.id, rows.rulebook, rows.revision, rows.method, rows.sha256, rows.answer)
            # Bytes whatever they are: what a hand has written into SQLite need be no text at all.
            raw = [bare(cast(each, LargeBinary) if database.embedded else each) for each in columns]
            await _hold(session, noun, raw, report, lambda done: tell(done, of))


async def _hold(
    session: AsyncSession, noun: str, columns: Sequence[Any], report: Report, tell: Callable[[int], None]
) -> None:
    asked = select(*columns).execution_options(yield_per=PAGE)
    async for page in (await session.stream(asked)).partitions():
        for name, rulebook, revision, method, sha256, answer in page:
            report.answers += 1
            wrong = fault(rulebook, revision, method, sha256, answer)
            if wrong:
                shown = _bytes(name).decode(errors="backslashreplace")
                report.say(Difference(noun, "changed", detail=f"{shown}: {wrong}"))
        tell(report.answers)


def fault(rulebook: Any, revision: Any, method: Any, sha256: Any, packed: Any) -> str:
    """What is wrong with a kept answer, or nothing."""
    try:
        body = zlib.decompress(_bytes(packed))
    except zlib.error:
        return "its bytes cannot be unpacked"
    said = _bytes(sha256)
    start = b'"pins":{"method":"%b","revision":%b,"rulebook":"%b"' % (
        _bytes(method),
        _bytes(revision),
        _bytes(rulebook),
    )
    before, found, after = body.partition(b'%b,"sha256":"%b"}' % (start, said))
    if not found:
        return "the answer has other pins than its row, or another SHA-256"
    hashed = hashlib.sha256(before)
    hashed.update(start)
    hashed.update(b"}")
    hashed.update(after)
    if hashed.hexdigest().encode() != said:
        return f"its bytes have the SHA-256 {hashed.hexdigest()}; {said.decode()} was kept with them"
    return ""


def _bytes(value: Any) -> bytes:
    return value if isinstance(value, bytes) else str(value).encode()
