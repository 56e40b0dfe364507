"""Rows of published rulebooks, and of what was found of documents. Only ever added."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from gradewright.db.base import Base


class RulebookRow(Base):
    """One version: its document as canonical JSON, and the SHA-256 (hex) of that text.

    `instead_of`: as the document has it, with commas; null where it names none.
    """

    __tablename__ = "rulebooks"

    version: Mapped[str] = mapped_column(primary_key=True)
    effective_from: Mapped[date] = mapped_column(index=True)
    instead_of: Mapped[str | None]
    title: Mapped[str]
    summary: Mapped[str]
    document: Mapped[str]
    sha256: Mapped[str]
    published_at: Mapped[datetime]
    revision: Mapped[int] = mapped_column(ForeignKey("revisions.revision"))


class ProofRow(Base):
    """What the prover found of a document (by the SHA-256 of its canonical form), kept so that it is looked
    for once. `asked`: which prover, with which house rules in use."""

    __tablename__ = "proofs"

    sha256: Mapped[str] = mapped_column(primary_key=True)
    asked: Mapped[str] = mapped_column(primary_key=True)
    found: Mapped[bytes]
    made_at: Mapped[datetime]


class ComparisonRow(Base):
    """What one document changes against another, by the SHA-256 of both, kept so that it is looked for once.
    `comparer`: which way of comparing."""

    __tablename__ = "comparisons"

    before: Mapped[str] = mapped_column(primary_key=True)
    after: Mapped[str] = mapped_column(primary_key=True)
    comparer: Mapped[str] = mapped_column(primary_key=True)
    found: Mapped[bytes]
    made_at: Mapped[datetime]
