"""What members' words do for a claim, and against it: who disputes it, and who bears it out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from gradewright.core.rulebook import Holding
from gradewright.core.spoken import DISPUTED, FAR_OFF, Claim, Held, Said, Voices, agree

DISPUTERS = 2


def disputed(author: str, voices: Voices, said: Said) -> Held | None:
    """Why a claim waits that two and more others dispute who weigh more than those behind it; or None."""
    if len(said.disputed_by) < DISPUTERS:
        return None
    against = said.disputed_by - {author}
    if len(against) < DISPUTERS:
        return None
    behind = said.confirmed_by | {author}
    if voices.together(against) <= voices.together(behind):
        return None
    return Held(DISPUTED)


def not_borne_out(
    why: Held, claim: Claim, others: Sequence[Claim], rules: Holding, voices: Voices, said: Said
) -> Held | None:
    """None where a second author, or a ticket, says the same there, and those against weigh no more; else why
    it waits, with what has spoken for it and was not enough.

    `others`: their claims of the same yard.
    """
    author, seen = claim.seen.author, claim.seen
    behind, against = set(said.confirmed_by - {author}), set(said.disputed_by - {author})
    for other in others:
        if agree(other.level, claim.level, rules.agrees_within):
            behind.add(other.seen.author)
        elif (seen.observed_on - other.seen.observed_on).days <= rules.contradicted_within:
            against.add(other.seen.author)
    # Whoever says both takes back neither: their newest price is what they say.
    against -= behind
    seconded = bool(behind) or (said.shown and why.because != FAR_OFF)
    if seconded and voices.together(behind | {author}) >= voices.together(against):
        return None
    return replace(why, seconded=seconded, shown=said.shown) if seconded or said.shown else why
