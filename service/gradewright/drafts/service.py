"""Drafts: making, editing and reading them, and the steps that lead to a published version."""

from __future__ import annotations

import asyncio
import json
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING

from gradewright.clock import Clock, utc_now
from gradewright.core.errors import Fault, NotFound
from gradewright.db.session import Database
from gradewright.drafts import repository, texts
from gradewright.drafts.changes import Change, changes
from gradewright.drafts.checking import Checked, Unsound, checked
from gradewright.drafts.comparing import DraftComparisons
from gradewright.drafts.draft import Draft, New, Saying, Taken, document_of, find, name_of, text_of
from gradewright.drafts.ending import require_said
from gradewright.drafts.life import LEADS_TO, State, Step, may_follow
from gradewright.drafts.merging import merged
from gradewright.drafts.models import DraftRow, StepRow
from gradewright.drafts.proving import Proofs
from gradewright.drafts.publishing import Publishing
from gradewright.drafts.steps import as_it_is, brought, by, opened, require_current, require_second, take
from gradewright.rulebooks import shipped
from gradewright.rulebooks.comparing import Comparing
from gradewright.rulebooks.proofs import Tell
from gradewright.rulebooks.service import RulebookService
from gradewright.rulebooks.source import Document

if TYPE_CHECKING:
    from gradewright.core.rulebook import Rulebook
    from gradewright.rulebooks.comparison import Comparison


