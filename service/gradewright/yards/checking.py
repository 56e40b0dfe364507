"""What can be said of limits, labels and grades in a place from a day on: every fault told at once."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from gradewright.core.errors import Fault, ObservationError, Path
from gradewright.core.house import Label, OwnLimit, Refusal, fold, last_words
from gradewright.core.house_limits import measured_by
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.service import meant, nearest_grades
from gradewright.yards.atlas import Atlas


class Checker:
    """Reads what is said against one rulebook and what was said before, and gathers what is wrong with it."""

    def __init__(self, rulebook: Rulebook, atlas: Atlas, region: str, yard: str | None, on: date) -> None:
        self.faults: list[Fault] = []
        self.only_grades = True
        self._rulebook = rulebook
        self._measured_by = measured_by(rulebook)
        self._own = next(atlas.speakers(region, yard))
        self._labels = atlas.label_table(region, yard, on)
        self._refused = atlas.refusals(region, yard, on)
        self._on = on

    def limits(self, said: Sequence[OwnLimit]) -> Iterator[OwnLimit]:
        """The limits, from the day on."""
        own = last_words(self._own.rules.limits, self._on)
        self._twice([limit.name for limit in said], "limits", "limit")
        for number, limit in enumerate(said):
            at: Path = ("limits", number)
            attribute = self._measured_by.get(limit.name)
            if attribute is None:
                near = tuple(difflib.get_close_matches(limit.name, self._rulebook.limits, n=3, cutoff=0.4))
                meant = f"Did you mean {' or '.join(near)}?" if near else "See the rulebook's list of limits."
                text = f"{limit.name!r} is not a limit of rulebook {self._rulebook.version}. {meant}"
                self._fault(text, (*at, "limit"), near)
                continue
            if limit.given is not None:
                try:
                    attribute.read(limit.given)
                except ObservationError as error:
                    told = error.detail.removeprefix(f"{attribute.name}: ")
                    self._fault(f"{limit.name}: {told}", (*at, "value"))
                    continue
            elif limit.name not in own or own[limit.name].lifted:
                where = f"{self._own.name} has no value of its own for {limit.name} on {self._on}"
                self._fault(f"{where}: there is nothing to lift.", (*at, "value"))
                continue
            yield OwnLimit(limit.name, limit.given, self._on, limit.says)

    def labels(self, said: Sequence[tuple[str, str | None]]) -> Iterator[Label]:
        """The labels, from the day on."""
        self._twice([fold(label) for label, _ in said], "labels", "label")
        for number, (label, grade) in enumerate(said):
            at: Path = ("labels", number)
            if grade is None:
                found = self._labels.get(fold(label))
                if found is None:
                    written = [each.label for each in self._labels.values()]
                    near = tuple(difflib.get_close_matches(label, written, n=3, cutoff=0.4))
                    text = f"{label!r} is not in use in {self._own.name} on {self._on}: nothing to lift."
                    self._fault(text, (*at, "label"), near)
                    continue
                yield Label(label, found.grade, self._on, lifted=True)
            elif self._is_grade(grade, (*at, "grade")):
                yield Label(label, grade, self._on)

    def refuses(self, said: Sequence[str]) -> Iterator[Refusal]:
        """The grades that are not taken from the day on."""
        self._twice(said, "refuses")
        for number, grade in enumerate(said):
            if self._is_grade(grade, ("refuses", number)):
                yield Refusal(grade, self._on)

    def takes(self, said: Sequence[str]) -> Iterator[Refusal]:
        """The grades that are taken again from the day on."""
        self._twice(said, "takes")
        for number, grade in enumerate(said):
            at: Path = ("takes", number)
            if grade in self._refused:
                yield Refusal(grade, self._on, lifted=True)
            elif self._is_grade(grade, at):
                self._fault(f"{self._own.name} takes {grade} on {self._on}: there is nothing to lift.", at)

    def said_once(self, refuses: Sequence[str], takes: Sequence[str]) -> None:
        """A grade cannot be refused and taken from one day on."""
        for number, grade in enumerate(takes):
            if grade in refuses:
                self._fault(f"{grade} is refused in the same breath; say one of the two.", ("takes", number))

    def _is_grade(self, grade: str, at: Path) -> bool:
        if grade in self._rulebook.grades:
            return True
        near = nearest_grades(self._rulebook, grade)
        text = f"{grade!r} is not the slug of a grade of rulebook {self._rulebook.version}. {meant(near)}"
        self.faults.append(Fault(text, at, tuple(one.slug for one in near)))
        return False

    def _twice(self, said: Iterable[str], *under: str) -> None:
        seen: set[str] = set()
        for number, key in enumerate(said):
            if key in seen:
                self._fault(f"{key} is said twice; say it once.", (under[0], number, *under[1:]))
            seen.add(key)

    def _fault(self, text: str, at: Path, suggestions: tuple[str, ...] = ()) -> None:
        self.only_grades = False
        self.faults.append(Fault(text, at, suggestions))
