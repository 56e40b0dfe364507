"""Which version, published already, ends the one that a draft would become, and what is gone then."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from gradewright.core.errors import Fault, Path, Refused
from gradewright.drafts.changes import Change, changes
from gradewright.rulebooks.source import Document
from gradewright.rulebooks.standing import Standing

MOST_TOLD = 3
OWN = frozenset({"version", "effective_from", "instead_of", "title", "summary"})
"""What each version says of itself: nothing of it can be gone."""


@dataclass(frozen=True, slots=True)
class Ending:
    """The version that takes over from the draft's, and its first day.

    `lost`: the places that the draft changes and that version has otherwise, by their text; None where it is
    not known what the draft changes.
    """

    version: str
    effective_from: date
    lost: tuple[Change, ...] | None
    after: int = 0

    def told(self) -> str:
        """What happens on that day, and what to do about it."""
        more = f", and {self.after} more from later days on" if self.after else ""
        return (
            f"It ends on {self.effective_from}: version {self.version}, which is published already, is in "
            f"force from that day on{more}. {self._gone()} Whoever approves it says that this is meant: "
            f"`ended_by` {self.version}."
        )

    def _gone(self) -> str:
        each = ", and one from each version that follows" if self.after else ""
        keep = (
            f"To keep it, make another draft from {self.version} with it, for that day or a later one{each}."
        )
        if self.lost is None:
            return f"What it changes and {self.version} has otherwise is gone then: compare the two. {keep}"
        if not self.lost:
            return f"By its text {self.version} has all that this one changes."
        places = "; ".join(change.place for change in self.lost[:MOST_TOLD])
        more = f"; and {len(self.lost) - MOST_TOLD} more" if len(self.lost) > MOST_TOLD else ""
        return (
            f"What it changes here and {self.version} has otherwise, by the text, is gone then: "
            f"{places}{more}. {keep}"
        )


def ending(
    standing: Standing, document: Document, before: Document | None, later: Document | None
) -> Ending | None:
    """How the version that a document would become ends; None where none is published that ends it.

    `before`: the document that it builds on, if any; `later`: that of `standing.ended_by`.
    """
    name = standing.ended_by
    if name is None or later is None:
        return None
    begins = standing.days[name]
    after = sum(standing.days[other] > begins for other in standing.later)
    lost = None if before is None else tuple(_lost(document, before, later))
    return Ending(name, begins, lost, after)


def _lost(document: Document, before: Document, later: Document) -> Iterator[Change]:
    """What differs from the document before and, in the same place, from the later one too."""
    theirs = changes(later, document)
    turned = {change.at for change in theirs if change.change == "reordered"}
    gone = [change for change in theirs if change.change == "removed"]
    there = [change.at for change in theirs if change.change in {"added", "changed"}]
    for change in changes(before, document):
        if change.at[0] in OWN:
            continue
        if change.change == "reordered":
            lost = change.at in turned
        elif change.change == "removed":  # whatever the later version has there
            lost = any(one.place == change.place for one in gone) or any(
                _within(at, change.at) or _within(change.at, at) for at in there
            )
        else:
            lost = any(_within(change.at, at) or _within(at, change.at) for at in there) or any(
                one.place.startswith(f"{change.place}, ") for one in gone
            )
        if lost:
            yield change


def _within(at: Path, outer: Path) -> bool:
    return at[: len(outer)] == outer


def require_said(found: Ending | None, said: str | None, name: str) -> None:
    """Raises `Refused` where an approval does not name the version that ends the draft's, or another one."""
    ends = None if found is None else found.version
    if said == ends:
        return
    if found is not None and said is None:
        detail = f"{name} was not approved, and nothing was stored. {found.told()}"
    elif found is not None:
        detail = f"`ended_by` names {said}, which is not what ends {name}. Nothing was stored. {found.told()}"
    else:
        detail = (
            f"`ended_by` names {said}, and no version is published that would end {name}. Nothing was "
            "stored. Leave it out."
        )
    raise Refused(detail, faults=(Fault(detail, ("ended_by",)),))
