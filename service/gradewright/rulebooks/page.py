"""A version of the rulebook as one page that a person can read on a phone, or print.

HTML of its own making, which needs no other file and runs nothing. `templates` has its words and its look.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from gradewright.core.decimals import EXACT
from gradewright.core.grading import Grader
from gradewright.core.rulebook import Caution, Grade, Rule, Rulebook
from gradewright.core.units import trimmed
from gradewright.rulebooks import page_words
from gradewright.rulebooks.page_otherwise import Others, Otherwise

HUNDRED = Decimal(100)
TEMPLATES = Path(__file__).parent / "templates"
CONFIDENCE = {
    "published": "Published",
    "common-practice": "Common practice",
    "disputed": "Disputed",
}
SEEN = {
    "ticket": "a scale ticket",
    "written-list": "a written list",
    "sign": "a sign",
    "told": "being told",
}
STYLE = (TEMPLATES / "rulebook.css").read_text(encoding="utf-8")
STYLE_HASH = base64.b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()
"""What a Content-Security-Policy names the only style by that the page has."""

_environment = Environment(
    loader=FileSystemLoader(TEMPLATES),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


@dataclass(frozen=True, slots=True)
class GradeShown:
    """A grade with all that tells it from others."""

    grade: Grade
    rules: tuple[Rule, ...]
    cautions: tuple[Caution, ...]
    others: tuple[Otherwise, ...]


@dataclass(frozen=True, slots=True)
class FamilyShown:
    """A family with its grades, and the cautions of any of them."""

    slug: str
    name: str
    grades: tuple[GradeShown, ...]
    cautions: tuple[Caution, ...]


def page(
    rulebook: Rulebook, history: Sequence[Rulebook], grader: Grader | None = None, *, published: bool = True
) -> str:
    """The page. `history`: the versions whose changes it tells, the newest first. `grader`: if there is one.
    `published`: whether it is a version that anybody is paid by; else the page says that it is not.

    The same rulebook and history are the same page, byte for byte.
    """
    known = grader or Grader(rulebook)
    others = Others(rulebook, known.index)
    families = [_family(rulebook, known, others, slug) for slug in rulebook.families]
    return _environment.get_template("rulebook.html").render(
        book=rulebook,
        published=published,
        families=[family for family in families if family.grades],
        history=history,
        priced_by_others=[grade for grade in rulebook.grades.values() if grade.kin or grade.follows],
        numbers={rule.id: number for number, rule in enumerate(rulebook.rules, 1)},
        settles=any(rule.settled_by for rule in rulebook.rules),
        confidence=CONFIDENCE,
        style=Markup(STYLE),  # noqa: S704 - a file of our own
        words=page_words,
        seen=SEEN,
        trimmed=trimmed,
        percent=_percent,
    )


def _family(rulebook: Rulebook, grader: Grader, others: Others, slug: str) -> FamilyShown:
    grades = tuple(
        _shown(rulebook, grader, others, grade) for grade in rulebook.grades.values() if grade.family == slug
    )
    concerned = {caution.id for each in grades for caution in each.cautions}
    cautions = tuple(caution for caution in rulebook.cautions.values() if caution.id in concerned)
    return FamilyShown(slug, rulebook.families[slug], grades, cautions)


def _shown(rulebook: Rulebook, grader: Grader, others: Others, grade: Grade) -> GradeShown:
    rules = tuple(rule for rule in rulebook.rules if rule.grade == grade.slug)
    return GradeShown(grade, rules, grader.cautions(None, grade.slug), others.of(grade.slug))


def _percent(share: Decimal) -> str:
    return f"{trimmed(EXACT.multiply(share, HUNDRED))} %"
