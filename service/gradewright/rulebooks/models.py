"""Rows of published rulebooks. Only ever added."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from gradewright.db.base import Base


class RulebookRow(Base):
    """One version: its document as canonical JSON, and the SHA-256 (hex) of that text."""

    __tablename__ = "rulebooks"

    version: Mapped[str] = mapped_column(primary_key=True)
    effective_from: Mapped[date] = mapped_column(index=True)
    title: Mapped[str]
    summary: Mapped[str]
    document: Mapped[str]
    sha256: Mapped[str]
    published_at: Mapped[datetime]
    revision: Mapped[int] = mapped_column(ForeignKey("revisions.revision"))
