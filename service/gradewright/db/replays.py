"""Answers kept under an idempotency key, so that a repeated write answers the first time's words."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Mapped, mapped_column

from gradewright.db.base import Base


class ReplayRow(Base):
    """One keyed request of one caller. Status and body are empty only inside the writing transaction."""

    __tablename__ = "idempotency"

    scope: Mapped[str] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(primary_key=True)
    request_sha256: Mapped[str]
    status: Mapped[int | None]
    headers: Mapped[str | None]
    body: Mapped[bytes | None]
    created_at: Mapped[datetime] = mapped_column(index=True)
