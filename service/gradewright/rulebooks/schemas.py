"""The wire forms of rulebooks."""

from __future__ import annotations

from gradewright.rulebooks.service import Version
from gradewright.rulebooks.shape import DocumentShape
from gradewright.web.fields import Day, In, Out


class RulebookOut(Out):
    """A published version, in short."""

    version: str
    effective_from: Day
    title: str
    summary: str
    sha256: str
    grades: int
    rules: int

    @classmethod
    def of(cls, version: Version) -> RulebookOut:
        """The wire form."""
        book = version.rulebook
        return cls(
            version=book.version,
            effective_from=book.effective_from,
            title=book.title,
            summary=book.summary,
            sha256=book.sha256,
            grades=len(book.grades),
            rules=len(book.rules),
        )


class RulebookList(Out):
    """All published versions, the earliest in force first."""

    rulebooks: list[RulebookOut]


class RulebookDocument(DocumentShape):
    """A whole version, as published, with the SHA-256 of its canonical form."""

    sha256: str


class InForceQuery(In):
    """On which day."""

    on: Day | None = None
