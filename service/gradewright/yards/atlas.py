"""The map in memory: regions and yards, and what each yard calls and takes, at any revision and day."""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from types import MappingProxyType

from gradewright.core.errors import Fault, NotFound, Path
from gradewright.core.money import Rounding
from gradewright.regions.service import Region, RegionTree


class UnknownYard(NotFound):
    """No yard of that slug, or none yet at the revision asked for."""

    slug = "unknown-yard"


@dataclass(frozen=True, slots=True)
class Label:
    """A yard's own word for a grade, from a day on."""

    label: str
    grade: str
    valid_from: date
    revision: int = 0


@dataclass(frozen=True, slots=True)
class Refusal:
    """A grade that a yard does not take, from a day on."""

    grade: str
    valid_from: date
    revision: int = 0


@dataclass(frozen=True, slots=True)
class Yard:
    """A yard, its terms, and all that was ever said of its labels and refusals."""

    slug: str
    name: str
    region: str
    currency: str
    unit: str
    rounding: Rounding
    cash_increment: Decimal | None
    labels: tuple[Label, ...] = ()
    refusals: tuple[Refusal, ...] = ()
    revision: int = 0


def fold(label: str) -> str:
    """What labels are compared by: case, spaces and compatible forms of characters do not matter."""
    return " ".join(unicodedata.normalize("NFKC", label).casefold().split())


@dataclass(frozen=True, slots=True)
class Atlas:
    """All regions and yards. The same object is handed out until one is added.

    `revision` in every method: as known then; None for the newest. What a yard says counts from its
    day on; of two words for one label the later day wins, then the later revision.
    """

    regions: RegionTree = field(default_factory=RegionTree)
    yards: Mapping[str, Yard] = field(default_factory=lambda: MappingProxyType({}))

    def region(self, code: str, revision: int | None = None, *, at: Path = ("region",)) -> Region:
        """The region of that code. Raises `UnknownRegion`, pointing at `at`."""
        return self.regions.get(code, revision, at=at)

    def lineage(self, code: str, revision: int | None = None) -> tuple[str, ...]:
        """The region's code and those of the regions around it, nearest first."""
        return self.regions.lineage(code, revision)

    def yard(self, slug: str, revision: int | None = None, *, at: Path = ("yard",)) -> Yard:
        """The yard of that slug. Raises `UnknownYard`, pointing at `at`."""
        found = self.yards.get(slug)
        if found is not None and _known(found.revision, revision):
            return found
        known = self.all(revision)
        near = difflib.get_close_matches(slug.lower(), [yard.slug for yard in known], n=3, cutoff=0.6)
        named = [yard.slug for yard in known if fold(yard.name) == fold(slug)]
        suggestions = tuple(dict.fromkeys([*named, *near]))
        listed = " or ".join(suggestions) or "one of GET /v1/yards"
        detail = f"There is no yard {slug[:80]!r}; write {listed}."
        raise UnknownYard(detail, faults=(Fault(detail, at, suggestions),))

    def all(self, revision: int | None = None) -> tuple[Yard, ...]:
        """The yards, by slug."""
        known = (yard for yard in self.yards.values() if _known(yard.revision, revision))
        return tuple(sorted(known, key=lambda yard: yard.slug))

    def under(self, region: str, revision: int | None = None) -> tuple[Yard, ...]:
        """The yards in a region and in all regions below it, by slug."""
        inside = self.regions.under(region, revision)
        return tuple(yard for yard in self.all(revision) if yard.region in inside)

    def labels(self, slug: str, on: date, revision: int | None = None) -> tuple[str, ...]:
        """The labels in use at a yard on a day, as the yard writes them."""
        return tuple(label.label for label in self.label_terms(slug, on, revision))

    def label_terms(self, slug: str, on: date, revision: int | None = None) -> tuple[Label, ...]:
        """The labels in use at a yard on a day, with the grades that they stand for."""
        return tuple(self._labels(slug, on, revision).values())

    def grade_for_label(self, slug: str, label: str, on: date, revision: int | None = None) -> str | None:
        """The grade that a label of the yard stands for on a day; None where it stands for none."""
        found = self._labels(slug, on, revision).get(fold(label))
        return found.grade if found else None

    def refused(self, slug: str, on: date, revision: int | None = None) -> frozenset[str]:
        """The grades that a yard does not take on a day."""
        return frozenset(
            refusal.grade
            for refusal in self.yard(slug, revision).refusals
            if refusal.valid_from <= on and _known(refusal.revision, revision)
        )

    def _labels(self, slug: str, on: date, revision: int | None) -> dict[str, Label]:
        said = sorted(self.yard(slug, revision).labels, key=lambda label: (label.valid_from, label.revision))
        return {
            fold(label.label): label
            for label in said
            if label.valid_from <= on and _known(label.revision, revision)
        }


def _known(made: int, revision: int | None) -> bool:
    return revision is None or made <= revision
