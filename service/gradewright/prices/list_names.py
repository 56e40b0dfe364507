"""What may have been meant by a label that a yard does not have: one of its own, or a grade by its names."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from gradewright.core.house import Label, fold
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.nearest import Nearest
from gradewright.rulebooks.service import nearest_grades

MOST = 3
ALIKE = 0.6
LONGEST = 80
MOST_LOOKED_FOR = 200


@dataclass(frozen=True, slots=True)
class Near:
    """What may have been meant by an unknown label: a label of the yard, or a grade by one of its names."""

    kind: str
    written: str
    grade: str


class NearNames:
    """The names near a label, each looked for once. Never a guess: whoever sends the list chooses."""

    def __init__(self, labels: Mapping[str, Label], rulebook: Rulebook) -> None:
        """`labels`: those of the yard, by their folded text."""
        self._labels = labels
        self._rulebook = rulebook
        self._by_words: Nearest | None = None
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
        """Those spelt alike, in which a number counts only for itself (#1 is no slip for #2); or else those
        with the same words."""
        from rapidfuzz import process  # only an unknown label needs it
        from rapidfuzz.distance import OSA

        same = [key for key in self._labels if re.findall("[0-9]", key) == re.findall("[0-9]", folded)]
        found = process.extract(
            folded, same, scorer=OSA.normalized_similarity, score_cutoff=ALIKE, limit=MOST
        )
        if self._by_words is None:
            self._by_words = Nearest({key: key for key in self._labels})
        by_words = () if found else self._by_words.near(folded)
        keys = [*(key for key, _, _ in found), *(one.slug for one in by_words)]
        labels = [self._labels[key] for key in keys]
        return [Near("label", label.label, label.grade) for label in labels]

    def _near_grades(self, folded: str) -> list[Near]:
        found = nearest_grades(self._rulebook, folded)
        return [Near("grade", one.written, one.slug) for one in found]
