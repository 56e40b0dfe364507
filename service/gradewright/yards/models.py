"""Rows of yards and their house rules: limits, labels, refusals. Only ever added.

`author` is empty where whoever runs the service said it on the spot, and in what is older than the column;
so is `reason`.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from gradewright.db.base import Base


class YardRow(Base):
    """A yard and its terms: the currency it pays in, the unit it quotes by, how it rounds."""

    __tablename__ = "yards"
    __table_args__ = (CheckConstraint("rounding IN ('half-even', 'half-up', 'down')", name="rounding"),)

    slug: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    region: Mapped[str] = mapped_column(ForeignKey("regions.code"), index=True)
    currency: Mapped[str]
    unit: Mapped[str]
    rounding: Mapped[str]
    cash_increment: Mapped[Decimal | None]
    revision: Mapped[int] = mapped_column(ForeignKey("revisions.revision"), index=True)
    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"), default=None)


class YardLimitRow(Base):
    """A yard's own value of a limit, from a day on; none of its own any more where `given` is empty."""

    __tablename__ = "yard_limits"

    yard: Mapped[str] = mapped_column(ForeignKey("yards.slug"), primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)
    valid_from: Mapped[date] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(
        ForeignKey("revisions.revision"), primary_key=True, autoincrement=False, index=True
    )
    given: Mapped[str | None]
    says: Mapped[str | None]
    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"))
    reason: Mapped[str | None]


class YardLabelRow(Base):
    """A yard's own word for a grade, from a day on; out of use where `lifted`.

    `label_folded` is what labels are compared by.
    """

    __tablename__ = "yard_labels"

    yard: Mapped[str] = mapped_column(ForeignKey("yards.slug"), primary_key=True)
    label_folded: Mapped[str] = mapped_column(primary_key=True)
    valid_from: Mapped[date] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(
        ForeignKey("revisions.revision"), primary_key=True, autoincrement=False, index=True
    )
    label: Mapped[str]
    grade: Mapped[str]
    lifted: Mapped[bool | None] = mapped_column(default=None)
    reason: Mapped[str | None] = mapped_column(default=None)
    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"), default=None)


class YardRefusalRow(Base):
    """A grade that a yard does not take, from a day on; taken again where `lifted`."""

    __tablename__ = "yard_refusals"

    yard: Mapped[str] = mapped_column(ForeignKey("yards.slug"), primary_key=True)
    grade: Mapped[str] = mapped_column(primary_key=True)
    valid_from: Mapped[date] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(
        ForeignKey("revisions.revision"), primary_key=True, autoincrement=False, index=True
    )
    lifted: Mapped[bool | None] = mapped_column(default=None)
    reason: Mapped[str | None] = mapped_column(default=None)
    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"), default=None)
