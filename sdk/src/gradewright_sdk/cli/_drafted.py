"""Drafts of rulebook versions on a terminal."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.table import Table

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._described import as_example, in_words
from gradewright_sdk.cli._listed import print_listed
from gradewright_sdk.cli._show import say

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import (
        Draft,
        DraftChange,
        DraftCheck,
        DraftEnding,
        DraftStep,
        DraftTaken,
        RulePair,
        WholeDraft,
    )

MOST_SHOWN = 40
NEXT = {
    "draft": "Check it: gradewright-client drafts check {id}",
    "submitted": "A second maintainer approves it: gradewright-client drafts approve {id} --at {step} …",
}


def print_all_as_json(drafts: Sequence[Draft]) -> None:
    """Drafts as one JSON object."""
    told = {"drafts": [draft.model_dump(mode="json") for draft in drafts]}
    common.print_json(json.dumps(told, ensure_ascii=False).encode())


def print_all(console: Console, drafts: Sequence[Draft]) -> None:
    """Drafts, a line each."""
    if not drafts:
        print_line(
            console,
            "There are no such drafts. Make one: gradewright-client drafts new --from VERSION --why …",
        )
        return
    rows = [
        (
            draft.id,
            draft.state,
            draft.version or "",
            str(draft.effective_from or ""),
            str(draft.step),
            draft.changed_by,
            draft.title or "",
        )
        for draft in drafts
    ]
    print_listed(console, ("Draft", "State", "Version", "From", "Step", "By", "Title"), rows, below=True)


def print_whole(console: Console, draft: WholeDraft) -> None:
    """A draft and its steps."""
    standing = f"{draft.state}, {draft.published}" if draft.published else draft.state
    print_line(
        console,
        f"{draft.id} ({standing}), version {draft.version} from {draft.effective_from} on: {draft.title}",
    )
    if draft.made_from is not None:
        source = draft.made_from.version or f"{draft.made_from.draft}, step {draft.made_from.step}"
        print_line(console, f"Made from {source}; it has everything in it up to version {draft.base}.")
    table = _table("Step", "When", "Who", "What", "Why")
    for step in draft.steps:
        when = step.at.strftime("%Y-%m-%d %H:%M")
        table.add_row(*(say(cell) for cell in (step.etag.strip('"'), when, step.by, step.step, step.why)))
    console.print(table)


def print_step(console: Console, step: DraftStep) -> None:
    """A step and what it changed."""
    when = step.at.strftime("%Y-%m-%d %H:%M")
    did = "withdrew" if step.step == "withdrawn" else step.step
    print_line(console, f"Step {step.number}, {when}: {step.by} {did} it. {step.why}")
    _changes(console, step.changes, step.changed)


def print_taken(console: Console, taken: DraftTaken) -> None:
    """What became of a draft by a step."""
    tag = taken.etag.strip('"')
    if taken.taken is None:
        print_line(console, f"{taken.id} says that already: no step was taken. It is at step {tag}.")
        return
    if taken.state == "published":
        print_line(
            console, f"{taken.id} is published: version {taken.version}, from {taken.effective_from} on."
        )
    else:
        is_ = "a draft" if taken.state == "draft" else taken.state
        print_line(console, f"{taken.id} is {is_}, at step {tag}.")
    _changes(console, taken.taken.changes, taken.taken.changed)
    _ending(console, taken.id, taken.ended_by)
    for note in taken.notes:
        print_line(console, f"Note: {note}")
    if taken.taken.step == "edited":
        print_line(console, f"To go on in this file: --at {taken.step}")
    if taken.state in NEXT:
        print_line(console, NEXT[taken.state].format(id=taken.id, step=taken.step))


def print_check(console: Console, found: DraftCheck, *, pairs: bool = False) -> None:
    """What keeps a draft from being published, or that nothing does; with the `pairs` whose order decides."""
    if found.says is not None:
        told = found.says.replace("`base`", "--base").replace("`from`", "--from")
        print_line(console, f"{found.id}: {told}")
    for fault in found.faults:
        owner = fault.place.partition(", ")[0]
        named = fault.detail.startswith(fault.place) or f"{owner}:" in fault.detail
        place = "" if named else f"{fault.place}: "
        line = "" if fault.line is None else f"{fault.line}:"
        print_line(console, f"{found.id}:{line} {place}{fault.detail.replace('`base`', '--base')}")
        if fault.part is not None:
            print_line(console, f"  - part: {as_example(fault.part)}")
    _ending(console, found.id, found.ended_by)
    if found.notes:
        print_line(console, "Notes, none of which keeps it from being published:")
    for note in found.notes:
        print_line(console, f"Note: {note}")
    if pairs:
        print_pairs(console, found.pairs)
    if found.sound:
        order = f"The order of its rules decides in {len(found.pairs)} pairs{'' if pairs else ' (--pairs)'}."
        print_line(console, f"{found.id} is sound, and proved. {order}")
        return
    proved = (
        ""
        if found.proved
        else " It was not proved yet: that begins once it can be read and its rules have no fault. "
        "It may find more."
    )
    print_line(console, f"{found.id} has {len(found.faults)} fault(s).{proved}")


def _ending(console: Console, id: str, ending: DraftEnding | None) -> None:
    if ending is not None:
        print_line(console, f"{id}: {ending.detail.replace('`ended_by`', '--ended-by')}")


def print_pairs(console: Console, pairs: Sequence[RulePair]) -> None:
    """Rules whose order decides between two grades, each pair with a part that meets both."""
    for pair in pairs:
        print_line(
            console,
            f"{pair.first} ({pair.first_grade}) decides before {pair.second} ({pair.second_grade}): "
            f"{in_words(pair.part)}",
        )


def _changes(console: Console, changes: Sequence[DraftChange], count: int) -> None:
    for change in changes[:MOST_SHOWN]:
        if change.change == "changed":
            told = f"changed: {change.place}: {change.before} -> {change.after}"
        elif change.change == "reordered":
            told = f"in another order: {change.place}"
        else:
            told = f"{change.change}: {change.place}: {change.before or change.after}"
        print_line(console, f"  {told}")
    if count > MOST_SHOWN:
        print_line(console, f"  … and {count - MOST_SHOWN} more")


def print_line(console: Console, text: str) -> None:
    """One line, however long: broken between words on a terminal, and not at all for scripts."""
    console.print(say(text), soft_wrap=not console.is_terminal)


def _table(*titles: str) -> Table:
    return Table(*titles, box=None, padding=(0, 2, 0, 0), pad_edge=False)
