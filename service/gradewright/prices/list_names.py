"""What may have been meant by a label that a yard does not have: one of its own, or a grade by its names."""

from __future__ import annotations

import re
from collections.abc import Mapping

from gradewright.core.house import Label, fold
from gradewright.core.rulebook import Rulebook
from gradewright.prices.list_changes import Near
from gradewright.rulebooks.service import nearest_grades

MOST = 3
ALIKE = 0.6
LONGEST = 80
MOST_LOOKED_FOR = 200


class NearNames:
    """The names near a label, each looked for once. Never a guess: whoever sends the list chooses."""

    def __init__(self, labels: Mapping[str, Label], rulebook: Rulebook) -> None:
        """`labels`: those of the yard, by their folded text."""
        self._labels = labels
        self._rulebook = rulebook
        self._names: dict[str, list[str]] = {}
        for grade in rulebook.grades.values():
            self._names[grade.slug] = [grade.name, *grade.aliases, grade.slug]
        self._found: dict[str, tuple[Near, ...]] = {}

    def near(self, label: str) -> tuple[Near, ...]:
        """Up to three labels, then up to three grades, each with the name of it that is most alike; none for
        labels beyond the first 200 that are unknown."""
        folded = fold(label)[:LONGEST]
        if folded not in self._found:
            if len(self._found) >= MOST_LOOKED_FOR:  # whoever has that many has other troubles than slips
                return ()
            self._found[folded] = (*self._near_labels(folded), *self._near_grades(folded))
        return self._found[folded]

    def _near_labels(self, folded: str) -> list[Near]:
        """A number counts only for itself: #1 is no slip for #2."""
        from rapidfuzz import process  # only an unknown label needs it
        from rapidfuzz.distance import OSA

        same = [key for key in self._labels if re.findall("[0-9]", key) == re.findall("[0-9]", folded)]
        found = process.extract(
            folded, same, scorer=OSA.normalized_similarity, score_cutoff=ALIKE, limit=MOST
        )
        labels = [self._labels[key] for key, _, _ in found]
        return [Near("label", label.label, label.grade) for label in labels]

    def _near_grades(self, folded: str) -> list[Near]:
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        found = []
        for slug in nearest_grades(self._rulebook, folded):
            names = self._names[slug]
            best = process.extractOne([*folded], [[*fold(name)] for name in names], scorer=OSA.distance)
            found.append(Near("grade", names[best[2]], slug))
        return found
