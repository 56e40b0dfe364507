"""What a price rests on, in few words, for somebody who knows where they asked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from rich.text import Text

from gradewright_sdk.cli._show import clean

if TYPE_CHECKING:
    from gradewright_sdk._models import Basis, Rulebook

KINDS = frozenset({"yard", "region", "parent", "kin"})


@dataclass(frozen=True, slots=True)
class Asked:
    """Where and as of which day prices were asked for; `name` says how a grade is called, by its slug."""

    place: str | None  # the yard's slug or the region's code, as the answer has it
    on: date
    at_yard: bool = False
    name: Callable[[str], str] = str

    @classmethod
    def by_names(cls, region: str | None, yard: str | None, on: date, rulebook: Rulebook) -> Asked:
        """Where grades are called by the names that a rulebook has for them."""

        def name(grade: str) -> str:
            return rulebook.grades[grade].name if grade in rulebook.grades else grade

        return cls(yard or region, on, yard is not None, name)

    def rests_on(self, basis: Basis) -> Text:
        """The words, yellow where few yards stand behind a price that is said to be a region's."""
        own = basis.place is not None and basis.place == self.place and self.at_yard
        return Text(clean(self._words(basis, own=own)), "yellow" if basis.thin and not own else "dim")

    def _words(self, basis: Basis, *, own: bool) -> str:
        if basis.kind not in KINDS or basis.newest is None or not basis.yards:
            return basis.says  # a newer service may know more kinds than this client
        if own:
            who = "its own price"
        else:
            who = "1 yard" if basis.yards == 1 else f"{basis.yards} yards"
            who += " only" if basis.thin else ""
            who += f" in {basis.place}" if basis.place not in {None, self.place} else ""
        seen = f"{who}, {self._ago(basis.newest)}{moved(basis)}"
        if basis.kin is None:
            return seen
        return f"{basis.kin.factor:f} of {self.name(basis.kin.grade)}: {seen}"

    def _ago(self, day: date) -> str:
        days = (self.on - day).days
        if days < 0:
            return day.isoformat()
        return {0: "today", 1: "yesterday"}.get(days, f"{days} days ago")


def moved(basis: Basis) -> str:
    """How far the likely price moved with its benchmark since it was seen; or that others beside it did."""
    found = basis.moved
    if found is None:
        return ""
    if found.likely is None:
        return f", some moved with {found.benchmark}"
    percent = f"{(found.likely.times - 1) * 100:+.1f}"
    if percent in ("+0.0", "-0.0"):
        percent = "less than 0.1"
    return f", moved {percent} % with {found.benchmark}"
