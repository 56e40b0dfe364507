"""Rows of drafts and of every step taken with them. Only ever added."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

import gradewright.accounts.service
import gradewright.rulebooks.service  # noqa: F401 - both bring the tables that are referred to
from gradewright.db.base import Base


class DraftRow(Base):
    """A draft, and what it was made from: a published version, a step of another draft, or a document."""

    __tablename__ = "drafts"

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    from_version: Mapped[str | None] = mapped_column(ForeignKey("rulebooks.version"))
    from_draft: Mapped[int | None] = mapped_column(ForeignKey("drafts.number"))
    from_step: Mapped[int | None]


class StepRow(Base):
    """One step: who, when, what, why; and how the draft stands after it.

    `document` is the whole document, compressed, where the step brought another one; `sha256` is always that
    of the document after the step. `version`, `effective_from` and `title` are as the document has them,
    where it has them as text. `base` is the published version whose changes the document has in it. `text` is
    the document as the step brought it, compressed, where that was YAML: with its comments.
    """

    __tablename__ = "draft_steps"
    __table_args__ = (
        CheckConstraint(
            "step IN ('made', 'edited', 'submitted', 'refused', 'approved', 'withdrawn')", name="step"
        ),
    )

    draft: Mapped[int] = mapped_column(ForeignKey("drafts.number"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    step: Mapped[str]
    author: Mapped[str] = mapped_column(ForeignKey("accounts.handle"))
    taken_at: Mapped[datetime]
    why: Mapped[str]
    base: Mapped[str | None] = mapped_column(ForeignKey("rulebooks.version"))
    version: Mapped[str | None]
    effective_from: Mapped[str | None]
    title: Mapped[str | None]
    sha256: Mapped[str]
    document: Mapped[bytes | None]
    text: Mapped[bytes | None]
