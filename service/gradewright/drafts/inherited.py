"""Which faults of a draft are those of the version that it builds on, and the way out.

A version may have been published before there was a prover, or before the prover found what it finds now. It
never changes; but a draft that is made from it has all of that too, and its author has done nothing wrong.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from datetime import datetime

from gradewright.drafts.in_itself import in_itself
from gradewright.drafts.proving import Proofs
from gradewright.rulebooks.document import canonical
from gradewright.rulebooks.proofs import Tell
from gradewright.rulebooks.service import RulebookService, Version
from gradewright.rulebooks.source import Document

HEAD = ("version", "effective_from")


async def inherited(
    rulebooks: RulebookService,
    proofs: Proofs,
    document: Document,
    faults: Sequence[str],
    base: str | None,
    now: datetime,
    tell: Tell | None = None,
    *,
    proved: bool,
) -> str | None:
    """A sentence to stand before the faults of a draft's document, where some are the base's; else None.

    `faults`: what is wrong with it in itself, in the words in which it is told. `proved`: whether the prover
    has looked at it; else it is not asked about the base either.
    """
    if base is None or not faults:
        return None
    before = await rulebooks.get(base)
    # As if the draft changed nothing of it: of versions that begin later more is asked than was of that one.
    same = {**json.loads(before.text), **{name: document[name] for name in HEAD if name in document}}
    sha256 = hashlib.sha256(canonical(same)).hexdigest()
    there = {fault.detail for fault in (await in_itself(sha256, same))[1]}
    if proved:
        there |= {one.says for one in await proofs.own(before.rulebook, now, tell) if one.fault}
    count = sum(says in there for says in faults)
    if not count:
        return None
    all_ = "its only fault" if len(faults) == 1 else f"all of its {len(faults)} faults"
    some = all_ if count == len(faults) else f"{count} of its {len(faults)} faults"
    more = "" if proved else " (more may be found once it is proved)"
    newest = await _newest_proved(rulebooks, proofs, base, now, tell)
    from_ = "the newest version that is proved" if newest is None else f"{newest}, which is proved"
    return (
        f"{base}, on which it builds, has {some} too{more}: it was published before there was a prover that "
        f"finds them, and never changes. Mend them here; or make another draft, `from` {from_}, with `base` "
        f"{base} and the day that you want, and write into that what is to change."
    )


async def _newest_proved(
    rulebooks: RulebookService, proofs: Proofs, base: str, now: datetime, tell: Tell | None
) -> str | None:
    """The newest published version, where nothing is wrong with it under its own limits."""
    newest: Version = (await rulebooks.all())[-1]
    if newest.rulebook.version == base:
        return None
    if (await in_itself(newest.rulebook.sha256, json.loads(newest.text)))[1]:
        return None
    found = await proofs.own(newest.rulebook, now, tell)
    return None if any(one.fault for one in found) else newest.rulebook.version
