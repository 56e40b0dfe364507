"""How a command ends, and what it says when it could not do what was asked: to people, or to scripts."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum
from typing import TYPE_CHECKING, Any, NoReturn

import typer

from gradewright_sdk import _exceptions as ex

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk.cli._files import FileFault, FileFaults

Json = dict[str, Any]
LISTED = {"See the rulebook's list of grades.": "`gradewright-client grades` lists them."}
"""Where the service's sentences send people, and where that is here."""


class Exit(IntEnum):
    """How a command ends."""

    DONE = 0
    REFUSED = 1
    USAGE = 2
    INCOMPLETE = 3
    NO_ANSWER = 4


@dataclass(frozen=True, slots=True)
class Failure:
    """What went wrong: `lines` for people; for scripts also its `type` and the single `errors`, and `more`
    that is known of it.
    """

    type: str
    title: str
    lines: tuple[str, ...]
    code: Exit
    errors: tuple[Json, ...] = ()
    more: Mapping[str, Any] = field(default_factory=dict)

    @property
    def document(self) -> Json:
        """All of it as one JSON object, named as in the service's own problems."""
        detail = "\n".join(self.lines)
        return {
            "type": self.type,
            "title": self.title,
            "detail": detail,
            "errors": list(self.errors),
            **self.more,
        }


def err() -> Console:
    """Where errors and progress go."""
    from rich.console import Console

    return Console(file=sys.stderr, highlight=False, markup=False, emoji=False)


def fail(ctx: typer.Context, failure: Failure) -> NoReturn:
    """Say it on standard error, as JSON if the command was asked for JSON, and end."""
    if ctx.params.get("json_"):
        sys.stderr.write(json.dumps(failure.document, ensure_ascii=False) + "\n")
    else:
        style = "bold red" if failure.code is Exit.REFUSED else ""
        err().print(listed("\n".join(failure.lines)), style=style, soft_wrap=True)
    raise typer.Exit(failure.code)


def listed(text: str) -> str:
    """What the service says, with the command for what it says is listed."""
    for there, here in LISTED.items():
        text = text.replace(there, here)
    return text


def wrong_usage(says: str) -> Failure:
    """Something was given to the command that it cannot take."""
    return Failure("wrong-usage", "Wrong usage", (says,), Exit.USAGE)


def no_answer(error: ex.GradewrightError, *, kept: bool = False) -> Failure:
    """The service could not be asked, or what answered was none. `kept`: what it is working out it finds, and
    keeps, whether somebody waits for it or not.
    """
    if isinstance(error, ex.ConnectionFailed):
        says = (
            f"{error.happened} Start one with `gradewright serve`, or give the right address with --url "
            "or in GRADEWRIGHT_URL."
        )
    elif isinstance(error, ex.TimedOut):
        less = "ask for less at a time"
        if kept:
            less = "ask again later: the service goes on with it, and keeps what it finds"
        says = f"{error.happened} Allow more with --timeout, or {less}."
    else:
        says = str(error).replace("base_url", "--url")
    return Failure("no-answer", "No answer", (says,), Exit.NO_ANSWER)


def unreadable(file: str, error: OSError) -> Failure:
    """The file is not there, or cannot be read."""
    return Failure(
        "unreadable-file", "Unreadable file", (f"Cannot read {file}: {error.strerror}.",), Exit.USAGE
    )


def faulty_file(file: str, error: FileFaults, unchecked: Failure | None, nothing: str) -> Failure:
    """The faults of a file by line, what kept the service from looking at the rest of it, and that nothing
    was done.
    """
    lines = [f"{file}: {fault}" for fault in error.faults]
    more: Json = {}
    if unchecked is not None:
        lines.append("The service could not look at the rest of the file, which may have more faults.")
        lines += unchecked.lines
        more = {"unchecked": unchecked.document}
    errors = tuple(_in_file(file, fault) for fault in error.faults)
    return Failure("faulty-file", "Faulty file", (*lines, nothing), Exit.USAGE, errors, more)


def _in_file(file: str, fault: FileFault) -> Json:
    return {
        "file": file,
        "line": fault.line,
        "column": fault.column or None,
        "detail": fault.says,
        "suggestions": list(fault.suggestions),
    }
