"""Rows of benchmarks and their values. Only ever added; a correction is a later value of the same day."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

import gradewright.accounts.service  # noqa: F401 - brings the table of the authors
from gradewright.db.base import Base


class BenchmarkRow(Base):
    """A benchmark as it was made. An index has neither `currency` nor `unit`; `source`: where it is from."""

    __tablename__ = "benchmarks"

    slug: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    currency: Mapped[str | None]
    unit: Mapped[str | None]
    source: Mapped[str]
    revision: Mapped[int] = mapped_column(ForeignKey("revisions.revision"), index=True)
    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"))


class BenchmarkValueRow(Base):
    """The value of a benchmark on a day, as it was recorded at a revision."""

    __tablename__ = "benchmark_values"

    benchmark: Mapped[str] = mapped_column(ForeignKey("benchmarks.slug"), primary_key=True)
    day: Mapped[date] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(
        ForeignKey("revisions.revision"), primary_key=True, autoincrement=False, index=True
    )
    value: Mapped[Decimal]
    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"))
