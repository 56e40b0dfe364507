"""What is wrong with a document in itself, whatever is published, without the solver: looked for once."""

from __future__ import annotations

import asyncio

from gradewright.core.errors import Fault, RulebookError
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.check import check
from gradewright.rulebooks.document import read
from gradewright.rulebooks.reading_on import read_on
from gradewright.rulebooks.source import Document

Own = tuple[Rulebook | None, tuple[Fault, ...], bool]
"""The rulebook, what is wrong with it in itself, and whether it can be read as a whole."""
MOST_KNOWN = 8
_KNOWN: dict[str, Own] = {}


async def in_itself(sha256: str, document: Document) -> Own:
    """What is wrong with a document: of the last few it is remembered."""
    found = _KNOWN.get(sha256)
    if found is None:
        found = _KNOWN[sha256] = await asyncio.to_thread(_own, document)
        while len(_KNOWN) > MOST_KNOWN:
            del _KNOWN[next(iter(_KNOWN))]
    return found


def _own(document: Document) -> Own:
    try:
        rulebook = read(document)
    except RulebookError:
        return *read_on(document), False
    return rulebook, check(rulebook), True
