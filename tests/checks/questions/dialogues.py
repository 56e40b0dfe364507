"""Dialogues played with worked examples: how many questions until the grade, and minutes of testing."""

from __future__ import annotations

import random
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from decimal import Decimal
from statistics import fmean

from gradewright.core.asking import Asker
from gradewright.core.grading import Graded, Grader, Reading, Undecided
from gradewright.core.observations import Attribute, Observed, Value
from gradewright.core.questions import Questioner
from gradewright.core.rulebook import Rulebook
from gradewright.demo.scenario import read_scenario

Ask = Callable[[Reading, Collection[str]], Attribute | None]


@dataclass(frozen=True, slots=True)
class Played:
    """One dialogue: the answers that were wanted, the minutes of their tests, and what came out."""

    questions: int
    minutes: Decimal
    decided: bool


@dataclass(frozen=True, slots=True)
class Mean:
    """Over many dialogues."""

    questions: float
    minutes: float
    undecided: int


def play(ask: Ask, grader: Grader, part: Observed) -> Played:
    """From nothing known; what the part does not tell is answered with "don't know"."""
    observed: dict[str, Value] = {}
    unknown: set[str] = set()
    minutes = Decimal(0)
    while (asked := ask(grader.read(observed), unknown)) is not None:
        minutes += asked.minutes
        if asked.name in part:
            observed[asked.name] = part[asked.name]
        else:
            unknown.add(asked.name)
    return Played(len(observed) + len(unknown), minutes, isinstance(grader.grade(observed), Graded))


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


def now(grader: Grader, worth: dict[str, Decimal], *, stops: bool) -> Ask:
    """The choice of gradings; with prices it stops where these are alike, if it is to."""
    return Questioner(grader, worth, within=Decimal("0.05") if stops else Decimal(-1)).next_test


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
    """What the invented district pays by its guide; for other grades their kin's price times the factor."""
    guide = {slug: grade.guide for slug, grade in read_scenario().grades.items()}
    found: dict[str, Decimal] = {}
    for slug in book.grades:
        kin, factor = slug, Decimal(1)
        while kin not in guide and (grade := book.grades[kin]).kin is not None:
            kin, factor = grade.kin, factor * (grade.kin_factor or Decimal(1))
        if kin in guide:
            found[slug] = guide[kin] * factor
    return found
