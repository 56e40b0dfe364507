"""The cautions of a grade that is named and not described: those of everything that its rules describe.

What is not known is taken for the worst. A part of a named grade may be any that a rule gives the grade to,
so a caution is shown if it is known to hold for some description of that rule's own observations.
"""

from __future__ import annotations

from collections.abc import Sequence

from gradewright.core.decision import DecisionIndex
from gradewright.core.rulebook import Caution, Rule

NumberedCaution = tuple[Caution, int, int]  # with the bitsets of its alternatives and of its exceptions


class NamedCautions:
    """For each grade its cautions, worked out when the grade is first named."""

    def __init__(
        self, rules: Sequence[Rule], cautions: Sequence[NumberedCaution], index: DecisionIndex
    ) -> None:
        self._rules = rules
        self._cautions = cautions
        self._index = index
        self._of: dict[str, tuple[Caution, ...]] = {}

    def of(self, grade: str) -> tuple[Caution, ...]:
        """The cautions that list the grade, and those that hold for a part that a rule gives it to."""
        found = self._of.get(grade)
        if found is None:
            kinds = [
                certain
                for number, rule in enumerate(self._rules)
                if rule.grade == grade
                for certain in self._kinds(number, rule)
            ]
            found = self._of[grade] = tuple(
                caution
                for caution, when, unless in self._cautions
                if grade in caution.grades or any(bits & when and not bits & unless for bits in kinds)
            )
        return found

    def _kinds(self, number: int, rule: Rule) -> set[int]:
        """For each way to meet a rule and nothing before it: the clauses that are then certain."""
        index = self._index
        known = 0
        for condition in rule.when:
            known |= index.axes[condition.attribute].bit
        kinds = {index.settled(known)}
        for condition in rule.when:
            axis = index.axes[condition.attribute]
            masks = {mask for cell, mask in zip(axis.cells, axis.masks, strict=True) if condition.holds(cell)}
            kinds = {bits & mask for bits in kinds for mask in masks}
        own = 1 << (index.first_rule + number)
        before = own - 1  # what is impossible, and the earlier rules
        return {bits for bits in kinds if bits & own and not bits & before}