class DraftService:
    """Keeps every step of every draft; publishes through the service of the rulebooks."""

    def __init__(
        self,
        database: Database,
        rulebooks: RulebookService,
        proofs: Proofs,
        comparing: Comparing | None = None,
        clock: Clock = utc_now,
    ) -> None:
        self._database = database
        self._rulebooks = rulebooks
        self._proofs = proofs
        self._clock = clock
        self._publishing = Publishing(rulebooks, proofs, clock)
        self._comparisons = DraftComparisons(rulebooks, comparing or Comparing())

    async def get(self, name: str, step: int | None = None) -> Draft:
        """A draft, or as it was after a step. Raises `NotFound`."""
        async with self._database.read() as session:
            return await find(session, name, step)

    async def at(self, name: str, step: str) -> Draft:
        """A draft as it was after a step, by the step's number. Raises `NotFound`."""
        number = int(step) if re.fullmatch(r"[1-9][0-9]{0,8}", step, re.ASCII) else 0
        return await self.get(name, number)

    async def published(self, draft: Draft, today: date) -> str | None:
        """Where its version stands on a day: to come, in force, superseded; None before it is published."""
        if draft.state is not State.PUBLISHED:
            return None
        version = await self._rulebooks.get(str(draft.last.version))
        if (await self._rulebooks.standing(version.rulebook)).hidden_by is not None:
            return "superseded"
        if version.rulebook.effective_from > today:
            return "to come"
        in_force = (await self._rulebooks.in_force(today)).rulebook.version
        return "in force" if in_force == version.rulebook.version else "superseded"

    async def document(self, draft: Draft) -> Document:
        """The draft's document, after the last of its steps."""
        async with self._database.read() as session:
            return await document_of(session, draft)

    async def written(self, draft: Draft) -> str | None:
        """The document as somebody wrote it, where that was YAML: with comments, and on its lines."""
        async with self._database.read() as session:
            return await text_of(session, draft)

    async def newest(
        self, state: State | None, *, before: int, limit: int
    ) -> Sequence[tuple[DraftRow, StepRow, StepRow]]:
        """Drafts in a state (any) below a number, the newest first, each with its first and last step."""
        ends = None if state is None else [step for step, then in LEADS_TO.items() if then is state]
        async with self._database.read() as session:
            return await repository.newest(session, last_steps=ends, before=before, limit=limit)

    async def changes(self, draft: Draft) -> tuple[Change, ...]:
        """What the last of the draft's steps changed; of the first: against what the draft was made from."""
        async with self._database.read() as session:
            after = await document_of(session, draft)
            if len(draft.steps) > 1:
                before = await document_of(session, replace(draft, steps=draft.steps[:-1]))
            elif draft.row.from_draft is not None:
                before = await document_of(
                    session, await find(session, name_of(draft.row.from_draft), draft.row.from_step)
                )
            elif draft.row.from_version is not None:
                before = json.loads((await self._rulebooks.get(draft.row.from_version)).text)
            else:
                return ()
        return tuple(await asyncio.to_thread(changes, before, after))

    async def make(self, new: New, saying: Saying) -> Taken:
        """Makes a draft. Raises `NoRulebook`, `NotFound` for what it is to be made from, `Refused`."""
        if new.base is not None:
            await self._rulebooks.get(new.base, at=("base",))
        source: Draft | None = None
        given: Document | None = None
        base, written = new.base, new.text
        if new.version_of is not None:
            found = await self._rulebooks.get(new.version_of, at=("from",))
            given, base = json.loads(found.text), base or found.rulebook.version
            given.pop("instead_of", None)  # it is done, once
            written = await self._written_as(new.version_of) or shipped.text(new.version_of)
        elif new.draft is not None:
            source = await self._source(new.draft)
            given, base = await self.document(source), base or source.last.base
            written = await self.written(source)
        document = {**(given if given is not None else new.document or {}), **new.own()}
        columns = await brought(document, await asyncio.to_thread(texts.as_written, written, document))
        async with self._database.write() as session:
            number = await repository.add_draft(
                session,
                from_version=new.version_of,
                from_draft=source.row.number if source else None,
                from_step=source.last.number if source else None,
            )
            await repository.add_step(session, number, 1, step=Step.MADE, base=base, **by(saying), **columns)
            made = await find(session, name_of(number))
        return Taken(made, () if given is None else tuple(changes(given, document)))

    async def _written_as(self, version: str) -> str | None:
        """A published version as it was written in the draft from which it comes, where that was YAML."""
        async with self._database.read() as session:
            for of, draft, _ in await repository.approvals(session):
                if of == version:
                    return await text_of(session, await find(session, name_of(draft)))
        return None

    async def _source(self, name: str) -> Draft:
        try:
            return await self.get(name)
        except NotFound as error:
            raise NotFound(error.detail, faults=(Fault(error.detail, ("draft",)),)) from None

    async def edit(
        self,
        name: str,
        saying: Saying,
        document: Document,
        base: str | None = None,
        written: str | None = None,
    ) -> Taken:
        """Gives the draft another document, and another base where one is named. Raises `NotFound`, `Stale`,
        `Conflict`, `NoRulebook`, `Refused`.

        `written`: the document as YAML. Where nothing would change, not even a comment, no step is taken.
        """
        if base is not None:
            await self._rulebooks.get(base, at=("base",))
        columns = await brought(document, written)
        async with self._database.write() as session:
            draft = await opened(session, name, Step.EDITED, saying)
            before, kept = await document_of(session, draft), await text_of(session, draft)
            if columns["sha256"] == draft.last.sha256:
                columns["document"] = None
                if written is None or texts.same(written, before, kept):
                    columns["text"] = None
                    if base in {None, draft.last.base}:
                        return Taken(draft, new=False)
            taken = await take(
                session, draft, Step.EDITED, saying, {**columns, "base": base or draft.last.base}
            )
        return Taken(taken, tuple(await asyncio.to_thread(changes, before, document)))

    async def patch(self, name: str, saying: Saying, patch: Document, base: str | None = None) -> Taken:
        """Changes the draft's document by a merge patch (RFC 7396). Raises as `edit` does."""
        draft = await self.get(name)
        require_current(draft, saying.tags)
        document: Document = merged(await self.document(draft), patch)
        # What the patch was worked into is this step: where another has been taken meanwhile, it is stale.
        return await self.edit(name, replace(saying, tags=(draft.tag,)), document, base)

    async def check(self, draft: Draft, now: datetime, tell: Tell | None = None) -> Checked:
        """All that keeps the draft from being published now, and what else to know about it. `tell` hears how
        far the proof is."""
        return await self._checked(await self.document(draft), draft, now, tell)

    async def _checked(self, document: Document, draft: Draft, now: datetime, tell: Tell | None) -> Checked:
        base, written = draft.last.base, await self.written(draft)
        return await checked(self._rulebooks, self._proofs, document, base, now, tell, written)

    async def compare(
        self, draft: Draft, against: str | None, tell: Tell | None = None
    ) -> tuple[Rulebook, Rulebook, Comparison]:
        """The rulebook before and after, and what moves between them; None: against the one it builds on.
        `tell` hears how far it is.

        Raises `NoRulebook`, `Refused`, and `RulebookError` where the document cannot be read as a rulebook.
        """
        return await self._comparisons.of(await self.document(draft), draft.last.base, against, tell)

    async def look_ahead(self, name: str, tags: tuple[str, ...], now: datetime) -> None:
        """Finds out what a step that needs a sound document will ask, before anything is locked for it."""
        draft = await self.get(name)
        if draft.tag in tags and draft.state in {State.DRAFT, State.SUBMITTED}:
            await self.check(draft, now)

    async def submit(self, name: str, saying: Saying, tell: Tell | None = None) -> Taken:
        """Puts the draft before a second maintainer. Raises as `edit`, `RulebookError` with its faults."""
        return await self._after_checking(name, Step.SUBMITTED, saying, tell)

    async def approve(self, name: str, saying: Saying, tell: Tell | None = None) -> Taken:
        """Publishes the draft, in one transaction with the step. Raises as `submit`, `NotAllowed` for one who
        has written or submitted it, `Refused` where a version that ends it is published and not named."""
        return await self._after_checking(name, Step.APPROVED, saying, tell)

    async def _after_checking(self, name: str, step: Step, saying: Saying, tell: Tell | None) -> Taken:
        """A step for which the document has to be sound. It is looked at before anything is locked: by its
        tag it is known to be the same afterwards."""
        draft = await self.get(name)
        require_current(draft, saying.tags)
        may_follow(step, draft.state, draft.name)
        async with self._database.read() as session:
            await require_second(session, draft, step, saying.author)
            document = await document_of(session, draft)
        found = await self._checked(document, draft, saying.now, tell)
        if found.faults:
            # Another may have taken the step meanwhile: then that is why its version is there already.
            require_current(await self.get(name), (draft.tag,))
            told = "; ".join(fault.detail for fault in found.faults[:3])
            more = f"; and {len(found.faults) - 3} more" if len(found.faults) > 3 else ""
            detail = f"{draft.name} cannot be {step}: {told}{more}{f' {found.says}' if found.says else ''}"
            raise Unsound(detail, found.flaws)
        if step is Step.APPROVED:
            require_said(found.ending, saying.ended_by, draft.name)
        async with self._database.write() as session:
            # Taken now: it was asked for before a check that takes its time, and may have waited for others.
            same = replace(saying, tags=(draft.tag,), now=self._clock())
            taken = await take(session, await opened(session, name, step, same), step, same, as_it_is(draft))
            if step is Step.APPROVED:
                houses = found.proved.houses if found.proved else None
                await self._publishing.publish(session, taken, document, houses, saying.ended_by)
        return Taken(taken, notes=found.notes, ending=found.ending)

    async def refuse(self, name: str, saying: Saying) -> Taken:
        """Sends the draft back. Raises as `edit` does, and `NotAllowed` for one who has written it."""
        return await self._step(name, Step.REFUSED, saying)

    async def withdraw(self, name: str, saying: Saying) -> Taken:
        """Gives the draft up for good. Raises as `edit` does."""
        return await self._step(name, Step.WITHDRAWN, saying)

    async def _step(self, name: str, step: Step, saying: Saying) -> Taken:
        async with self._database.write() as session:
            draft = await opened(session, name, step, saying)
            return Taken(await take(session, draft, step, saying, as_it_is(draft)))
