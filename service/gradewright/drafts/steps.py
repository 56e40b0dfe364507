"""Taking a step with a draft: whether it may be taken, by whom, and what is kept of it."""

from __future__ import annotations

import hashlib
from typing import Any

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.errors import NotAllowed, Refused
from gradewright.db.packed import pack
from gradewright.drafts import repository
from gradewright.drafts.draft import Draft, Saying, Stale, find, name_of, tag_of
from gradewright.drafts.life import BY_A_SECOND, WRITES, Step, may_follow
from gradewright.drafts.models import DraftRow
from gradewright.rulebooks.document import canonical
from gradewright.rulebooks.source import Document

MOST_BYTES = 4 * 1024 * 1024
"""Of a body with a document, and of its canonical form: the version that ships takes a twentieth of that."""
TOLD = 200  # characters of a title


async def opened(session: AsyncSession, name: str, step: Step, saying: Saying) -> Draft:
    """The draft, where the caller may take the step with it. Raises `NotFound`, `Stale`, `Conflict`,
    `NotAllowed`."""
    draft = await find(session, name)
    require_current(draft, saying.tags)
    may_follow(step, draft.state, draft.name)
    await require_second(session, draft, step, saying.author)
    return draft


def require_current(draft: Draft, tags: tuple[str, ...] | None) -> None:
    """Raises `Stale` where the draft stands at none of the tags."""
    if tags is None or draft.tag in tags:
        return
    seen = [number for number, step in enumerate(draft.steps, start=1) if tag_of(step) in tags]
    since = draft.steps[max(seen) :] if seen else ()
    told = f"{len(since)} step(s) were taken since" if since else "that is no step of it"
    why = f"not at {' or '.join(tags)[:200]}: {told}"
    if not tags:  # weak ones are left out where the field is read
        why = (
            "and no tag was sent that can match, as weak ones never do: leave out the W/, and keep the quotes"
        )
    raise Stale(
        f"{draft.name} stands at {draft.tag}, {why}. Nothing was stored: "
        "read it again, look at what has changed, and send yours against it. The newest is shown by "
        f"GET /v1/rulebook-drafts/{draft.name}, or gradewright drafts show {draft.name} --yaml; a file of "
        f"yours that has all of it goes in with --at {len(draft.steps)}.",
        draft,
        since,
    )


async def require_second(session: AsyncSession, draft: Draft, step: Step, author: str) -> None:
    """Raises `NotAllowed` where a step needs somebody who has no hand in what the draft says.

    A draft made from another has in it what the authors of that one wrote.
    """
    if step not in BY_A_SECOND:
        return
    row: DraftRow | None = draft.row
    upto = draft.last.number
    while row is not None:
        for writer, number in await repository.writers(session, row.number, upto, WRITES):
            if writer == author:
                own = "" if row is draft.row else f", from which {draft.name} was made"
                raise NotAllowed(
                    f"{author} took step {number} of {name_of(row.number)}{own}: who writes or submits a "
                    "draft does not judge it. Ask another maintainer."
                )
        upto = row.from_step or 0
        row = None if row.from_draft is None else await repository.find(session, row.from_draft)


async def take(
    session: AsyncSession, draft: Draft, step: Step, saying: Saying, after: dict[str, Any]
) -> Draft:
    """Adds the step. Raises `Stale` where another was taken at the same moment."""
    number = draft.last.number + 1
    if not await repository.add_step(session, draft.row.number, number, step=step, **by(saying), **after):
        now = await find(session, draft.name)
        require_current(now, (draft.tag,))
    return await find(session, draft.name)


def by(saying: Saying) -> dict[str, Any]:
    return {"author": saying.author, "taken_at": saying.now, "why": saying.why}


def as_it_is(draft: Draft) -> dict[str, Any]:
    last = draft.last
    kept = ("base", "version", "effective_from", "title", "sha256")
    return {**{name: getattr(last, name) for name in kept}, "document": None, "text": None}


async def brought(document: Document, written: str | None = None) -> dict[str, Any]:
    """The columns of a step that brings a document, and the text it was written as. Raises `Refused` where
    that is too long."""
    text, as_written = canonical(document), None if written is None else written.encode()
    longest = max(len(text), len(as_written or b""))
    if longest > MOST_BYTES:
        raise Refused(f"The document takes {longest:,} bytes; at most {MOST_BYTES:,} are kept. Shorten it.")
    told = {}
    for name in ("version", "effective_from", "title"):
        value = document.get(name)
        told[name] = value[:TOLD] if isinstance(value, str) else None
    kept = None if as_written is None else await pack(as_written)
    return {
        **told,
        "sha256": hashlib.sha256(text).hexdigest(),
        "document": await pack(text),
        "text": kept,
    }
