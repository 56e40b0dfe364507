"""Rows of regions and their house rules. Only ever added.

`author` is empty where whoever runs the service said it on the spot, and in what is older than the column.
"""

from __future__ import annotations

from datetime import date

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

import gradewright.accounts.service  # noqa: F401 - brings the table of the authors
from gradewright.db.base import Base


class RegionRow(Base):
    """A region as it was made; `currency` and `unit` are what its price lists are shown in."""

    __tablename__ = "regions"

    code: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    parent: Mapped[str | None] = mapped_column(ForeignKey("regions.code"), index=True)
    currency: Mapped[str]
    unit: Mapped[str]
    revision: Mapped[int] = mapped_column(ForeignKey("revisions.revision"), index=True)
    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"), default=None)


class RegionLimitRow(Base):
    """A region's own value of a limit, from a day on; none of its own any more where `given` is empty."""

    __tablename__ = "region_limits"

    region: Mapped[str] = mapped_column(ForeignKey("regions.code"), primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)
    valid_from: Mapped[date] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(
        ForeignKey("revisions.revision"), primary_key=True, autoincrement=False, index=True
    )
    given: Mapped[str | None]
    says: Mapped[str | None]
    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"))
    reason: Mapped[str | None]


class RegionLabelRow(Base):
    """A region's own word for a grade, from a day on; out of use where `lifted`."""

    __tablename__ = "region_labels"

    region: Mapped[str] = mapped_column(ForeignKey("regions.code"), primary_key=True)
    label_folded: Mapped[str] = mapped_column(primary_key=True)
    valid_from: Mapped[date] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(
        ForeignKey("revisions.revision"), primary_key=True, autoincrement=False, index=True
    )
    label: Mapped[str]
    grade: Mapped[str]
    lifted: Mapped[bool | None]
    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"))
    reason: Mapped[str | None]


class RegionRefusalRow(Base):
    """A grade that yards in a region do not take, from a day on; taken again where `lifted`."""

    __tablename__ = "region_refusals"

    region: Mapped[str] = mapped_column(ForeignKey("regions.code"), primary_key=True)
    grade: Mapped[str] = mapped_column(primary_key=True)
    valid_from: Mapped[date] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(
        ForeignKey("revisions.revision"), primary_key=True, autoincrement=False, index=True
    )
    lifted: Mapped[bool | None]
    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"))
    reason: Mapped[str | None]
