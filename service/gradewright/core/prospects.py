"""Which tests would tell the most of a part's grade, whatever is paid; remembered for all who ask.

Of the tests that rules tell apart, those that take away the most entropy of the grade per minute, by how
common the outcomes are (`core.belief`); what their answers leave possible is then looked at exactly.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from gradewright.core.answers import Answers, State, Weighed
from gradewright.core.decimals import ROUNDING
from gradewright.core.uncertainty import folded, log2

if TYPE_CHECKING:
    from gradewright.core.belief import Belief
    from gradewright.core.decision import Axis
    from gradewright.core.grading import Grader

EACH = Decimal("0.1")
"""Minutes to read a question and to answer it, besides the test: so that few questions count too."""

EFFORT = 1000  # efforts are counted in thousandths of a minute
FINE = 1 << 30
SHORT_LIST = 3  # the most tests of a state that are looked at more closely
FEW_ENDS = 12  # where more grades than these are left, only those
TELLS_ENOUGH = 2  # that tell at least one part in so many of what the best one tells
KEPT = 2000  # states remembered, each some sixteen kilobytes
ENDS_KEPT = 20_000

Ends = frozenset[str | None]  # grades, and None for a part that no rule grades


class Outlook(NamedTuple):
    """What an answer leaves: the state, all that can really be reached, and how common such an answer is."""

    state: State
    ends: Ends
    size: int
    masses: dict[str | None, int]


class Prospect(NamedTuple):
    """A test, the share of the entropy of the grade that it takes away per effort, and its answers."""

    axis: Axis
    effort: int
    tells: int
    outlooks: tuple[Outlook, ...]

    @property
    def settles(self) -> bool:
        """Whether answers leave different grades; where not, it is as well not asked."""
        return len({outlook.ends for outlook in self.outlooks}) > 1

    @property
    def sizes(self) -> tuple[list[int], int]:
        """How common each answer is, and all of them together."""
        sizes = [outlook.size for outlook in self.outlooks]
        total = sum(sizes)
        return (sizes, total) if total else ([1] * len(sizes), len(sizes))  # nothing fits: any is as likely


Rated = tuple[int, int, Answers]  # how little a test tells, its place in the document, and its answers


class Prospects:
    """The promising tests of one rulebook's parts."""

    def __init__(self, grader: Grader, belief: Belief, *, useless: bool = False) -> None:
        """`useless`: method 2 also asked what leaves the same grades whatever is answered."""
        self.belief = belief
        self.useless = useless
        self.axes = list(grader.index.axes.values())
        self._grader = grader
        self._index = grader.index
        self._ends: dict[tuple[int, int], Ends] = {}
        self._found: dict[tuple[State, int], tuple[Prospect, ...]] = {}
        self.efforts = {
            axis.bit: int(ROUNDING.multiply(ROUNDING.add(axis.attribute.minutes, EACH), EFFORT))
            for axis in self.axes
        }

    def ends(self, possible: int, known: int) -> Ends:
        """What can still be reached, exactly."""
        key = (possible, known)
        found = self._ends.get(key)
        if found is None:
            if len(self._ends) >= ENDS_KEPT:
                del self._ends[next(iter(self._ends))]
            reach = self._grader.completions.reach(possible, known)
            rules, first = self._grader.rulebook.rules, self._index.first_rule
            grades = frozenset(rules[number - first].grade for number in reach.rules)
            found = self._ends[key] = grades | {None} if reach.none else grades
        return found

    def narrowed(self, state: State) -> State:
        """The state without what no grade depends on: the rules end at the first that is certain."""
        impossible = state.possible & self._index.impossible_bits
        rules = state.possible & self._index.rule_bits
        certain = rules & self._index.settled(state.known)
        if certain:
            rules &= ((certain & -certain) << 1) - 1
        return State(impossible | rules, state.known, state.fitting)

    def open(self, state: State, skip: int = 0) -> list[Axis]:
        """The unknown attributes that tell possible rules apart; where there is none, what else tells."""
        rules = self._apart(state.possible & self._index.rule_bits, state.known | skip)
        return rules or self.telling(state, skip)

    def telling(self, state: State, skip: int = 0) -> list[Axis]:
        """The unknown attributes that tell clauses apart at all: those that rules ask for, and the others."""
        return self._apart(state.possible, state.known | skip)

    def quickest(self, state: State, skip: int = 0) -> int:
        """The least effort of any test that could be made; 0 where there is none."""
        apart = self.telling(state, skip)
        return min((self.efforts[axis.bit] for axis in apart), default=0)

    def _apart(self, clauses: int, without: int) -> list[Axis]:
        return [
            axis
            for axis in self.axes
            if not without & axis.bit and len({clauses & mask for mask in axis.masks}) > 1
        ]

    def best(self, state: State, skip: int = 0) -> tuple[Prospect, ...]:
        """Of a narrowed state's open tests those that tell the most, the best first.

        `skip` has the bits of the attributes that nobody can tell. Tests with one answer only are left out.
        """
        key = (state, skip)
        found = self._found.get(key)
        if found is None:
            if len(self._found) >= KEPT:
                del self._found[next(iter(self._found))]  # the one that has been there the longest
            found = self._found[key] = tuple(self._search(state, skip))
        return found

    def _search(self, state: State, skip: int) -> list[Prospect]:
        rated, enough = self._rated(state, self.open(state, skip), among_many=True)
        if self.useless:
            return [self._looked_at(one) for one in rated[:SHORT_LIST] if -one[0] >= enough]
        if len(self.ends(state.possible, state.known)) < 2:
            return []
        found = self._settling(rated, enough)
        if found:
            return found
        # What no rule asks for can still rule something out.
        among_rules = {one[2].axis.bit for one in rated}
        others = [axis for axis in self.telling(state, skip) if axis.bit not in among_rules]
        found = self._settling(self._rated(state, others, among_many=False)[0], 0)
        return found or self._settling_together(rated, skip)

    def _settling(self, rated: list[Rated], enough: int) -> list[Prospect]:
        """The first that settle something, of those that tell enough, or else of all."""
        found: list[Prospect] = []
        for one in rated:
            if len(found) == SHORT_LIST or (found and -one[0] < enough):
                break
            prospect = self._looked_at(one)
            if prospect.settles:
                found.append(prospect)
        return found

    def _settling_together(self, rated: list[Rated], skip: int) -> list[Prospect]:
        """Those that settle something together with a second one, where none does by itself."""
        prospects = list(map(self._looked_at, rated))
        found = [
            prospect
            for prospect in prospects
            if any(self._something_settles(outlook.state, skip) for outlook in prospect.outlooks)
        ]
        # With nothing to skip all of them together do: the grade is known where everything is.
        return (found or ([] if skip else prospects))[:SHORT_LIST]

    def _something_settles(self, state: State, skip: int) -> bool:
        for axis in self.open(state, skip):
            known, found = state.known | axis.bit, set[Ends]()
            for possible in {state.possible & mask for mask in axis.masks}:
                if self._grader.completions.can_be(possible, known):
                    found.add(self.ends(possible, known))
                    if len(found) > 1:
                        return True
        return False

    def _rated(self, state: State, axes: list[Axis], *, among_many: bool) -> tuple[list[Rated], int]:
        """The tests with more than one answer, the most telling first, and how much is worth a closer look.

        `among_many`: of many grades, those that tell much less than another are left out.
        """
        ends = self.ends(state.possible, state.known)
        weighed = self.belief.weighed(state, ends)
        rated: list[Rated] = []
        enough = 0
        for at_most, place, axis, told in self._at_most(weighed, axes):
            if at_most < enough:
                break
            answers = self.belief.answers(weighed, axis, told)
            if len(answers.branches) > 1:
                before, left = answers.grade_left()
                tells = self._share(before - left, before, axis)
                rated.append((-tells, place, answers))
                if among_many and len(ends) > FEW_ENDS:
                    enough = max(enough, tells // TELLS_ENOUGH)
        rated.sort(key=lambda found: found[:2])  # in the document's order where they are as good
        return rated, enough

    def _at_most(
        self, weighed: Weighed, axes: list[Axis]
    ) -> list[tuple[int, int, Axis, dict[str | None, int]]]:
        """The tests, with the most that each can tell: what goes with every answer alike tells nothing.

        So the entropy that it takes away is no more than that of its values, by the share of what is told.
        """
        before = folded(sum(weighed.by_outcome.values())) - weighed.fold
        found = []
        for place, axis in enumerate(axes):
            told = self.belief.told(weighed, axis)
            most = sum(told.values()) * log2(len(axis.cells))
            found.append((self._share(most, before, axis), place, axis, told))
        return sorted(found, key=lambda test: (-test[0], test[1]))

    def _share(self, told: int, before: int, axis: Axis) -> int:
        return told * FINE // before * EFFORT // self.efforts[axis.bit] if before > 0 else 0

    def looked_at(self, answers: Answers) -> Prospect:
        """A test of which nobody has asked how much of the grade it tells, with what its answers leave."""
        return self._looked_at((0, 0, answers))

    def _looked_at(self, rated: Rated) -> Prospect:
        less, _, answers = rated
        outlooks = []
        for branch in answers.branches:
            state = self.narrowed(branch.state)
            ends = self.ends(state.possible, state.known)
            masses = {outcome: mass for outcome, mass in answers.masses(branch).items() if outcome in ends}
            outlooks.append(Outlook(state, ends, sum(masses.values()), masses))
        return Prospect(answers.axis, self.efforts[answers.axis.bit], -less, tuple(outlooks))
