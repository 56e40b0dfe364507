"""Rows of settled tickets, beside the answers that are kept of them. Only ever added.

They are private to their author: no entries of the ledger, which anyone can read.
"""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from gradewright.db.base import Base


class SettlementRow(Base):
    """A kept settlement: whose, of which ticket, and the posting of its prices, if they were posted.

    `ticket` is the hash of what makes it one; `turn` counts how often it was settled again after it was taken
    back, so that of two who settle it at the same time one is too late. `alike` is the hash of what tickets
    have in common that look like one, under whatever number and by whomever; of what was kept before that was
    told it is empty, or has the author in it.
    """

    __tablename__ = "settlements"
    __table_args__ = (UniqueConstraint("ticket", "turn"),)

    id: Mapped[str] = mapped_column(ForeignKey("answers.id"), primary_key=True)
    yard: Mapped[str] = mapped_column(ForeignKey("yards.slug"), index=True)
    author: Mapped[str] = mapped_column(ForeignKey("accounts.handle"))
    ticket_on: Mapped[date]
    ticket: Mapped[str]
    turn: Mapped[int]
    posting: Mapped[str | None] = mapped_column(ForeignKey("postings.id"))
    settled_at: Mapped[datetime]
    alike: Mapped[str | None] = mapped_column(default=None, index=True)


class SettledBinRow(Base):
    """How one bin on a ticket was accepted: the share of its price that it was marked down by, 0 if none.

    `unclear`: the ticket does not tell, and the share says nothing; empty of what was kept before that was
    told.
    """

    __tablename__ = "settled_bins"

    settlement: Mapped[str] = mapped_column(ForeignKey("settlements.id"), primary_key=True)
    grade: Mapped[str] = mapped_column(primary_key=True)
    share: Mapped[Decimal]
    unclear: Mapped[bool | None] = mapped_column(default=None)


class WithdrawalRow(Base):
    """That a settlement was taken back, by whom and why: it then counts in no figure."""

    __tablename__ = "settlement_withdrawals"

    settlement: Mapped[str] = mapped_column(ForeignKey("settlements.id"), primary_key=True)
    author: Mapped[str] = mapped_column(ForeignKey("accounts.handle"))
    reason: Mapped[str]
    recorded_at: Mapped[datetime]
