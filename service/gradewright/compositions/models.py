"""Rows of what came out of devices: kinds, records with their parts, withdrawals. Only ever added.

`author` is empty where whoever runs the service loaded it.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

import gradewright.accounts.service
import gradewright.regions.service
import gradewright.rulebooks.service  # noqa: F401 - they bring the tables that are referred to
from gradewright.db.base import Base


class DeviceKindRow(Base):
    """A kind of device; `grade`: in which it is usually sold whole, if in one."""

    __tablename__ = "device_kinds"

    slug: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    grade: Mapped[str | None]
    revision: Mapped[int] = mapped_column(ForeignKey("revisions.revision"), index=True)
    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"))


class DeviceKindCorrectionRow(Base):
    """What a kind is called and usually sold whole as, from a revision on."""

    __tablename__ = "device_kind_corrections"

    kind: Mapped[str] = mapped_column(ForeignKey("device_kinds.slug"), primary_key=True)
    revision: Mapped[int] = mapped_column(
        ForeignKey("revisions.revision"), primary_key=True, autoincrement=False, index=True
    )
    name: Mapped[str]
    grade: Mapped[str | None]
    author: Mapped[str] = mapped_column(ForeignKey("accounts.handle"))
    reason: Mapped[str]


class CompositionRow(Base):
    """One device that was taken apart, or that a publication (`source`) tells of; weights as written.

    `rulebook`: the version that was in force when it was recorded, by which its parts have their grades.
    """

    __tablename__ = "compositions"

    id: Mapped[str] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(ForeignKey("revisions.revision"), index=True)
    kind: Mapped[str] = mapped_column(ForeignKey("device_kinds.slug"))
    taken_on: Mapped[date]
    weight: Mapped[str | None]
    made_year: Mapped[int | None]
    model: Mapped[str | None]
    minutes: Mapped[Decimal | None]
    region: Mapped[str | None] = mapped_column(ForeignKey("regions.code"))
    source: Mapped[str | None]
    from_memory: Mapped[bool]
    note: Mapped[str | None]
    rulebook: Mapped[str] = mapped_column(ForeignKey("rulebooks.version"))
    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"))


class ComponentRow(Base):
    """All of one grade in a device, by weight or by share of the whole; `observed`: as JSON, where told."""

    __tablename__ = "components"

    composition: Mapped[str] = mapped_column(ForeignKey("compositions.id"), primary_key=True)
    line: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    revision: Mapped[int] = mapped_column(ForeignKey("revisions.revision"), index=True)
    grade: Mapped[str]
    weight: Mapped[str | None]
    share: Mapped[str | None]
    count: Mapped[int | None]
    observed: Mapped[str | None]
    says: Mapped[str | None]


class CompositionWithdrawalRow(Base):
    """A record that counts no more, from a revision on."""

    __tablename__ = "composition_withdrawals"

    composition: Mapped[str] = mapped_column(ForeignKey("compositions.id"), primary_key=True)
    revision: Mapped[int] = mapped_column(ForeignKey("revisions.revision"), index=True)
    author: Mapped[str] = mapped_column(ForeignKey("accounts.handle"))
    reason: Mapped[str]
