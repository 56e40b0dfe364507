"""Prices of a whole list that count, or would, and are far from what the yard's list had before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli._lines import ranges
from gradewright_sdk.cli._slips import CAN_COUNT, UNSURE, far_off, mend

if TYPE_CHECKING:
    from datetime import date

    from gradewright_sdk._client import Client
    from gradewright_sdk._models import ListChange, ListCompared, PostedPrice

SEE = "see whether it is a slip."


@dataclass(frozen=True, slots=True)
class ListSlips:
    """What is said of lines, by their place among the changes; and in the end, by their numbers."""

    at: Mapping[int, str] = field(default_factory=dict)
    in_the_end: Sequence[str] = ()


def list_slips(client: Client, found: ListCompared, *, old: bool = False) -> ListSlips:
    """The slips of a list that was compared, or stored; which is never undone by what comes of this.

    `old`: it was seen too long ago to count today; of a stored one its posting tells that too.
    """
    judged = [
        (at, line) for at, line in enumerate(found.lines) if line.price is not None and line.held is None
    ]
    known_at = found.compared_with if found.revision is None else found.revision - 1
    try:
        far = far_off(client, found.yard, found.observed_on, known_at, [line for _, line in judged])
        said = {at: says for (at, _), says in zip(judged, far, strict=True) if says is not None}
        day = found.observed_on if old else None
        posted = _posted(client, found, [*said], day) if found.posting is not None and said else None
    except ex.GradewrightError:
        return ListSlips(in_the_end=(UNSURE,))
    if posted is not None:
        told = {at: f"it {CAN_COUNT[posted[at].status]} {said[at]}." for at in said if at in posted}
    else:
        then = f"in the list of {found.observed_on} " if _gone_by(found) else ""
        count = "it is" if old else f"{then}it would count, and is"
        told = {at: f"{count} {says}." for at, says in said.items()}
    return ListSlips(told, [*_in_the_end(found, told, posted)])


def _gone_by(found: ListCompared) -> bool:
    """Whether it is of a day before today: newer prices may stand in the place of some of it by now."""
    return found.observed_on < datetime.now(UTC).date()


def _posted(
    client: Client, found: ListCompared, places: Sequence[int], on: date | None
) -> Mapping[int, PostedPrice]:
    """Of those places the lines of the posting that can count: in place of others newer prices stand."""
    lines = _numbered(found)
    wanted = [lines[at] for at in places]
    counting: dict[int, PostedPrice] = {}
    while wanted:
        page = client.postings.get(found.posting or "", on=on, known_at=found.revision, from_line=wanted[0])
        counting |= {price.line: price for price in page.prices if price.status in CAN_COUNT}
        last = max((price.line for price in page.prices), default=wanted[-1])
        wanted = [line for line in wanted if line > last]
    return {at: counting[lines[at]] for at in places if lines[at] in counting}


def _numbered(found: ListCompared) -> Mapping[int, int]:
    """The lines of the posting, by their place among the changes."""
    in_order = [at for at, line in enumerate(found.lines) if line.price is not None]
    return {at: number for number, at in enumerate(in_order, start=1)}


def _in_the_end(
    found: ListCompared, slips: Mapping[int, str], posted: Mapping[int, PostedPrice] | None
) -> Sequence[str]:
    waiting = {at: line for at, line in enumerate(found.lines) if line.held is not None}
    told = []
    if waiting:
        waits = "would wait" if found.posting is None else "waits" if len(waiting) == 1 else "wait"
        told.append(f"{_lines([*waiting.values()])} {waits}: it is told there why.")
        if found.posting is not None:
            numbers = _numbered(found)
            told[-1] += f" {mend(found.posting, [numbers[at] for at in waiting])}"
    if slips:
        far = [found.lines[at] for at in slips]
        says = f"{_lines(far)} {'is' if len(far) == 1 else 'are'} far from what the list had before"
        told.append(f"{says}: {SEE}" if found.posting is None else f"{says}.")
        if found.posting is not None and posted is not None:
            told[-1] += f" {mend(found.posting, [posted[at].line for at in slips])}"
    return told


def _lines(lines: Sequence[ListChange]) -> str:
    numbers = [line.line for line in lines if line.line is not None]
    return f"Line{'s' if len(numbers) > 1 else ''} {', '.join(ranges(numbers))} of the file"
