"""Lines: what a service says of those of a file that was sent to it, and how several are told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NoReturn

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli._failures import Exit, Failure, Json, fail
from gradewright_sdk.cli._files import pointer_steps, without_name


def explain(ctx: typer.Context, error: ex.APIError, file: str, nothing: str) -> NoReturn:
    """End with each fault at the line of the file that it is about; raise on what is about none. `nothing`
    says that nothing was stored.
    """
    lines: list[str] = []
    errors: list[Json] = []
    for fault in error.errors:
        steps = pointer_steps(fault.pointer)
        if steps[:2] != ["#", "lines"] or not steps[2:]:
            raise error
        column = steps[3] if steps[3:] else ""
        place = f"{file}: line {steps[2]}" + (f", {column}" if column else "")
        says = without_name(fault.detail, column).replace("far_off=true", "--far-off")
        # What may have been meant stands in the service's words already.
        lines.append(f"{place}: {says}")
        errors.append({"place": place, "detail": says, "suggestions": list(fault.suggestions)})
    if not lines:
        raise error
    more = {"status": error.status, "request_id": error.request_id}
    lines.append(nothing)
    fail(ctx, Failure(error.type, error.title, tuple(lines), Exit.REFUSED, tuple(errors), more))


def ranges(lines: Sequence[int]) -> Iterator[str]:
    """Lines as they are read: 1 to 4, 7."""
    first = last = None
    for line in sorted(lines):
        if last is not None and line == last + 1:
            last = line
            continue
        if first is not None:
            yield _range(first, last)
        first = last = line
    if first is not None:
        yield _range(first, last)


def _range(first: int, last: int | None) -> str:
    return str(first) if last == first else f"{first} to {last}"
