"""What `post` and `correct` share: prices on the command line, their faults, and what was stored."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk._exceptions import sentence
from gradewright_sdk.cli._failures import Exit, Failure, Json, fail, wrong_usage
from gradewright_sdk.cli._files import pointer_steps, without_name

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._client import Client
    from gradewright_sdk._models import PostedPrice, Posting
    from gradewright_sdk.cli._seen import SeenFile

NOTHING = "Nothing was posted."
QUOTED = (
    "What stands in quotes of its own is the yard's label; without them it is a grade, or one of its names."
)
ELSEWHEN = ("stale", "overtaken")
"""What does not count today, and may count, or wait, in lists of days near its own."""
OVERTAKEN = (
    "{what} not count today, as a newer price of yours stands in its place; in lists of days before that it "
    "may."
)
UNSURE = "It is stored; whether any price of it waits could not be asked."


def from_options(ctx: typer.Context, texts: list[str]) -> SeenFile:
    """The prices of --price; ends the command at one that cannot be read."""
    from gradewright_sdk.cli._seen import SeenFile, seen
    from gradewright_sdk.cli._values import BadValue

    try:
        return SeenFile(tuple(seen(text) for text in texts), tuple(range(1, len(texts) + 1)))
    except BadValue as error:
        fail(ctx, wrong_usage(sentence(error.says, error.suggestions)))


def explain(ctx: typer.Context, error: ex.APIError, file: str | None, found: SeenFile) -> None:
    """End with the fault at the line of the file, or at the --price, that it is about; else raise it on."""
    lines: list[str] = []
    errors: list[Json] = []
    for fault in error.errors:
        steps = pointer_steps(fault.pointer)
        if steps[:2] != ["#", "prices"] or not steps[2:] or not steps[2].isdigit():
            raise error
        index = int(steps[2])
        if index >= len(found.lines):
            raise error
        place = f"{file}: line {found.lines[index]}" if file is not None else f"--price number {index + 1}"
        place += f", {steps[3]}" if steps[3:] else ""
        says = without_name(fault.detail, steps[-1])
        if file is None and steps[-1] == "label" and isinstance(error, ex.UnknownGrade):
            says = f"{says} {QUOTED}"
        named = steps[-1] == "label" and all(one in fault.detail for one in fault.suggestions)
        lines.append(f"{place}: {sentence(says, () if named else fault.suggestions)}")
        errors.append({"place": place, "detail": says, "suggestions": list(fault.suggestions)})
    if not lines:
        raise error
    more = {"status": error.status, "request_id": error.request_id}
    lines.append(NOTHING)
    fail(ctx, Failure(error.type, error.title, tuple(lines), Exit.REFUSED, tuple(errors), more))


@dataclass(frozen=True)
class Stands:
    """How a posting stands that was just stored: today (None: that cannot be had); and in the list of its own
    day, where some of it does not count today, as it is too old or a newer one stands in its place.
    """

    today: Posting | None
    then: Posting | None = None

    @property
    def waiting(self) -> Sequence[PostedPrice]:
        """What waits in the list of its own day, and not today."""
        if self.today is None or self.then is None:
            return ()
        behind = {price.line for price in self.today.prices if price.status in ELSEWHEN}
        return [price for price in self.then.held if price.line in behind]

    def slips_among(self, posting: Posting) -> Sequence[PostedPrice]:
        """Of the prices as they stand today those that may be slips, and are not told to wait."""
        wait = {price.line for price in self.waiting}
        return [price for price in (self.today or posting).prices if price.line not in wait]


def as_it_stands(client: Client, posting: Posting) -> Stands:
    """A posting just stored, read again with what waits of it.

    It is stored whatever comes of this: that is never an error of the command.
    """
    try:
        today = client.postings.get(posting.id, known_at=posting.revision)
    except ex.GradewrightError:
        return Stands(None)
    if all(price.status not in ELSEWHEN for price in today.prices):
        return Stands(today)
    try:
        then = client.postings.get(posting.id, on=posting.observed_on, known_at=posting.revision)
    except ex.GradewrightError:
        return Stands(None)
    return Stands(today, then)


def too_old(client: Client, seen_on: date, today: date) -> str | None:
    """That what was seen on a day counts no more today, where that is so; or that it could not be asked.

    What is stored is stored whatever comes of this: that is never an error of the command.
    """
    if (today - seen_on).days <= 1:  # no rulebook lets a price count for less
        return None
    try:
        book = client.rulebooks.in_force(on=today)
    except ex.GradewrightError:
        return "Whether it was seen too long ago to count could not be asked."
    days = book.stale_after
    if days is None or (today - seen_on).days <= days:
        return None
    return (
        f"Seen {(today - seen_on).days} days ago it counts in no price list of today, as prices count for "
        f"{days} days; those of days before {seen_on + timedelta(days=days + 1)} count what does not wait "
        "there."
    )


def print_posting(
    console: Console,
    posting: Posting,
    stands: Stands,
    old: str | None = None,
    slips: Sequence[str] = (),
) -> None:
    """A posting just stored, whether it is too `old` to count, and which of its prices wait: today, or in the
    lists of its own day."""
    from rich.table import Table

    from gradewright_sdk.cli._show import number, say

    console.print(
        say(f"Stored as {posting.id}, ledger revision {posting.revision}, posted by {posting.author}", "bold")
    )
    console.print(say(f"{posting.yard}, seen on {posting.observed_on}, evidence: {posting.evidence}"))
    if posting.note:
        console.print(say(posting.note))
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("Grade", overflow="fold")
    table.add_column("As the yard says", overflow="fold")
    table.add_column("Price", justify="right", no_wrap=True)
    table.add_column("Per")
    table.add_column("From")
    for one in posting.prices:
        table.add_row(
            say(one.grade),
            say(one.label or "-"),
            f"{number(one.price)} {one.currency}",
            say(one.per),
            say(one.from_weight or "-"),
        )
    console.print(table)
    print_standing(console, stands, old, slips)


def print_standing(
    console: Console,
    stands: Stands,
    old: str | None,
    slips: Sequence[str],
    *,
    of: str = "",
    because: str | None = None,
) -> None:
    """What of a posting just stored does not count, and what does and may be a slip. `of`: whose lines they
    are, where something else has lines too; `because`: what is said where some wait.
    """
    from gradewright_sdk.cli._show import say
    from gradewright_sdk.cli._slips import mend

    if old is not None:
        console.print(say(old, "yellow"))
    if stands.today is None:
        console.print(say(UNSURE, "yellow"))
    else:
        _print_elsewhen(console, stands.today, of)
        for waiting, day in ((stands.today.held, None), (stands.waiting, stands.today.observed_on)):
            if waiting:
                _print_waiting(console, waiting, of, day)
                console.print(say(mend(stands.today.id, [one.line for one in waiting]), "yellow"))
                if because is not None:
                    console.print(say(because, "yellow"))
    for says in slips:
        console.print(say(says, "yellow"))


def _print_elsewhen(console: Console, posting: Posting, of: str) -> None:
    """What does not count today, as a newer one stands in its place; and from when on what is of a day to
    come counts."""
    from gradewright_sdk.cli._lines import ranges
    from gradewright_sdk.cli._show import say

    behind = [price.line for price in posting.prices if price.status == "overtaken"]
    if behind:
        lines = f"Line{'s' if len(behind) > 1 else ''} {', '.join(ranges(behind))}{of}"
        console.print(say(OVERTAKEN.format(what=f"{lines} {'do' if len(behind) > 1 else 'does'}"), "yellow"))
    if posting.observed_on > posting.recorded_at.date():
        console.print(say(f"It is in lists from {posting.observed_on} on (days as in UTC).", "yellow"))


def _print_waiting(
    console: Console, waiting: Sequence[PostedPrice], of: str, day: date | None = None
) -> None:
    """`day`: in whose list they wait, where that is not today's."""
    from rich.padding import Padding

    from gradewright_sdk.cli._show import number, say

    many = len(waiting) > 1
    then = "" if day is None else f" in the list of {day}"
    first = f"{len(waiting)} prices wait{then} and do not" if many else f"1 price waits{then} and does not"
    if not of:
        console.print()
    console.print(say(f"{first} count yet:", "bold yellow"))
    for one in waiting:
        why = one.held.says if one.held is not None else "the service does not say why."
        what = f"line {one.line}{of}, {one.grade} {number(one.price)} {one.currency}/{one.per}"
        console.print(Padding(say(f"{what}: {why}"), (0, 0, 0, 2)))
