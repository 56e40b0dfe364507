"""Rows of the ledger: postings, and the entries that they consist of. Only ever added."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from gradewright.db.base import Base


class PostingRow(Base):
    """One act of a member: prices seen at one yard on one day."""

    __tablename__ = "postings"

    id: Mapped[str] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(ForeignKey("revisions.revision"), unique=True)
    yard: Mapped[str] = mapped_column(ForeignKey("yards.slug"))
    author: Mapped[str] = mapped_column(ForeignKey("accounts.handle"))
    observed_on: Mapped[date]
    evidence: Mapped[str]
    note: Mapped[str | None]
    recorded_at: Mapped[datetime]

    __table_args__ = (Index(None, "yard", "revision"), Index(None, "author", "revision"))


class EntryRow(Base):
    """One price as posted, never converted.

    Yard, day and author stand here again, so that a price list is one range of one index.
    """

    __tablename__ = "entries"

    revision: Mapped[int] = mapped_column(
        ForeignKey("revisions.revision"), primary_key=True, autoincrement=False
    )
    line: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    kind: Mapped[str]
    posting: Mapped[str] = mapped_column(ForeignKey("postings.id"), index=True)
    yard: Mapped[str] = mapped_column(ForeignKey("yards.slug"))
    author: Mapped[str] = mapped_column(ForeignKey("accounts.handle"))
    observed_on: Mapped[date]
    evidence: Mapped[str]
    grade: Mapped[str]
    label: Mapped[str | None]
    price: Mapped[Decimal]
    currency: Mapped[str]
    per: Mapped[str]
    from_weight: Mapped[str | None]

    __table_args__ = (
        Index(None, "yard", "observed_on", "revision"),  # a price list: all grades at a few yards
        # A series, and what a region lacks, looked for among the hundreds of yards around it: a grade that
        # none of them posts costs one look, where an index that begins with the yard would cost hundreds.
        Index(None, "grade", "observed_on", "yard"),
    )


class WordRow(Base):
    """A later word about one posted price: its author takes it back, others confirm or dispute it, a
    maintainer decides.

    Yard and day are those of the price, so that what was said about a price list is one range of one index.
    """

    __tablename__ = "words"

    revision: Mapped[int] = mapped_column(
        ForeignKey("revisions.revision"), primary_key=True, autoincrement=False
    )
    line: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    kind: Mapped[str]
    posting: Mapped[str] = mapped_column(ForeignKey("postings.id"))
    about: Mapped[int]
    yard: Mapped[str] = mapped_column(ForeignKey("yards.slug"))
    observed_on: Mapped[date]
    author: Mapped[str] = mapped_column(ForeignKey("accounts.handle"))
    verdict: Mapped[str | None]
    reason: Mapped[str]

    __table_args__ = (
        CheckConstraint("kind IN ('withdrawal', 'confirmation', 'dispute', 'decision')", name="kind"),
        CheckConstraint(
            "(kind = 'decision') = (verdict IS NOT NULL) AND verdict IN ('accepted', 'rejected')",
            name="verdict",
        ),
        Index(None, "posting", "about"),
        Index(None, "yard", "observed_on"),
    )
