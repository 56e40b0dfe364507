"""Grading: what a part is accepted as, by which rule, and what to find out where too little is known.

The first rule that holds wins. A part whose observations are incomplete is graded all the same when every
completion of them that is not impossible ends at one grade; otherwise the answer names the grades that
completions end at.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from gradewright.core.belief import Belief
from gradewright.core.candidates import Completions
from gradewright.core.concerns import Concerning, Concerns
from gradewright.core.decision import DecisionIndex
from gradewright.core.naming import NamedCautions, NumberedCaution
from gradewright.core.observations import Observed
from gradewright.core.prospects import Prospects
from gradewright.core.rulebook import Caution, Impossible, Preparation, Rule, Rulebook, When


@dataclass(frozen=True, slots=True)
class Graded:
    """One grade, whatever the unknown observations turn out to be; `rule` is the rule that gives it."""

    grade: str
    rule: Rule


@dataclass(frozen=True, slots=True)
class Undecided:
    """Too little is known: exactly these grades can still be reached, and perhaps none at all."""

    candidates: tuple[str, ...]
    may_be_ungraded: bool


@dataclass(frozen=True, slots=True)
class Contradiction:
    """No part can be as described."""

    impossible: tuple[Impossible, ...]


@dataclass(frozen=True, slots=True)
class Ungraded:
    """The rulebook has no rule for such a part."""


Outcome = Graded | Undecided | Contradiction | Ungraded
UNGRADED = Ungraded()


@dataclass(frozen=True, slots=True)
class Reading:
    """A part matched against the index: bitsets of clauses, and of the attributes that are known."""

    possible: int
    known: int
    certain: int


class Grader:
    """A rulebook compiled for grading; made once when a version is loaded, shared by all requests."""

    def __init__(self, rulebook: Rulebook) -> None:
        self.rulebook = rulebook
        extra: list[When] = []
        first = len(rulebook.impossible) + len(rulebook.rules)

        def numbered(clauses: tuple[When, ...]) -> int:
            bits = 0
            for when in clauses:
                bits |= 1 << (first + len(extra))
                extra.append(when)
            return bits

        self._cautions = tuple((c, numbered(c.when), numbered(c.unless)) for c in rulebook.cautions.values())
        self._preparations = tuple(
            (p, numbered((p.when,)), numbered(p.unless)) for p in rulebook.preparations.values()
        )
        self._graded_by = tuple(Graded(rule.grade, rule) for rule in rulebook.rules)
        self.index = DecisionIndex(rulebook, extra)
        self._named = NamedCautions(rulebook.rules, self._cautions, self.index)
        self.completions = Completions(self.index, [rule.grade for rule in rulebook.rules])

    @property
    def numbered_cautions(self) -> tuple[NumberedCaution, ...]:
        """The cautions, each with the bitset of its alternatives and of its exceptions."""
        return self._cautions

    @cached_property
    def prospects(self) -> Prospects:
        """What tests tell, by how common outcomes are in the rulebook's own examples; made when needed."""
        return Prospects(self, Belief(self))

    @cached_property
    def _concerns(self) -> Concerns:
        return Concerns(self)

    @cached_property
    def prospects_of_method_2(self) -> Prospects:
        """The same as `prospects`, with tests that settle nothing: what is kept is repeated with them."""
        return Prospects(self, self.prospects.belief, useless=True)

    def read(self, observed: Observed) -> Reading:
        """Match typed observations; the rest of the grader's questions are asked of the reading."""
        possible, known = self.index.match(observed)
        return Reading(possible, known, possible & self.index.settled(known))

    def grade(self, observed: Observed) -> Outcome:
        """The outcome for typed observations."""
        index = self.index
        possible, known = index.match(observed)
        return self._outcome(possible, known, possible & index.settled(known))

    def outcome(self, reading: Reading) -> Outcome:
        """The outcome for a part that has been matched already."""
        return self._outcome(reading.possible, reading.known, reading.certain)

    def cautions(self, reading: Reading | None, grade: str | None) -> tuple[Caution, ...]:
        """The cautions that concern a part: those known to apply to it, and those of its grade.

        Without a reading the grade is only named: the part may be any that is given the grade.
        """
        if reading is None:
            return self._named.of(grade) if grade is not None else ()
        certain = reading.certain
        return tuple(
            caution
            for caution, when, unless in self._cautions
            if (certain & when or grade in caution.grades) and not certain & unless
        )

    def concerning(self, reading: Reading | None, grade: str | None) -> Concerning:
        """The cautions that concern a part for certain, and those that can still turn out to.

        Without a reading the grade is only named, and what holds for any of its descriptions is certain.
        """
        if reading is None:
            return Concerning(self.cautions(None, grade))
        return self._concerns.of(reading)

    def preparations(self, reading: Reading) -> tuple[Preparation, ...]:
        """The preparations whose conditions are known to hold, and no exception of theirs."""
        certain = reading.certain
        return tuple(
            preparation
            for preparation, when, unless in self._preparations
            if certain & when and not certain & unless
        )

    def still_told(self, observed: Observed) -> Observed:
        """The observations without those that cannot be told of what a part is: once it has become that."""
        index, can_be = self.index, self.completions.can_be
        asked = [name for name in observed if index.axes[name].counts]
        rest = {name: value for name, value in observed.items() if name not in asked}
        if not asked or not can_be(*index.match(rest)):
            return observed
        gone = {name for name in asked if not can_be(*index.match(rest, name))}
        return {name: value for name, value in observed.items() if name not in gone} if gone else observed

    def choices_left(self, reading: Reading, name: str) -> tuple[str, ...]:
        """Of an attribute's choices, in their order, those that some part can have of which this is known.

        With any other one the description would be a contradiction. An attribute of another kind has none.
        """
        axis, can_be = self.index.axes[name], self.completions.can_be
        known = reading.known | axis.bit
        choices = zip(axis.attribute.choices, axis.masks, strict=False)
        return tuple(choice for choice, mask in choices if can_be(reading.possible & mask, known))

    def _outcome(self, possible: int, known: int, certain: int) -> Outcome:
        index = self.index
        if certain & (index.impossible_bits | index.unordered_bits):
            return Contradiction(self._impossible(certain))
        rules = possible & index.rule_bits
        first = rules & -rules
        if first & certain and self.completions.can_be(possible, known):
            return self._graded_by[first.bit_length() - 1 - index.first_rule]
        return self._searched(possible, known)

    def _searched(self, possible: int, known: int) -> Outcome:
        reach = self.completions.reach(possible, known)
        if not reach.rules:
            return UNGRADED if reach.none else Contradiction(self._cannot_be(possible, known))
        ends = [self._graded_by[number - self.index.first_rule] for number in reach.rules]
        grades = tuple(dict.fromkeys(end.grade for end in ends))
        return ends[0] if len(grades) == 1 and not reach.none else Undecided(grades, reach.none)

    def _cannot_be(self, possible: int, known: int) -> tuple[Impossible, ...]:
        """What rules out all that a part may still be: where it could be without what cannot be told of it,
        as few of those as are enough."""
        index, can_be = self.index, self.completions.can_be
        told = possible & index.impossible_bits & ~index.anyway
        if not told or not can_be(possible & ~told, known):
            return self._impossible(possible & ~told)
        for entry in self._impossible(told):
            fewer = told & ~index.bits_of(entry)
            if not can_be(possible & (index.anyway | fewer), known):
                told = fewer
        return self._impossible(told)

    def _impossible(self, bits: int) -> tuple[Impossible, ...]:
        return self.index.entries(bits)
