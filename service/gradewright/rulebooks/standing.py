"""How a version that is not published yet stands to those that are."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from gradewright.core.rulebook import Rulebook
from gradewright.core.timeline import days_before, in_force
from gradewright.rulebooks.repository import Dated

State = Literal["to-come", "in-force", "superseded"]


@dataclass(frozen=True, slots=True)
class Standing:
    """`before`: the version whose place it would take on its first day; None where it would be the first.

    `hidden_by`: one that begins on the same day and has a higher number, so that this one never is in force.
    `alike`: one with the same number, spelled otherwise: 2028.8 and 2028.08.
    `later`: those that are published already and end it, the earliest first. `days`: when each begins.
    """

    before: str | None
    hidden_by: str | None
    later: tuple[str, ...]
    days: dict[str, date]
    alike: str | None = None

    @property
    def ends(self) -> date | None:
        """The first day on which another one is in force instead; None where none is published yet."""
        return self.days[self.later[0]] if self.later else None

    @property
    def ended_by(self) -> str | None:
        """Which one that is: of those that begin on that day the one with the highest number."""
        return [name for name in self.later if self.days[name] == self.ends][-1] if self.later else None


def stands(
    rulebook: Rulebook, published: Sequence[Dated], number: Callable[[str], tuple[int, ...]]
) -> Standing:
    """Where it stands among the published versions. `number`: what versions are ordered by."""
    others = sorted(
        (dated for dated in published if dated.version != rulebook.version),
        key=lambda dated: (dated.effective_from, number(dated.version)),
    )
    begins = rulebook.effective_from
    before = in_force(others, begins)
    together = before is not None and before.effective_from == begins
    hidden = before is not None and together and number(before.version) > number(rulebook.version)
    return Standing(
        before=before.version if before is not None else None,
        hidden_by=before.version if before is not None and hidden else None,
        later=tuple(dated.version for dated in others if dated.effective_from > begins),
        days={dated.version: dated.effective_from for dated in published},
        alike=next(
            (dated.version for dated in others if number(dated.version) == number(rulebook.version)), None
        ),
    )


def spans(begins: Sequence[date], today: date) -> list[tuple[date | None, State]]:
    """The last day on which each version is in force, and how it stands today.

    `begins`: the first days, in the order in which versions take over from each other. None: no other takes
    over. Of one that another replaces on its first day, the last day is before that.
    """
    found: list[tuple[date | None, State]] = []
    for number, first in enumerate(begins, start=1):
        until = days_before(begins[number], 1) if number < len(begins) else None
        if until is not None and (until < today or until < first):
            found.append((until, "superseded"))
        else:
            found.append((until, "to-come" if first > today else "in-force"))
    return found
