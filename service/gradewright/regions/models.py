"""Rows of regions. Only ever added."""

from __future__ import annotations

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

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
