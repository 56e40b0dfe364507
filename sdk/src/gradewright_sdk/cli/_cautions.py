"""Cautions for people: what is certain first, then what may apply as long as not more is known."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from gradewright_sdk.cli._layout import hanging
from gradewright_sdk.cli._show import say

if TYPE_CHECKING:
    from rich.console import RenderableType

    from gradewright_sdk._models import Caution

MOST_IN_FULL = 8
MAY_APPLY = "May apply: act as if so until you know more of the part"


def certain(cautions: Sequence[Caution]) -> Iterator[RenderableType]:
    """Those that concern the part, each whole."""
    for one in cautions:
        if one.certain:
            yield hanging([("!", say(f"{one.name}: {one.says}", "yellow"))])


def possible(cautions: Sequence[Caution]) -> Iterator[RenderableType]:
    """Those that may: each whole if they are few, else by their names; of most parts next to nothing is
    known then.
    """
    found = [one for one in cautions if not one.certain]
    if not found:
        return
    yield say(f"{MAY_APPLY}:", "bold yellow")
    if len(found) <= MOST_IN_FULL:
        for one in found:
            yield hanging([("?", say(f"{one.name}: {one.says}", "yellow"))])
    else:
        yield hanging([("?", say("; ".join(one.name for one in found), "yellow"))])
        yield say("What each says is told once fewer are left (--json tells all of them whole).", "dim")


def by_grade(cautions: Sequence[Caution]) -> Iterator[RenderableType]:
    """Those of things that are known by their grades alone: what is certain whole, the rest by name, as it
    concerns some of what is given such a grade.
    """
    yield from certain(cautions)
    names = "; ".join(one.name for one in cautions if not one.certain)
    if names:
        says = f"May apply, as only grades are known: {names}. (--json tells them whole.)"
        yield hanging([("?", say(says, "yellow"))])
