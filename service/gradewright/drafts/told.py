"""Drafts on a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from gradewright.drafts.check_schemas import CheckOut
from gradewright.drafts.draft import Taken
from gradewright.drafts.life import DID, State, Step
from gradewright.drafts.schemas import DraftList, DraftWhole, StepChanges
from gradewright.rulebooks.named import as_yaml
from gradewright.rulebooks.proof_lines import pair_lines
from gradewright.terminal import by_options
from gradewright.terminal_tables import print_table

MOST_SHOWN = 40
OPTIONS = {"base": "--base", "from": "--from", "ended_by": "--ended-by"}
_NEXT = {
    State.DRAFT: "Check it: gradewright drafts check {name}",
    State.SUBMITTED: "A second maintainer approves it: gradewright drafts approve {name} --at {step} …",
}


def _say(text: str) -> None:
    """A line that breaks at words, and in which nothing is taken for a sign of layout."""
    Console().print(Text(text), soft_wrap=True)


def taken(done: Taken) -> None:
    """What became of a draft by a step."""
    draft = done.draft
    if not done.new:
        _say(f"{draft.name} says that already: no step was taken. It is at step {draft.tag}.")
        return
    if draft.state is State.PUBLISHED:
        _say(f"{draft.name} is published: version {draft.last.version}, from {draft.last.effective_from} on.")
    else:
        is_ = "a draft" if draft.state is State.DRAFT else draft.state
        _say(f"{draft.name} is {is_}, at step {draft.tag}.")
    for change in done.changes[:MOST_SHOWN]:
        _say(_change(change.change, change.place, change.before, change.after))
    _more(len(done.changes))
    if done.ending is not None:
        _say(f"{draft.name}: {by_options(done.ending.told(), OPTIONS)}")
    for note in done.notes:
        _say(f"Note: {note}")
    if draft.last.step == Step.EDITED:
        _say(f"To go on in this file: --at {draft.last.number}")
    if draft.state in _NEXT:
        _say(_NEXT[draft.state].format(name=draft.name, step=draft.last.number))


def listed(drafts: DraftList) -> None:
    """Drafts, a line each."""
    if not drafts.drafts:
        _say("There are no such drafts. Make one: gradewright drafts new --from VERSION --as … --why …")
        return
    rows = [
        (
            draft.id,
            draft.state,
            draft.version or "",
            draft.effective_from or "",
            str(draft.step),
            draft.changed_by,
            draft.title or "",
        )
        for draft in drafts.drafts
    ]
    print_table(
        ("draft", "state", "version", "from", "step", "by", "title"), rows, wraps={"title"}, below="title"
    )


def whole(draft: DraftWhole) -> None:
    """A draft and its steps."""
    version = f"version {draft.version} from {draft.effective_from} on: {draft.title}"
    standing = f"{draft.state}, {draft.published}" if draft.published else draft.state
    _say(f"{draft.id} ({standing}), {version}")
    if draft.made_from is not None:
        source = draft.made_from.version or f"{draft.made_from.draft}, step {draft.made_from.step}"
        _say(f"Made from {source}; it has everything in it up to version {draft.base}.")
    rows = [
        (step.etag.strip('"'), step.at.strftime("%Y-%m-%d %H:%M"), step.by, step.step, step.why)
        for step in draft.steps
    ]
    print_table(("step", "when", "who", "what", "why"), rows, wraps={"why"})


def step(changed: StepChanges) -> None:
    """A step and what it changed."""
    when = changed.at.strftime("%Y-%m-%d %H:%M")
    _say(
        f"Step {changed.number}, {when}: {changed.by} {DID.get(changed.step, changed.step)} it. {changed.why}"
    )
    for change in changed.changes[:MOST_SHOWN]:
        _say(_change(change.change, change.place, change.before, change.after))
    _more(changed.changed)


def flaw(name: str, detail: str, place: str, line: int | None) -> str:
    """A fault of a draft on a line: where in its document it is, and what it is."""
    named = detail.startswith(place) or f"{place.partition(', ')[0]}:" in detail
    where = "" if named else f"{place}: "
    at = "" if line is None else f"{line}:"
    return f"{name}:{at} {where}{by_options(detail, OPTIONS)}"


def checked(found: CheckOut, *, pairs: bool = False) -> None:
    """What keeps a draft from being published, or that nothing does; with the `pairs` whose order decides."""
    if found.says is not None:
        _say(f"{found.id}: {by_options(found.says, OPTIONS)}")
    for fault in found.faults:
        _say(flaw(found.id, fault.detail, fault.place, fault.line))
        if fault.part is not None:
            _say(f"  - part: {as_yaml(fault.part)}")
    if found.ended_by is not None:
        _say(f"{found.id}: {by_options(found.ended_by.detail, OPTIONS)}")
    if found.notes:
        _say("Notes, none of which keeps it from being published:")
    for note in found.notes:
        _say(f"Note: {note}")
    for line in pair_lines(found.pairs) if pairs else ():
        _say(line)
    if found.sound:
        order = f"The order of its rules decides in {len(found.pairs)} pairs{'' if pairs else ' (--pairs)'}."
        _say(f"{found.id} is sound, and proved. {order}")
    else:
        proved = (
            ""
            if found.proved
            else " It was not proved yet: that begins once it can be read and its rules have no fault. "
            "It may find more."
        )
        _say(f"{found.id} has {len(found.faults)} fault(s).{proved}")


def _change(what: str, place: str, before: str | None, after: str | None) -> str:
    if what == "changed":
        return f"  changed: {place}: {before} -> {after}"
    if what == "reordered":
        return f"  in another order: {place}"
    return f"  {what}: {place}: {before or after}"


def _more(count: int) -> None:
    if count > MOST_SHOWN:
        _say(f"  … and {count - MOST_SHOWN} more")
