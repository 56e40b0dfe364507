"""Dialogues played with worked examples: how many questions until the grade, and minutes of testing."""

from __future__ import annotations

import random
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from statistics import fmean

from gradewright.core.alike import ALIKE
from gradewright.core.asking import Asker
from gradewright.core.at_stake import HOUR, AtStake, usual_hour
from gradewright.core.grading import Graded, Grader, Reading, Undecided
from gradewright.core.observations import Attribute, Observed, Value
from gradewright.core.questions import Questioner
from gradewright.core.rulebook import Example, Rulebook
from gradewright.core.weighing import NEVER, Weighing
from gradewright.demo.scenario import read_scenario

POUND = Decimal("0.45359237")  # kilograms, for the guide's prices
Ask = Callable[[Reading, Collection[str]], Attribute | None]


@dataclass(frozen=True, slots=True)
class Played:
    """One dialogue: the answers that were wanted, the minutes of their tests, what came out, and is known."""

    questions: int
    minutes: Decimal
    decided: bool
    observed: Observed


@dataclass(frozen=True, slots=True)
class Mean:
    """Over many dialogues."""

    questions: float
    minutes: float
    undecided: int


def play(ask: Ask, grader: Grader, part: Observed) -> Played:
    """From nothing known; what the part does not tell is answered with "don't know"."""
    observed: dict[str, Value] = {}
    skipped: set[str] = set()
    minutes = Decimal(0)
    while (asked := ask(grader.read(observed), skipped)) is not None:
        minutes += asked.minutes
        if asked.name in part:
            observed[asked.name] = part[asked.name]
        else:
            skipped.add(asked.name)
    decided = isinstance(grader.grade(observed), Graded)
    return Played(len(observed) + len(skipped), minutes, decided, observed)


def mean(ask: Ask, grader: Grader, parts: Iterable[Observed]) -> Mean:
    """The mean of the dialogues about some parts."""
    played = [play(ask, grader, part) for part in parts]
    return Mean(
        fmean(one.questions for one in played),
        fmean(float(one.minutes) for one in played),
        sum(not one.decided for one in played),
    )


def in_order(grader: Grader) -> Ask:
    """The first attribute in the document of which two answers leave different rules possible."""
    index, can_be = grader.index, grader.completions.can_be

    def ask(reading: Reading, skip: Collection[str]) -> Attribute | None:
        if not isinstance(grader.outcome(reading), Undecided):
            return None
        certain = reading.certain & index.rule_bits
        rules = index.rule_bits & (((certain & -certain) << 1) - 1 if certain else -1)
        left: Attribute | None = None
        for axis in index.axes.values():
            if reading.known & axis.bit or axis.attribute.name in skip:
                continue
            branches = {reading.possible & mask for mask in axis.masks}
            branches = {branch for branch in branches if can_be(branch, reading.known | axis.bit)}
            if len({branch & rules for branch in branches}) > 1:
                return axis.attribute
            if left is None and len({branch & index.impossible_bits for branch in branches}) > 1:
                left = axis.attribute  # where no rule depends on anything, what cannot be may
        return left

    return ask


def before(grader: Grader, worth: dict[str, Decimal]) -> Ask:
    """The choice of valuations of method 1."""
    asker = Asker(grader, worth)

    def ask(reading: Reading, skip: Collection[str]) -> Attribute | None:
        return asker.next_test(reading, skip) if isinstance(grader.outcome(reading), Undecided) else None

    return ask


def least_work(grader: Grader, worth: dict[str, Decimal]) -> Ask:
    """The choice of valuations of method 3: prices have a say only where many grades are left."""
    return Questioner(grader, worth, within=NEVER).next_test


def now(grader: Grader, worth: dict[str, Decimal], *, stops: bool) -> Ask:
    """The choice of gradings of a kilogram; it stops where prices are alike, if it is to."""
    weighing = Weighing(grader, worth, stops=False, within=ALIKE if stops else NEVER)
    hour = usual_hour(worth)
    stake = None if hour is None else at_stake(worth, Decimal(1), hour)
    return lambda reading, skip: weighing.onward(reading, stake, skip).test


