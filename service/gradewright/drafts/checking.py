"""What keeps a document from being published: its own faults, and how it stands to what is published."""

from __future__ import annotations

import asyncio
import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from gradewright.core.errors import Fault, RulebookError
from gradewright.core.rulebook import Rulebook
from gradewright.drafts.ending import Ending, ending
from gradewright.drafts.in_itself import in_itself
from gradewright.drafts.inherited import Faults, inherited
from gradewright.drafts.order import new_pairs
from gradewright.drafts.proving import Proofs, Proved
from gradewright.rulebooks.document import canonical
from gradewright.rulebooks.needless import repeated_examples
from gradewright.rulebooks.places import place
from gradewright.rulebooks.proofs import Tell
from gradewright.rulebooks.service import RulebookService
from gradewright.rulebooks.source import Document, from_text
from gradewright.rulebooks.stale_words import stale_words
from gradewright.rulebooks.standing import Standing

OWN = (("version",), ("effective_from",), ("instead_of",))
"""Where a draft says what no other version says for it: faults there are nobody else's."""


@dataclass(frozen=True, slots=True)
class Flaw:
    """A fault, where it is in words, and the smallest part that shows it, where the prover has one.

    `line`: where it stands in the document as somebody wrote it, where that is known.
    """

    fault: Fault
    place: str
    part: Mapping[str, Any] | None = None
    line: int | None = None

    def told(self) -> str:
        """What it says, with the line in front where it is known: where it is in the document, `at` says."""
        return self.fault.detail if self.line is None else f"line {self.line}: {self.fault.detail}"


class Unsound(RulebookError):
    """What keeps a document from being taken further: `flaws`, each with its place."""

    def __init__(self, detail: str, flaws: tuple[Flaw, ...]) -> None:
        faults = (replace(flaw.fault, detail=flaw.told()) for flaw in flaws)
        super().__init__(detail, faults=tuple(faults))
        self.flaws = flaws


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found: `flaws` keep the document from being published, `notes` are good to know.

    `proved` is None where the document cannot be read or has faults in its rules: then it was not tried.
    `ending`: the version that takes over from it and is published already, which an approval has to name.
    `says`: what to know of the flaws as a whole, before the first, if there is such a thing.
    """

    sha256: str
    flaws: tuple[Flaw, ...]
    notes: tuple[str, ...]
    proved: Proved | None
    ending: Ending | None = None
    says: str | None = None

    @property
    def faults(self) -> tuple[Fault, ...]:
        """The faults alone."""
        return tuple(flaw.fault for flaw in self.flaws)


async def checked(
    rulebooks: RulebookService,
    proofs: Proofs,
    document: Document,
    base: str | None,
    now: datetime,
    tell: Tell | None = None,
    written: str | None = None,
) -> Checked:
    """Looks at a document as it would be published now; `base` is the version that it builds on, `written`
    the document as YAML.

    `tell` hears how far the proof is, where it comes to one that nobody has made yet.
    """
    sha256 = hashlib.sha256(canonical(document)).hexdigest()
    rulebook, own, whole = await in_itself(sha256, document)
    faults: list[tuple[Fault, Mapping[str, Any] | None]] = [(fault, None) for fault in own]
    notes: tuple[str, ...] = ()
    proved: Proved | None = None
    ends: Ending | None = None
    stands: list[Fault] = []
    before: str | None = None
    if rulebook is not None:
        standing = await rulebooks.standing(rulebook)
        before = standing.before
        stands, notes = await _stands(rulebooks, rulebook, standing, base, now.date())
        faults = [*((fault, None) for fault in stands), *faults]
        ends = await _ending(rulebooks, standing, document, base)
        if whole:
            notes = (*notes, *await _told(rulebooks, rulebook, base))
        if whole and not any(fault.at[:1] == ("rules",) for fault in own):
            proved = await proofs.of(rulebook, now, tell, standing.ends)
            # What was seen at once is told already, where the prover comes upon it too.
            known = {fault.at for fault in own}
            faults += [
                (Fault(one.says, one.at), one.part)
                for one in proved.findings
                if one.fault and (one.within is not None or one.at not in known)
            ]
            if base is not None:
                built_on = (await rulebooks.get(base)).rulebook
                notes = (*notes, *await proofs.moved_at_places(built_on, rulebook, standing.ends))
                if proved.pairs:
                    pairs = await proofs.pairs(built_on, now, tell)
                    notes = (*notes, *new_pairs(base, pairs, proved.pairs))
            notes = (*notes, *_notes_of(proved))  # last: they are mostly those of every draft
    inside = [fault.detail for fault, _ in faults if fault not in stands and fault.at[:1] not in OWN]
    of_all = Faults(inside, len(faults), proved is not None, before)
    says = await inherited(rulebooks, proofs, document, of_all, base, now, tell)
    lines = from_text(written) if faults and written is not None else None
    flaws = tuple(
        Flaw(fault, place(document, fault.at), part, lines.line(fault.at) if lines else None)
        for fault, part in faults
    )
    in_order = sorted(flaws, key=lambda flaw: -1 if flaw.line is None else flaw.line)
    return Checked(sha256, tuple(in_order), notes, proved, ends, says)


def _notes_of(proved: Proved) -> Iterator[str]:
    """What comes to nothing under a place's own limits alone is no fault: the place wants it so."""
    yield from (one.says for one in proved.findings if not one.fault)
    if not proved.complete:
        yield "There are more parts without an answer than those that are told."


