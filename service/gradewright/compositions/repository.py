"""Queries of kinds of device and of what came out of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.compositions.entries import COMPONENT, COMPOSITION, KIND, KIND_CORRECTION, WITHDRAWAL
from gradewright.compositions.models import (
    ComponentRow,
    CompositionRow,
    CompositionWithdrawalRow,
    DeviceKindCorrectionRow,
    DeviceKindRow,
)
from gradewright.db.base import Base

TABLES: Mapping[str, type[Base]] = {
    form.kind: form.row for form in (KIND, COMPOSITION, COMPONENT, WITHDRAWAL, KIND_CORRECTION)
}
Rows = Mapping[str, Sequence[dict[str, Any]]]
"""The rows of one write by the kinds of their entries, each its columns by name."""


async def kinds_between(session: AsyncSession, after: int, upto: int) -> Sequence[DeviceKindRow]:
    """The kinds made after a revision, up to another."""
    row = DeviceKindRow
    found = select(row).where(row.revision > after, row.revision <= upto)
    return (await session.scalars(found.order_by(row.revision, row.slug))).all()


async def corrections_between(
    session: AsyncSession, after: int, upto: int
) -> Sequence[DeviceKindCorrectionRow]:
    """The corrections of kinds made after a revision, up to another, in the order of the ledger."""
    row = DeviceKindCorrectionRow
    found = select(row).where(row.revision > after, row.revision <= upto)
    return (await session.scalars(found.order_by(row.revision, row.kind))).all()


async def records_between(session: AsyncSession, after: int, upto: int) -> Sequence[CompositionRow]:
    """The records made after a revision, up to another, in the order of the ledger."""
    row = CompositionRow
    found = select(row).where(row.revision > after, row.revision <= upto)
    return (await session.scalars(found.order_by(row.revision, row.id))).all()


async def parts_between(session: AsyncSession, after: int, upto: int) -> dict[str, list[ComponentRow]]:
    """The parts of those records, by record, line by line."""
    row = ComponentRow
    found = select(row).where(row.revision > after, row.revision <= upto)
    by_record: dict[str, list[ComponentRow]] = {}
    for part in await session.scalars(found.order_by(row.composition, row.line)):
        by_record.setdefault(part.composition, []).append(part)
    return by_record


async def withdrawals_between(
    session: AsyncSession, after: int, upto: int
) -> Sequence[CompositionWithdrawalRow]:
    """What was taken back after a revision, up to another."""
    row = CompositionWithdrawalRow
    return (await session.scalars(select(row).where(row.revision > after, row.revision <= upto))).all()


async def is_kind(session: AsyncSession, slug: str) -> bool:
    """Whether there is a kind of that name."""
    return await session.get(DeviceKindRow, slug) is not None


async def record(session: AsyncSession, name: str) -> CompositionRow | None:
    """The record of that name."""
    return await session.get(CompositionRow, name)


async def is_withdrawn(session: AsyncSession, name: str) -> bool:
    """Whether a record has been taken back."""
    return await session.get(CompositionWithdrawalRow, name) is not None


async def add(session: AsyncSession, rows: Rows) -> None:
    """Adds the rows of one write, in the order in which they refer to each other."""
    for kind, table in TABLES.items():
        if rows.get(kind):
            await session.execute(insert(table), rows[kind])
