"""What to find out next about a part, so that it comes to its grade with the least work.

Of the tests that tell the most of the grade (`core.prospects`), the one that leaves the least unknown, per
minute: of the grade and of its local price, by how common the outcomes are. Where few tests are left, all
orders of them are tried (`core.ahead`). It stops where the grades that are left pay nearly the same
(`core.alike`), but not where what is unknown decides whether the part is dangerous.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from decimal import Decimal

from gradewright.core.ahead import Ahead, TooManyError
from gradewright.core.alike import ALIKE, Alike, OpenCautions, alike
from gradewright.core.answers import Answers, State
from gradewright.core.decimals import ROUNDING
from gradewright.core.decision import Axis
from gradewright.core.grading import Grader, Reading
from gradewright.core.observations import Attribute
from gradewright.core.prospects import EFFORT, FEW_ENDS, FINE, Ends, Prospect, Prospects
from gradewright.core.rulebook import Caution
from gradewright.core.uncertainty import Masses, deviation, entropy

Worth = Mapping[str, Decimal]
# Where no more than FEW_ENDS are left all orders of the best tests are looked at:
WIDTHS = (3, 2)  # the three best in each state, or else the two best,
MOST_STATES = 200  # unless there are more states than that
MOST_STATES_OF_METHOD_2 = 60


class Questioner:
    """Chooses tests by one set of prices, and remembers what it has worked out: lists ask alike questions."""

    def __init__(
        self, grader: Grader, worth: Worth, *, prospects: Prospects | None = None, within: Decimal = ALIKE
    ) -> None:
        """`worth` has a price per kilogram for the grades that have one; no price counts as nothing.

        `prospects` may know of more cases than the rulebook's own examples. `within`: see `core.alike`.
        """
        self._prospects = prospects if prospects is not None else grader.prospects
        self._belief = self._prospects.belief
        self._grader = grader
        self._index = grader.index
        self._efforts = self._prospects.efforts
        self._most_states = MOST_STATES_OF_METHOD_2 if self._prospects.useless else MOST_STATES
        self._worth = worth
        self._within = within
        # Scaled to whole numbers, for rating only: what is answered is never worked out from them.
        highest = max(map(abs, worth.values()), default=Decimal(0))
        self._prices: dict[str | None, int] = {
            grade: int(ROUNDING.divide(ROUNDING.multiply(price, FINE), highest))
            for grade, price in worth.items()
            if highest
        }
        self._cautions = OpenCautions(grader, all_told=not self._prospects.useless)
        self._chosen: dict[tuple[State, frozenset[str]], Attribute | None] = {}

    def next_test(self, reading: Reading, skip: Collection[str] = ()) -> Attribute | None:
        """The attribute to look at next; None if none can change the outcome, or it is not worth it.

        `skip` names what nobody can tell about this part.
        """
        state = self._belief.state(reading.possible, reading.known)
        key = (state, frozenset(skip))
        if key not in self._chosen:
            axis = self._choose(state, self._bits(key[1]))
            self._chosen[key] = axis.attribute if axis is not None else None
        return self._chosen[key]

    def not_worth(self, reading: Reading) -> Alike | None:
        """That finding out more is not worth it, with the prices that say so; None where it is."""
        found = self._alike(reading)
        return None if found is None or self._cautions.of(reading.possible, reading.known) else found

    def in_doubt(self, reading: Reading) -> tuple[Caution, ...]:
        """The cautions for whose sake alone it is worth to go on: the price does not depend on the rest."""
        found = self._alike(reading)
        return () if found is None else self._cautions.of(reading.possible, reading.known)

    def beside_the_grade(self, reading: Reading, skip: Collection[str] = ()) -> tuple[Caution, ...]:
        """The cautions for whose sake alone it goes on, as nothing that can be told settles the grade."""
        state = self._belief.state(reading.possible, reading.known)
        if self._alike(reading) is not None or self._settling(state, self._bits(skip)):
            return ()
        return self.open_cautions(reading)

    def open_cautions(self, reading: Reading) -> tuple[Caution, ...]:
        """The cautions that what is not known decides on."""
        return self._cautions.of(reading.possible, reading.known)

    def _bits(self, names: Collection[str]) -> int:
        return sum({self._index.axes[name].bit for name in names if name in self._index.axes})

    def _settling(self, state: State, skip: int) -> tuple[Prospect, ...]:
        return self._prospects.best(self._prospects.narrowed(state), skip)

    def _alike(self, reading: Reading) -> Alike | None:
        ends = self._prospects.ends(reading.possible, reading.known)
        return alike(ends, self._worth, self._within) if len(ends) > 1 else None

    def _finished(self, ends: Ends) -> bool:
        return len(ends) < 2 or alike(ends, self._worth, self._within) is not None

    def _best(self, skip: int, width: int) -> Callable[[State], Sequence[Prospect]]:
        return lambda state: self._prospects.best(state, skip)[:width]

    def _stop(self, ends: Ends, masses: Masses) -> int | None:
        """It goes on to where nothing more need be asked, whatever it takes."""
        return 0 if self._finished(ends) else None

    def _choose(self, full: State, skip: int) -> Axis | None:
        ends = self._prospects.ends(full.possible, full.known)
        if self._finished(ends):
            return self._for_safety(full, ends, skip) if len(ends) > 1 else None
        state = self._prospects.narrowed(full)
        for width in WIDTHS if len(ends) <= FEW_ENDS else ():
            try:
                axis = Ahead(self._best(skip, width), self._stop, self._most_states).best(state, ends, {})
            except TooManyError:
                continue
            if axis is not None or self._prospects.useless:
                return axis
            break  # nothing that can be told settles the grade
        best: tuple[int, Axis] | None = None
        for prospect in self._settling(state, skip):
            tells = self._tells(prospect)
            if best is None or tells > best[0]:
                best = (tells, prospect.axis)
        if best is not None:
            return best[1]
        return None if self._prospects.useless else self._for_safety(full, ends, skip)

    def _tells(self, prospect: Prospect) -> int:
        """The shares of what is unknown of grade and price that a test takes away, per effort."""
        together: dict[str | None, int] = {}
        for outlook in prospect.outlooks:
            for outcome, mass in outlook.masses.items():
                together[outcome] = together.get(outcome, 0) + mass
        unfinished = [outlook.masses for outlook in prospect.outlooks if not self._finished(outlook.ends)]
        grade, price = entropy(together), deviation(together, self._prices) if self._prices else 0
        told = 0
        if grade:
            told += (grade - sum(map(entropy, unfinished))) * FINE // grade
        if price:
            told += (price - sum(deviation(masses, self._prices) for masses in unfinished)) * FINE // price
        return told * EFFORT // prospect.effort

    def _for_safety(self, state: State, ends: Ends, skip: int) -> Axis | None:
        """The test that settles the most cautions per effort; None where none is open or can be settled."""
        now = len(self._cautions.of(state.possible, state.known))
        if not now:
            return None
        weighed = self._belief.weighed(state, ends)
        asked = self._cautions.attributes(state.possible, state.known)
        named = [axis for name, axis in self._index.axes.items() if name in asked and not skip & axis.bit]
        rules_ask = self._prospects.open(self._prospects.narrowed(state), skip)
        others = [axis for axis in rules_ask if axis not in named]
        for lot in (named, others):
            best: tuple[int, Axis] | None = None
            for axis in lot:
                answers = self._belief.answers(weighed, axis)
                if len(answers.branches) > 1 and (self._prospects.useless or self._settles(answers)):
                    sizes = [size or 1 for size in answers.sizes()]
                    open_then = [len(self._cautions.of(*branch.state[:2])) for branch in answers.branches]
                    left = sum(size * n for size, n in zip(sizes, open_then, strict=True)) * FINE
                    settled = (now * FINE - left // sum(sizes)) * EFFORT // self._efforts[axis.bit]
                    if best is None or settled > best[0]:
                        best = (settled, axis)
            if best is not None:
                return best[1]
        return None

    def _settles(self, answers: Answers) -> bool:
        """Whether two answers leave different grades, or different cautions."""
        found = set()
        for branch in answers.branches:
            possible, known, _ = branch.state
            reading = Reading(possible, known, possible & self._index.settled(known))
            concerning = self._grader.concerning(reading, None)
            names = [tuple(caution.id for caution in kind) for kind in concerning]
            found.add((self._prospects.ends(possible, known), *names))
        return len(found) > 1
