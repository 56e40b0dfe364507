"""Which faults of a draft are those of the version that it builds on, and the way out.

A version may have been published before there was a prover, or before the prover found what it finds now. It
never changes; but a draft that is made from it has all of that too, and its author has done nothing wrong.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from gradewright.drafts.in_itself import in_itself
from gradewright.drafts.proving import Proofs
from gradewright.rulebooks.document import canonical
from gradewright.rulebooks.proofs import Tell
from gradewright.rulebooks.service import RulebookService, Version
from gradewright.rulebooks.source import Document

HEAD = ("version", "effective_from")


@dataclass(frozen=True, slots=True)
class Faults:
    """Those of a draft: `inside`, in the words in which they are told, are wrong with it in itself; `told`:
    how many there are with all others. `proved`: whether the prover has looked at it; else it is not asked
    about the base either. `before`: the version whose place it takes, if any.
    """

    inside: Sequence[str]
    told: int
    proved: bool
    before: str | None


async def inherited(
    rulebooks: RulebookService,
    proofs: Proofs,
    document: Document,
    faults: Faults,
    base: str | None,
    now: datetime,
    tell: Tell | None = None,
) -> str | None:
    """A sentence to stand before the faults of a draft's document, where some are the base's; else None."""
    if base is None or not faults.inside:
        return None
    published = await rulebooks.get(base)
    # As if the draft changed nothing of it: of versions that begin later more is asked than was of that one.
    same = {**json.loads(published.text), **{name: document[name] for name in HEAD if name in document}}
    sha256 = hashlib.sha256(canonical(same)).hexdigest()
    there = {fault.detail for fault in (await in_itself(sha256, same))[1]}
    if faults.proved:
        there |= {one.says for one in await proofs.own(published.rulebook, now, tell) if one.fault}
    count = sum(says in there for says in faults.inside)
    if not count:
        return None
    these = f"{count} of these {faults.told} faults"
    if count == faults.told:
        these = "this fault" if count == 1 else f"all of these {count} faults"
    more = "" if faults.proved else " (more may be found once it is proved)"
    way_out = await _way_out(rulebooks, proofs, base, faults.before or base, now, tell)
    return (
        f"{base}, on which it builds, has {these} too{more}: it was published before anything looked for "
        f"them, and never changes. Mend them here{way_out}."
    )


async def _way_out(
    rulebooks: RulebookService, proofs: Proofs, base: str, before: str, now: datetime, tell: Tell | None
) -> str:
    """What else can be done: begin with the nearest later version with which nothing is wrong; nothing where
    there is none. `before`: the version whose place the draft takes."""
    every = await rulebooks.all()
    place = next(number for number, version in enumerate(every) if version.rulebook.version == base)
    for later in every[place + 1 :]:
        if await _sound(later, proofs, now, tell):
            name = later.rulebook.version
            return (
                f"; or make another draft, `from` {name}, in which nothing of the kind is found, with `base` "
                f"{before} and the day that you want, and write into that what is to change: it brings with "
                f"it, from that day on, all that {name} has otherwise, so compare it first"
            )
    return ""


async def _sound(version: Version, proofs: Proofs, now: datetime, tell: Tell | None) -> bool:
    """Whether nothing is wrong with a version under its own limits."""
    if (await in_itself(version.rulebook.sha256, json.loads(version.text)))[1]:
        return False
    return not any(one.fault for one in await proofs.own(version.rulebook, now, tell))
