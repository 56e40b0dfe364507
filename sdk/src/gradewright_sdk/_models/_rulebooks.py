"""Rulebook versions, short and whole."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from pydantic import Field

from ._common import Result, Whole


class RulebookSummary(Result):
    """One version in short: how many grades and rules it has, and the SHA-256 of its document.

    `state` is to-come, in-force or superseded, by today; `in_force_until` the day before another takes over;
    `replaced_by` the version that is in force instead of this one, which never begins;
    `draft` and `approved_by` where it comes from, None of what was loaded, as the versions that ship are.
    """

    version: str
    effective_from: date
    in_force_until: date | None = None
    replaced_by: str | None = None
    state: str = ""
    title: str = ""
    summary: str = ""
    sha256: str
    grades: int = 0
    rules: int = 0
    draft: str | None = None
    approved_by: str | None = None


class Family(Result):
    """Grades that belong together."""

    name: str


class Grade(Result):
    """What a buyer pays for."""

    name: str
    family: str = ""
    aliases: tuple[str, ...] = ()
    describes: str = ""


class Attribute(Result):
    """One thing to observe: the question, the kind of answer, how it is tested and how long that takes.

    `kind` is choice, yes_no, length, share, area, density, year or date. `choices` (kind choice alone) says
    of each value how it is recognised.
    """

    kind: str
    asks: str = ""
    choices: dict[str, str] | None = None
    test: str | None = None
    minutes: Decimal | None = None
    beware: str | None = None


class Rule(Result):
    """Conditions on observations that give a grade. `when` is as in the document.

    `settled_by`: what would settle it, where it is disputed.
    """

    id: str
    grade: str
    when: dict[str, Any] = Field(default_factory=dict)
    because: str = ""
    source: str | None = None
    confidence: str | None = None
    settled_by: str | None = None


class Caution(Result):
    """What can hurt someone, or is governed by law, and what to do.

    In a rulebook the id is the key that it stands under, and `id` is empty. With a part, `certain` is False
    where it depends on what is not known whether it applies: until that is known, take it to apply.
    """

    id: str = ""
    name: str
    says: str = ""
    source: str | None = None
    certain: bool = True


class Rulebook(Whole):
    """One whole version; `pricing` is as in the document, what is not modelled here stands in `raw`."""

    version: str
    effective_from: date
    title: str = ""
    summary: str = ""
    sha256: str | None = None
    families: dict[str, Family] = Field(default_factory=dict)
    grades: dict[str, Grade] = Field(default_factory=dict)
    attributes: dict[str, Attribute] = Field(default_factory=dict)
    rules: tuple[Rule, ...] = ()
    cautions: dict[str, Caution] = Field(default_factory=dict)
    pricing: dict[str, Any] = Field(default_factory=dict)

    @property
    def stale_after(self) -> int | None:
        """For how many days a price counts; None where the service does not say."""
        days = self.pricing.get("stale_after")
        return days if isinstance(days, int) else None

    def find_grade(self, text: str) -> str | None:
        """The slug of the grade that `text` names: a slug, a name or an alias, however it is capitalised."""
        wanted = text.strip().casefold()
        for slug, grade in self.grades.items():
            if wanted in {
                slug.casefold(),
                grade.name.casefold(),
                *(alias.casefold() for alias in grade.aliases),
            }:
                return slug
        return None
