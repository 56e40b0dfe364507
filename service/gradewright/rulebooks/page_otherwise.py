"""What makes a part of one grade another: for people who sort, beside each grade of the printed rulebook.

Told of a grade is every rule for another grade that takes a part which meets one of the grade's own rules in
all but one observation, or in all of them where it stands earlier. That such a part can be, and that no rule
before takes it, is searched exactly (`reach.Search`). Left out is what differs in what a thing *is* (a laptop
is no phone): that spoils nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from gradewright.core.decision import DecisionIndex
from gradewright.core.observations import Kind
from gradewright.core.rulebook import Condition, Rule, Rulebook, When
from gradewright.rulebooks.page_conditions import both, outside
from gradewright.rulebooks.reach import Search

SAYS_WHAT_IT_IS = 13
"""A choice of so many values and more tells what a thing is (its metal, its form), not what is amiss."""

Cells = frozenset[int]


@dataclass(frozen=True, slots=True)
class Otherwise:
    """A rule that takes such a part for another grade, and the conditions that make the difference."""

    rule: Rule
    when: When


class Others:
    """Finds, for the rules of one grade, what makes their parts another grade."""

    def __init__(self, rulebook: Rulebook, index: DecisionIndex) -> None:
        self._attributes = rulebook.attributes
        self._rules = rulebook.rules
        self._search = Search(index)
        self._index = index
        self._identity = {
            a.name
            for a in rulebook.attributes.values()
            if a.kind is Kind.CHOICE and len(a.choices) >= SAYS_WHAT_IT_IS
        }
        self._cells = [{c.attribute: self._of(c) for c in rule.when} for rule in rulebook.rules]

    def of(self, grade: str) -> tuple[Otherwise, ...]:
        """What makes a part of this grade another, each difference once, in the order of the rules."""
        found: dict[tuple[int, tuple[str, ...]], Otherwise] = {}
        for own, rule in enumerate(self._rules):
            if rule.grade != grade:
                continue
            for number, other in enumerate(self._rules):
                if other.grade == grade:
                    continue
                for when, kept in self._differences(own, number):
                    if when and self._can_decide(number, (*when, *kept)):
                        key = number, tuple(condition.attribute for condition in when)
                        found.setdefault(key, Otherwise(other, when))
        return tuple(found[key] for key in sorted(found))

    def _differences(self, own: int, number: int) -> Iterator[tuple[When, When]]:
        """How a part can miss a rule in one observation, or none, and meet another rule for the same thing.

        Each time the conditions that make the difference, and those of the missed rule that it still meets.
        """
        mine, theirs = self._cells[own], self._cells[number]
        shared = mine.keys() & theirs.keys()
        apart = [name for name in shared if not mine[name] & theirs[name]]
        same_thing = shared & self._identity - set(apart)
        if not same_thing or theirs.keys() & self._identity - same_thing or len(apart) > 1:
            return
        asked = {c.attribute: c for c in self._rules[number].when if c.attribute not in self._identity}
        differing = {n: c for n, c in asked.items() if not (n in mine and mine[n] <= theirs[n])}
        own_when = self._rules[own].when
        if apart or number < own:
            yield tuple(differing.values()), tuple(c for c in own_when if c.attribute not in apart)
            return
        for missed in own_when:
            name = missed.attribute
            if name in self._identity or (name in theirs and theirs[name] <= mine[name]):
                continue
            kept = tuple(c for c in own_when if c.attribute != name)
            for other in outside(missed, self._attributes[name]):
                yield (
                    tuple({**differing, name: both(asked[name], other) if name in asked else other}.values()),
                    kept,
                )

    def _can_decide(self, number: int, when: When) -> bool:
        """Whether some part meets this, and the rule of that number before any other."""
        index = self._index
        earlier = ((1 << number) - 1) << index.first_rule
        return self._search.some_part((*self._rules[number].when, *when), index.impossible_bits | earlier)

    def _of(self, condition: Condition) -> Cells:
        """The numbers of the distinguishable values that meet a condition."""
        cells = self._index.axes[condition.attribute].cells
        return frozenset(number for number, cell in enumerate(cells) if condition.holds(cell))