async def _told(rulebooks: RulebookService, rulebook: Rulebook, base: str | None) -> tuple[str, ...]:
    """What else to know of a rulebook that can be read as a whole."""
    stale: list[str] = []
    if base is not None:
        stale = await asyncio.to_thread(list, stale_words((await rulebooks.get(base)).rulebook, rulebook))
    return (*stale, *repeated_examples(rulebook))


async def _ending(
    rulebooks: RulebookService, standing: Standing, document: Document, base: str | None
) -> Ending | None:
    if standing.ended_by is None:
        return None
    later = json.loads((await rulebooks.get(standing.ended_by)).text)
    before = None if base is None else json.loads((await rulebooks.get(base)).text)
    return await asyncio.to_thread(ending, standing, document, before, later)


async def _stands(
    rulebooks: RulebookService, rulebook: Rulebook, standing: Standing, base: str | None, today: date
) -> tuple[list[Fault], tuple[str, ...]]:
    """What is wrong with how a rulebook stands to those that are published, and what to know about it."""
    version, begins = rulebook.version, rulebook.effective_from
    faults = []
    if version in standing.days:
        detail = f"Version {version} is published and never changes. Give this one a number of its own."
        faults.append(Fault(detail, ("version",)))
    elif standing.alike is not None:
        detail = (
            f"Version {standing.alike} is published, and {version} is the same number: nobody could tell "
            "which of the two is the later one. Give this one a number of its own."
        )
        faults.append(Fault(detail, ("version",)))
    elif (off := off_base(standing, base, rulebook)) is not None:
        faults.append(Fault(off, ("effective_from",)))
    faults += [Fault(detail, ("instead_of", place)) for detail, place in standing.misnamed]
    if (hidden := standing.hidden_by) is not None and standing.named_by_it:
        detail = f"Version {hidden}, which is published, is in force instead of {version}: it never would be."
        faults.append(Fault(detail, ("version",)))
    elif hidden is not None:
        detail = (
            f"Version {hidden} begins on {begins} too, and of two that begin on one day the one with the "
            f"higher number is in force: {version} never would be. Give it a higher number, or another day."
        )
        faults.append(Fault(detail, ("version",)))
    if (late := begun(begins, today, first=not standing.days)) is not None:
        faults.append(Fault(late, ("effective_from",)))
    notes = [*_forgone(rulebook, standing, base)]
    others = [] if base is None else [each.rulebook for each in await rulebooks.all()]
    others = [each for each in others if each.version != version]
    same = next((each.version for each in others if _same_words(rulebook.summary, each.summary)), None)
    if same is not None:
        detail = (
            f"It says what {same} says of itself, word for word, and people read there what a version "
            "changes. Write what this one changes."
        )
        faults.append(Fault(detail, ("summary",)))
    same = next((each.version for each in others if _same_words(rulebook.title, each.title)), None)
    if same is not None:
        notes.append(
            f"Its title is {same}'s, word for word: {rulebook.title}. Where a title tells the day or the "
            "number of a version, write this one's."
        )
    return faults, tuple(notes)


def _forgone(rulebook: Rulebook, standing: Standing, base: str | None) -> Iterator[str]:
    """That what those were to bring that never begin is in it only where somebody put it in."""
    if base is None:
        return
    more = [name for name in rulebook.instead_of if name != base and name in standing.days]
    more = [name for name in more if not standing.comes_after(base, name)]
    if more:
        yield (
            f"{' and '.join(more)} never begin{'s' if len(more) == 1 else ''} then. What was to come with "
            f"{'it' if len(more) == 1 else 'them'} is in this version only where it was put in: it was made "
            f"from {base}. Compare the two."
        )


def _same_words(one: str, other: str) -> bool:
    return one.split() == other.split()


def begun(begins: date, today: date, *, first: bool) -> str | None:
    """Why a version cannot be published any more that is in force from a day, and what to do; else None.

    `first`: no other is published, so that nothing can have been valued yet.
    """
    if begins > today or first:
        return None
    return (
        f"It would be in force from {begins}, and today is {today}: valuations have been given for that "
        "day already, and they must stay as they are. Write a later day."
    )


def off_base(standing: Standing, base: str | None, rulebook: Rulebook) -> str | None:
    """Why something would be lost where a version that builds on `base` begins, and what to do; else None."""
    before, begins = standing.before, rulebook.effective_from
    if before == base:
        return None
    if base in rulebook.instead_of and before is not None and standing.comes_after(base, before):
        return None  # it has in it what that one brought
    if base is None:
        return (
            f"It would take the place of version {before}, and it is not said that it has in it what "
            f"{before} brought. Compare the two, then say so: edit it with `base` {before}."
        )
    if standing.days[base] > begins:
        return (
            f"It was made from version {base}, which begins on {standing.days[base]}, and would be in force "
            f"before that, from {begins}. Write that day or a later one."
        )
    return (
        f"It was made from version {base}, and would take the place of {before}, which is published "
        f"too: what {before} brought would be lost. Compare the two, bring it in, then say so: edit it with "
        f"`base` {before}."
    )
