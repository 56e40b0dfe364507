"""Rows of accounts and of the digests of their keys."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from gradewright.db.base import Base


class AccountRow(Base):
    """A handle and what it may do."""

    __tablename__ = "accounts"
    __table_args__ = (CheckConstraint("role IN ('member', 'maintainer')", name="role"),)

    handle: Mapped[str] = mapped_column(primary_key=True)
    role: Mapped[str]
    created_at: Mapped[datetime]


class KeyRow(Base):
    """One key of an account: only the SHA-256 (hex) of it is ever stored."""

    __tablename__ = "keys"

    sha256: Mapped[str] = mapped_column(primary_key=True)
    handle: Mapped[str] = mapped_column(ForeignKey("accounts.handle"), index=True)
    label: Mapped[str]
    created_at: Mapped[datetime]
    revoked_at: Mapped[datetime | None]
