"""Rows of yards, their labels and their refusals. Only ever added."""

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


class YardLabelRow(Base):
    """A yard's own word for a grade, from a day on. `label_folded` is what labels are compared by."""

    __tablename__ = "yard_labels"

    yard: Mapped[str] = mapped_column(ForeignKey("yards.slug"), primary_key=True)
    label_folded: Mapped[str] = mapped_column(primary_key=True)
    valid_from: Mapped[date] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(
        ForeignKey("revisions.revision"), primary_key=True, autoincrement=False, index=True
    )
    label: Mapped[str]
    grade: Mapped[str]


class YardRefusalRow(Base):
    """A grade that a yard does not take, from a day on."""

    __tablename__ = "yard_refusals"

    yard: Mapped[str] = mapped_column(ForeignKey("yards.slug"), primary_key=True)
    grade: Mapped[str] = mapped_column(primary_key=True)
    valid_from: Mapped[date] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(
        ForeignKey("revisions.revision"), primary_key=True, autoincrement=False, index=True
    )
