"""What grades are called in two versions: the same one under other words, and what is read otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from gradewright.core.rulebook import Grade, Rulebook

Document = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Called:
    """One grade that has another slug (`before`, `after`), another name, or both."""

    before: str
    after: str
    name_before: str
    name_after: str


@dataclass(frozen=True, slots=True)
class NameMoved:
    """A slug, name or alias that people write, and the grades as which it is read; None: it is not read."""

    name: str
    before: str | None
    after: str | None

    @property
    def means_another(self) -> bool:
        """Whether parts that are given by it get another grade."""
        return self.before is not None and self.after is not None


def new_slugs(old: Rulebook, new: Rulebook) -> dict[str, str]:
    """Slugs that are gone, each with that of the same grade now: a new one that answers to its old names."""
    added = [slug for slug in new.grades if slug not in old.grades]
    found: dict[str, str] = {}
    for slug, grade in old.grades.items():
        if slug not in new.grades:
            by_name = (new.grade_named(name) for name in (slug, grade.name, *grade.aliases))
            same = next((to for to in by_name if to in added and to not in found.values()), None)
            if same is not None:
                found[slug] = same
    return found


def called(old: Rulebook, new: Rulebook, slugs: Mapping[str, str]) -> Iterator[Called]:
    """The grades that are called otherwise; `slugs`: those whose slug is another one now."""
    for slug, grade in old.grades.items():
        now = new.grades.get(slugs.get(slug, slug))
        if now is not None and (slug, grade.name) != (now.slug, now.name):
            yield Called(slug, now.slug, grade.name, now.name)


def names_moved(old: Rulebook, new: Rulebook, slugs: Mapping[str, str]) -> Iterator[NameMoved]:
    """The names by which parts are given and that are not read as they were.

    What a new grade is called, or one that is called otherwise, goes without saying, unless it meant another.
    """
    for grade in old.grades.values():
        for name in _names(grade):
            before, after = slugs.get(grade.slug, grade.slug), new.names.get(name.casefold())
            if after != before:
                yield NameMoved(name, grade.slug, after)
    for grade in new.grades.values():
        if grade.slug in old.grades:
            for name in grade.aliases:
                if name.casefold() not in old.names:
                    yield NameMoved(name, None, grade.slug)


def _names(grade: Grade) -> list[str]:
    return list({name.casefold(): name for name in (grade.slug, *grade.aliases, grade.name)}.values())


def with_new_slugs(document: Document, slugs: Mapping[str, str]) -> Document:
    """A document whose grades have the slugs that they have now, so that only what else changes is left."""
    if not slugs:
        return document
    found = {section: _renamed(value, slugs) for section, value in document.items()}
    found["grades"] = {slugs.get(slug, slug): grade for slug, grade in found["grades"].items()}
    return found


REFERS = frozenset(("grade", "grades", "candidates"))
"""The keys under which grades are named."""
DESCRIBES = frozenset(("when", "unless", "changes", "part"))
"""The keys under which parts are described: an attribute may be called like any key."""


def _renamed(value: Any, slugs: Mapping[str, str], key: str = "") -> Any:
    if isinstance(value, Mapping):
        return {
            name: inside if name in DESCRIBES else _renamed(inside, slugs, str(name))
            for name, inside in value.items()
        }
    if isinstance(value, list):
        return [_renamed(each, slugs, key) for each in value]
    return slugs.get(value, value) if key in REFERS and isinstance(value, str) else value
