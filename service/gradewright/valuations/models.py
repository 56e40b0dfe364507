"""Rows of kept valuations. Only ever added."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from gradewright.db.base import Base


class ValuationRow(Base):
    """A kept valuation: the request, its pins, and the answer byte for byte, as `db.packed` packs it."""

    __tablename__ = "valuations"

    id: Mapped[str] = mapped_column(primary_key=True)
    created_at: Mapped[datetime] = mapped_column(index=True)
    request: Mapped[str]
    rulebook: Mapped[str] = mapped_column(ForeignKey("rulebooks.version"))
    revision: Mapped[int]
    method: Mapped[str]
    answer: Mapped[bytes]
    sha256: Mapped[str]
    # Of the tree over the ledger at that revision; empty where it was kept before there was a tree.
    tree_size: Mapped[int | None] = mapped_column(default=None)
    tree_root: Mapped[bytes | None] = mapped_column(default=None)