def paid(grader: Grader, worth: dict[str, Decimal], kilograms: Decimal, hour: Fraction) -> Ask:
    """The choice of who says what an hour is worth: it stops where finding out costs more than it adds."""
    weighing, stake = Weighing(grader, worth, stops=True, beyond_rules=True), at_stake(worth, kilograms, hour)
    return lambda reading, skip: weighing.onward(reading, stake, skip).test


def paid_before(grader: Grader, worth: dict[str, Decimal], kilograms: Decimal, hour: Fraction) -> Ask:
    """The same by method 3: a test was worth it if it cost less than knowing can add at most."""
    thorough = Questioner(grader, worth, within=NEVER)

    def ask(reading: Reading, skip: Collection[str]) -> Attribute | None:
        outcome = grader.outcome(reading)
        if not isinstance(outcome, Undecided):
            return None
        prices = [worth[grade] for grade in outcome.candidates if grade in worth]
        if outcome.may_be_ungraded or len(prices) < len(outcome.candidates):
            return thorough.next_test(reading, skip)
        most = Fraction((max(prices) - min(prices)) * kilograms)
        attributes = grader.rulebook.attributes.items()
        too_dear = [name for name, a in attributes if hour * Fraction(a.minutes) / HOUR >= most]
        test = thorough.next_test(reading, [*skip, *too_dear])
        if test is None and thorough.open_cautions(reading):
            test = thorough.next_test(reading, skip)
        return test

    return ask


def unknown(ask: Ask, grader: Grader, example: Example, pays: Mapping[str, float]) -> float:
    """What an example that ends in a grade pays more than the cheapest that it can be when asking stops."""
    outcome = grader.grade(play(ask, grader, example.part).observed)
    if not isinstance(outcome, Undecided) or example.grade is None or example.grade not in pays:
        return 0.0
    return pays[example.grade] - min(pays[grade] for grade in outcome.candidates if grade in pays)


def at_stake(worth: dict[str, Decimal], kilograms: Decimal, hour: Fraction) -> AtStake:
    """What a part of so many kilograms pays."""
    return AtStake({grade: Fraction(price * kilograms) for grade, price in worth.items()}, hour / HOUR)


def minutes_of(worth: dict[str, Decimal], kilograms: Decimal, hour: Fraction) -> dict[str, float]:
    """The same in minutes of work."""
    return {grade: float(Fraction(price * kilograms) / hour * HOUR) for grade, price in worth.items()}


def whole(grader: Grader, part: Observed, chance: random.Random) -> dict[str, Value]:
    """A part with everything known: what is not told is any value that it can have."""
    index = grader.index
    found = dict(part)
    possible, known = index.match(part)
    axes = [axis for name, axis in index.axes.items() if name not in part]
    chance.shuffle(axes)
    for axis in axes:
        known |= axis.bit
        can_be = grader.completions.can_be
        cells = [n for n, mask in enumerate(axis.masks) if can_be(possible & mask, known)]
        cell = chance.choice(cells)
        found[axis.attribute.name] = axis.cells[cell]
        possible &= axis.masks[cell]
    return found


def guide_prices(book: Rulebook) -> dict[str, Decimal]:
    """What the invented district pays for a kilogram by its guide; for other grades their kin's price times
    the factor.
    """
    guide = {slug: grade.guide / POUND for slug, grade in read_scenario().grades.items()}
    found: dict[str, Decimal] = {}
    for slug in book.grades:
        kin, factor = slug, Decimal(1)
        while kin not in guide and (grade := book.grades[kin]).kin is not None:
            kin, factor = grade.kin, factor * (grade.kin_factor or Decimal(1))
        if kin in guide:
            found[slug] = guide[kin] * factor
    return found
