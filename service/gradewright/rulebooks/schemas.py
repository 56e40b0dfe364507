"""The wire forms of rulebooks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from gradewright.rulebooks.origins import Origin
from gradewright.rulebooks.service import Version
from gradewright.rulebooks.shape import DocumentShape
from gradewright.rulebooks.standing import State, called_off, spans
from gradewright.web.fields import Day, In, Out


class RulebookOut(Out):
    """A published version, in short. `state`: how it stands today.

    `in_force_until`: the day before another takes over, null while none is to; before `effective_from` where
    this one never is in force, as another version begins on that very day, or is in force instead of it:
    `replaced_by`, which names it in its document. `draft`, `approved_by`: the
    draft that it was published from and who approved it; null of one that was loaded, as those that ship are.
    """

    version: str
    effective_from: Day
    in_force_until: Day | None
    replaced_by: str | None
    state: State
    title: str
    summary: str
    sha256: str
    grades: int
    rules: int
    draft: str | None
    approved_by: str | None

    @classmethod
    def of(
        cls,
        version: Version,
        until: date | None,
        state: State,
        replaced_by: str | None,
        origin: Origin | None,
    ) -> RulebookOut:
        """The wire form."""
        book = version.rulebook
        return cls(
            version=book.version,
            effective_from=book.effective_from,
            in_force_until=until,
            replaced_by=replaced_by,
            state=state,
            title=book.title,
            summary=book.summary,
            sha256=book.sha256,
            grades=len(book.grades),
            rules=len(book.rules),
            draft=origin.draft if origin else None,
            approved_by=origin.approved_by if origin else None,
        )


class RulebookList(Out):
    """All published versions, the earliest in force first."""

    rulebooks: list[RulebookOut]

    @classmethod
    def of(cls, versions: Sequence[Version], today: date, origins: Mapping[str, Origin]) -> RulebookList:
        """The wire form of versions, in the order in which they take over from each other."""
        books = [version.rulebook for version in versions]
        found, off = spans(books, today), called_off(books)
        return cls(
            rulebooks=[
                RulebookOut.of(each, *found[name], off.get(name), origins.get(name))
                for each, name in ((version, version.rulebook.version) for version in versions)
            ]
        )


class RulebookDocument(DocumentShape):
    """A whole version, as published, with the SHA-256 of its canonical form."""

    sha256: str


class InForceQuery(In):
    """On which day."""

    on: Day | None = None
