"""What to find out next where prices are known: minutes of tests held against the money that hangs on them.

The order of tests that costs the least: the minutes that it takes on average, and what is lost where it
stops (`core.at_stake`). Of few grades all orders of the best tests are looked at (`core.ahead`); of many, the
next test is the one that takes away the most of what they cost, for its minutes. What has no price is found
out, and minutes are not held against money where a danger depends on it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.ahead import FINE, Ahead, Bill, TooManyError
from gradewright.core.alike import ALIKE, TooLittle
from gradewright.core.answers import Answers, State
from gradewright.core.at_stake import AtStake, minutes
from gradewright.core.decimals import ROUNDING
from gradewright.core.decision import Axis
from gradewright.core.grading import Grader, Reading
from gradewright.core.money import TO_WHOLE, Rounding
from gradewright.core.observations import Attribute
from gradewright.core.prospects import EFFORT, FEW_ENDS, SHORT_LIST, Ends, Prospect
from gradewright.core.questions import MOST_STATES, WIDTHS, Questioner
from gradewright.core.rulebook import Caution
from gradewright.core.uncertainty import PLACES, Masses, entropy

NEVER = Decimal(-1)
"""No prices lie within such a share of each other."""
HUNDREDTH = Decimal("0.01")
EACH_BIT = EFFORT * FINE * 3 // 10
"""What it takes to halve what is possible: three tenths of a minute, as over the examples that ship."""


class Saving(NamedTuple):
    """Why it is best to stop: what going on would add on average, and the effort, which costs as much.

    Both in fine efforts. `at_best`: it adds no more than that, and takes no less.
    """

    adds: int
    effort: int
    at_best: bool = False


class Plan(NamedTuple):
    """The test to begin with, or else why it is best to stop; neither where nothing is to be weighed."""

    axis: Axis | None = None
    stop: Saving | None = None


class Choice(NamedTuple):
    """How it goes on: by a test, perhaps for the sake of the cautions `in_doubt` alone; or not, and why."""

    test: Attribute | None
    stop: Saving | None = None
    in_doubt: tuple[Caution, ...] = ()


NO_PLAN = Plan()


class Weighing(Questioner):
    """Chooses tests by what a part pays as each grade, and remembers what it has worked out.

    `stops`: it stops where going on costs more than it adds. Otherwise, as nobody has said what an hour is
    worth, money only decides what is found out first, and it stops where prices are nearly the same.
    """

    def __init__(
        self,
        grader: Grader,
        worth: Mapping[str, Decimal],
        *,
        stops: bool,
        within: Decimal = ALIKE,
        beyond_rules: bool = False,
    ) -> None:
        """`worth`, `within`: as for `Questioner`; where it `stops`, no share says that prices are alike.

        `beyond_rules`: where somebody cannot tell what rules ask for, what no rule asks for but can rule some
        grade out is held against the money too.
        """
        super().__init__(grader, worth, within=NEVER if stops else within)
        self._beyond_rules = beyond_rules
        self._paid, self._prices = self._prices, {}  # where no money hangs on it, the least work alone counts
        self._stops = stops
        self._dearest: dict[tuple[State, int], tuple[Prospect, ...]] = {}
        self._plans: dict[tuple[State, int, object], Plan] = {}

    def onward(self, reading: Reading, stake: AtStake | None, skip: Collection[str] = ()) -> Choice:
        """What to do about a part that is undecided; `stake` is None where there is nothing to weigh by."""
        plan = NO_PLAN if stake is None else self._plan(reading, stake, self._bits(skip))
        if plan.axis is not None:
            return Choice(plan.axis.attribute)
        if plan.stop is None or not self._stops:
            return Choice(self.next_test(reading, skip), None, self.in_doubt(reading))
        in_doubt = self.open_cautions(reading)
        if not in_doubt:
            return Choice(None, plan.stop)
        full = self._belief.state(reading.possible, reading.known)
        axis = self._for_safety(full, self._prospects.ends(*full[:2]), self._bits(skip))
        return Choice(None if axis is None else axis.attribute, None, in_doubt)

    def _plan(self, reading: Reading, stake: AtStake, skip: int) -> Plan:
        full = self._belief.state(reading.possible, reading.known)
        key = (full, skip, stake.key)
        if key not in self._plans:
            ends = self._prospects.ends(full.possible, full.known)
            plan = NO_PLAN
            if not self._finished(ends):
                plan = self._planned(self._prospects.narrowed(full), ends, stake, skip)
            self._plans[key] = plan
        return self._plans[key]

    def _planned(self, state: State, ends: Ends, stake: AtStake, skip: int) -> Plan:
        def stop(ends: Ends, masses: Masses) -> int | None:
            return 0 if self._finished(ends) else stake.lost(ends, masses)

        masses = self._belief.weighed(state, ends).by_outcome
        lost = stop(ends, masses)
        for width in WIDTHS if len(ends) <= FEW_ENDS else ():
            ahead = Ahead(self._best(skip, width), stop, MOST_STATES)
            try:
                axis = ahead.best(state, ends, masses)
                going_on = ahead.going_on(state) if axis is None and lost is not None else None
            except TooManyError:
                continue
            return Plan(axis, None if going_on is None or lost is None else _saving(lost, going_on))
        return self._of_many(state, masses, lost, stake, skip)

    def _of_many(self, state: State, masses: Masses, lost: int | None, stake: AtStake, skip: int) -> Plan:
        """One step: too many grades are left, or orders of tests, for all of them to be looked at."""
        tests = self._best(skip, SHORT_LIST)(state)
        if not tests:
            return NO_PLAN
        quickest = self._prospects.quickest(state, skip) * FINE
        if lost is not None and lost <= quickest:  # whatever is asked costs as much
            return Plan(None, Saving(lost, quickest, at_best=True))
        now = self._left(self._prospects.ends(state.possible, state.known), masses, stake)
        best: tuple[int, Axis] | None = None
        for test in tests:
            sizes, total = test.sizes
            left = [self._left(outlook.ends, outlook.masses, stake) for outlook in test.outlooks]
            after = sum(size * each for size, each in zip(sizes, left, strict=True)) // total
            told = (now - after) // test.effort
            if best is None or told > best[0]:
                best = (told, test.axis)
        return NO_PLAN if best is None else Plan(best[1])

    def _best(self, skip: int, width: int) -> Callable[[State], Sequence[Prospect]]:
        """Of each state the tests that tell the most of the grade, and the one on which most money hangs."""

        def tests(state: State) -> Sequence[Prospect]:
            key = (state, skip)
            if key not in self._dearest:
                self._dearest[key] = self._most_money(state, skip)
            best = self._prospects.best(state, skip)[:width]
            return best + tuple(
                test for test in self._dearest[key] if test.axis not in {b.axis for b in best}
            )

        return tests

    def _most_money(self, state: State, skip: int) -> tuple[Prospect, ...]:
        """The test that takes away the most of what is lost by stopping, for its minutes, if one does."""
        ends = self._prospects.ends(state.possible, state.known)
        weighed = self._belief.weighed(state, ends)
        masses, paid = weighed.by_outcome, self._paid
        least = min((paid[end] for end, mass in masses.items() if mass and end in paid), default=None)
        cheapest = [end for end, mass in masses.items() if mass and paid.get(end) == least]
        best: tuple[int, Answers] | None = None
        by_rules = self._prospects.open(state, skip) if least is not None else []
        for axis in by_rules:
            told = self._belief.told(weighed, axis)
            if any(told.get(end, 0) < masses[end] for end in cheapest):
                continue  # whatever is answered, the cheapest is left, and as much is lost
            answers = self._belief.answers(weighed, axis, told)
            left = sum(self._lost(answers.masses(branch)) for branch in answers.branches)
            best = self._better(best, answers, self._lost(masses) - left)
        for axis in self._prospects.telling(state, skip) if self._beyond_rules and skip and by_rules else ():
            if axis not in by_rules:  # what it rules out is not in how common answers are
                answers = self._belief.answers(weighed, axis, self._belief.told(weighed, axis))
                outlooks = self._prospects.looked_at(answers).outlooks
                left = sum(self._lost(outlook.masses) for outlook in outlooks)
                best = self._better(best, answers, self._lost(masses) - left)
        return () if best is None else (self._prospects.looked_at(best[1]),)

    def _better(
        self, best: tuple[int, Answers] | None, answers: Answers, less: int
    ) -> tuple[int, Answers] | None:
        """Of two tests the one that takes away more of what is lost, for its minutes."""
        less //= self._efforts[answers.axis.bit]
        if less > 0 and len(answers.branches) > 1 and (best is None or less > best[0]):
            return less, answers
        return best

    def _lost(self, masses: Masses) -> int:
        """What is lost by stopping, times the mass, by prices for any lot; what has none is left out."""
        priced = [(self._paid[end], mass) for end, mass in masses.items() if mass and end in self._paid]
        least = min((price for price, _ in priced), default=0)
        return sum(mass * (price - least) for price, mass in priced)

    def _left(self, ends: Ends, masses: Masses, stake: AtStake) -> int:
        """What a state still costs, guessed: what is lost by stopping, or telling the grades apart, if that
        is less.
        """
        if self._finished(ends):
            return 0
        size, lost = sum(masses.values()), stake.lost(ends, masses)
        apart = entropy(masses) * EACH_BIT // (size << PLACES) if size else EACH_BIT
        return apart if lost is None else min(lost, apart)


def _saving(lost: int, going_on: Bill) -> Saving:
    return Saving(max(lost - going_on.lost, 0), going_on.effort)


def too_little(amounts: Mapping[str, int], stake: AtStake, found: Saving) -> TooLittle:
    """Why it is best to stop, in the amounts' minor units; the minutes to a hundredth."""
    cheapest, dearest = (end(sorted(amounts), key=lambda grade: amounts[grade]) for end in (min, max))
    adds, costs = (whole(stake.money(efforts)) for efforts in (found.adds, found.effort))
    took = minutes(found.effort)
    shown = ROUNDING.divide(Decimal(took.numerator), Decimal(took.denominator))
    shown = shown.quantize(HUNDREDTH, context=ROUNDING)
    spread = amounts[dearest] - amounts[cheapest]
    return TooLittle(cheapest, dearest, spread, shown, costs, adds, found.at_best)


def whole(money: Fraction) -> int:
    """Rounded to the minor unit."""
    return TO_WHOLE[Rounding.HALF_EVEN](money.numerator, money.denominator)
