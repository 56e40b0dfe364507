"""From rows to what the core counts: each revision's rows are read once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import chain
from types import MappingProxyType

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.compositions import repository
from gradewright.compositions.kept import Compositions, DeviceKind, Kept
from gradewright.compositions.models import ComponentRow, CompositionRow
from gradewright.core.composition import Piece, Record
from gradewright.core.quantities import parse_share
from gradewright.core.units import parse_mass


async def load(session: AsyncSession, known: Compositions, after: int, upto: int) -> Compositions:
    """What is known with what the revisions in between have brought."""
    made = await repository.kinds_between(session, after, upto)
    rows = await repository.records_between(session, after, upto)
    withdrawn = await repository.withdrawals_between(session, after, upto)
    corrected = await repository.corrections_between(session, after, upto)
    if not made and not rows and not withdrawn and not corrected:
        return known
    parts = await repository.parts_between(session, after, upto)
    kinds = dict(known.by_slug)
    for kind in made:
        kinds[kind.slug] = DeviceKind(kind.slug, kind.name, kind.grade, kind.revision)
    were = dict(known.were)
    for one in corrected:
        were[one.kind] = (*were.get(one.kind, ()), kinds[one.kind])
        kinds[one.kind] = DeviceKind(one.kind, one.name, one.grade, one.revision)
    records = {kept.record.name: kept for kept in _every(known)}
    for number, row in enumerate(rows):
        records[row.id] = kept_of(row, parts.get(row.id, []), number)
    for word in withdrawn:
        records[word.composition] = replace(
            records[word.composition], withdrawn=word.revision, reason=word.reason
        )
    by_kind: dict[str, list[Kept]] = {}
    for kept in records.values():
        by_kind.setdefault(kept.row.kind, []).append(kept)
    found = {slug: tuple(ones) for slug, ones in by_kind.items()}
    brought = (
        (kind.revision for kind in made),
        (row.revision for row in rows),
        (w.revision for w in withdrawn),
        (one.revision for one in corrected),
    )
    changed = max([known.changed, *chain.from_iterable(brought)])
    # What records say together is remembered by their names: it holds whatever else has come.
    return Compositions(
        MappingProxyType(kinds),
        MappingProxyType(found),
        changed,
        known.said,
        known.waits,
        MappingProxyType(were),
    )


def _every(known: Compositions) -> Iterable[Kept]:
    return (kept for ones in known.by_kind.values() for kept in ones)


def kept_of(row: CompositionRow, parts: Sequence[ComponentRow], number: int) -> Kept:
    """A record as the core counts it: a publication that the operator loaded has a voice of its own."""
    voice = row.author or f"published: {row.source or row.id}"
    pieces = tuple(
        Piece(
            part.grade,
            None if part.weight is None else parse_mass(part.weight).grams,
            None if part.share is None else parse_share(part.share),
            part.count,
        )
        for part in parts
    )
    grams = None if row.weight is None else parse_mass(row.weight).grams
    record = Record(
        row.id, voice, (row.revision, number), pieces, grams, row.minutes,
        published=row.source is not None, unsure=row.from_memory,
    )  # fmt: skip
    return Kept(record, row, tuple(parts))
