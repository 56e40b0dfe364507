"""Which bins a line of a ticket stands for, as people write it: 2=copper-no2, several with + between them.

A part of a valuation whose grade was not known is named as part:NAME, since a bin has the name of its grade.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import typer

from gradewright_sdk.cli._failures import Json

if TYPE_CHECKING:
    from gradewright_sdk._models import MatchMeant

PART = "part:"


def bins_of(text: str) -> list[Json]:
    """The bins of one line, as the service takes them. Raises ValueError where one is not written."""
    found: list[Json] = []
    for each in text.split("+"):
        name = each.strip()
        bare = name.removeprefix(PART).strip()
        if not bare:
            raise ValueError(text)
        found.append({"bin": name} if bare == name else {"part": bare})
    return found


def matches_of(text: str) -> list[Json]:
    """What one option says: a line, and its bins. Raises BadParameter, which says what to write."""
    line, equals, names = text.partition("=")
    number = line.strip()
    try:
        if not (equals and number.isascii() and number.isdigit() and int(number)):
            raise ValueError(text)
        return [{"line": int(number), **bin_} for bin_ in bins_of(names)]
    except ValueError as error:
        raise typer.BadParameter(
            f"{text!r} is no match; write a line and its bin, 2=copper-no2, or the bins that are on it "
            "together, 2=copper-no1+copper-no2"
        ) from error


def option(meant: Sequence[MatchMeant]) -> str:
    """What is to be added to the command, for bins that are meant together: one option for each line."""
    lines = dict.fromkeys(one.line for one in meant)
    return " ".join(f'--match "{line}={_names(line, meant)}"' for line in lines)


def _names(line: int, meant: Sequence[MatchMeant]) -> str:
    return "+".join(one.bin or f"{PART}{one.part}" for one in meant if one.line == line)
