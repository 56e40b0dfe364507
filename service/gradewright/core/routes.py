"""The sequences of preparations that can be done to a part, whatever prices are; once a description.

A preparation can be done where its conditions are known to hold; it sets what it changes, and what it makes
unknown has to be looked at afresh, as has what cannot be told of what it makes of the part. A sequence never
comes back to a description that it has been at: who does has undone the work. Among those that bring a part
to the same grade with the same weights, one that takes longer than another is left out, so that nothing which
could be best for some weight and price is lost.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import lcm

from gradewright.core.grading import Contradiction, Graded, Grader
from gradewright.core.observations import Observed, Value
from gradewright.core.rulebook import Preparation

GRAMS_A_KILOGRAM = 1000
MOST_STATES = 500
MOST_ROUTES = 5_000
"""No rulebook that ships comes near: a part of theirs has at most three descriptions. Where preparations are
so many that all their orders cannot be tried, `Routes.whole` says that the longest were not."""

Shed = tuple[str, Fraction]
Off = tuple[tuple[str | None, Fraction], ...]
"""What comes off in a step: shares of the weight before it, with their grades."""
Pile = tuple[str, int, int]
"""A grade, and the share of the weight that goes to it: so many, divided by so many."""
Time = tuple[int, int, int]
"""Minutes for each piece and for each gram of the weight before: so many, both divided by the third."""


@dataclass(frozen=True, eq=False)
class Route:
    """One sequence: the grade at its end, and what becomes of the part, as shares of its weight before.

    `shed` is what goes to piles of their own, by grade; what is neither there nor `kept` is lost. `handled`
    is the share that each step is done to. It takes `a_piece` minutes for each piece and `a_kilogram` for
    each kilogram of the weight before.
    """

    steps: tuple[Preparation, ...]
    handled: tuple[Fraction, ...]
    grade: str
    kept: Fraction
    shed: tuple[Shed, ...]
    a_piece: Fraction
    a_kilogram: Fraction

    @cached_property
    def lost(self) -> Fraction:
        """The share of the weight that ends up in no grade."""
        return 1 - self.kept - sum(share for _, share in self.shed)

    @cached_property
    def time(self) -> Time:
        """How long it takes."""
        return _time(self.a_piece, self.a_kilogram)

    @cached_property
    def times(self) -> tuple[Time, ...]:
        """How long each step takes."""
        nothing = Fraction(0)
        return tuple(
            _time(Fraction(step.minutes), nothing)
            if step.per == "piece"
            else _time(nothing, Fraction(step.minutes) * share)
            for step, share in zip(self.steps, self.handled, strict=True)
        )

    @cached_property
    def piles(self) -> tuple[Pile, ...]:
        """What is kept, and then what is shed to other grades than that."""
        shed = dict(self.shed)
        kept = self.kept + shed.pop(self.grade, 0)
        shares = ((self.grade, kept), *shed.items())
        return tuple((grade, share.numerator, share.denominator) for grade, share in shares)


@dataclass(frozen=True, slots=True, eq=False)
class Routes:
    """All sequences that can be best, the shortest first; `whole`: whether none had to be left untried."""

    routes: tuple[Route, ...] = ()
    whole: bool = True


@dataclass(slots=True, eq=False)
class _State:
    """A description that work leads to, its grade if it has one, and the work that can be done next."""

    grade: str | None
    onward: list[tuple[Preparation, Off, int]]
    reach: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """A sequence so far. `been` is the set of states that it may not come back to."""

    at: int
    been: int
    steps: tuple[Preparation, ...]
    handled: tuple[Fraction, ...]
    left: Fraction
    shed: tuple[Shed, ...]
    a_piece: Fraction
    a_kilogram: Fraction

    @property
    def order(self) -> tuple[int, tuple[str, ...]]:
        """Which of two that come to the same is told: the shorter, then the first by name."""
        return len(self.steps), tuple(step.id for step in self.steps)

    def spares(self, other: _Way, reach: int) -> bool:
        """Whether another of the same place, weights and piles is never better, however both go on."""
        if self.been & reach & ~other.been:
            return False
        if self.a_piece > other.a_piece or self.a_kilogram > other.a_kilogram:
            return False
        same = (self.a_piece, self.a_kilogram) == (other.a_piece, other.a_kilogram)
        return not same or self.order < other.order


def routes(grader: Grader, observed: Observed, grade: str) -> Routes:
    """The sequences that lead from a graded part to another grade, or that take off what has a grade."""
    states, whole = _states(grader, observed)
    kept: dict[tuple[int, Fraction, tuple[Shed, ...]], list[_Way]] = {}
    ways = [_Way(0, 1, (), (), Fraction(1), (), Fraction(0), Fraction(0))]
    tried = 0
    while ways:
        further: list[_Way] = []
        for way in ways:
            reach = states[way.at].reach
            alike = kept.setdefault((way.at, way.left, way.shed), [])
            if any(other.spares(way, reach) for other in alike):
                continue
            alike[:] = [other for other in alike if not way.spares(other, reach)]
            alike.append(way)
            further.extend(_onward(way, states))
        tried += len(further)
        if tried > MOST_ROUTES:
            whole = False
            break
        ways = further
    found = [way for alike in kept.values() for way in alike if _counts(way, states[way.at].grade, grade)]
    return Routes(tuple(_route(way, states) for way in sorted(found, key=lambda way: way.order)), whole)


def prepared(grader: Grader, observed: Observed, preparation: Preparation) -> Observed:
    """The observations after the work, without what it makes unknown or what cannot be told any more."""
    after = {name: value for name, value in observed.items() if name not in preparation.changes}
    after.update((name, value) for name, value in preparation.changes.items() if value is not None)
    return grader.still_told(after)


def _comes_off(observed: Observed, preparation: Preparation) -> Off:
    return tuple((shed.grade, Fraction(shed.of(observed))) for shed in preparation.sheds)


def _time(a_piece: Fraction, a_kilogram: Fraction) -> Time:
    a_gram = a_kilogram / GRAMS_A_KILOGRAM
    under = lcm(a_piece.denominator, a_gram.denominator)
    return int(a_piece * under), int(a_gram * under), under


def _counts(way: _Way, grade: str | None, before: str) -> bool:
    return grade is not None and bool(way.steps) and (grade != before or bool(way.shed))


def _route(way: _Way, states: list[_State]) -> Route:
    grade = states[way.at].grade or ""
    return Route(way.steps, way.handled, grade, way.left, way.shed, way.a_piece, way.a_kilogram)


def _states(grader: Grader, observed: Observed) -> tuple[list[_State], bool]:
    """Every description that can be come to, the first as it is now; and whether those are all there are."""
    numbers: dict[frozenset[tuple[str, Value]], int] = {frozenset(observed.items()): 0}
    descriptions: list[Mapping[str, Value]] = [observed]
    states: list[_State] = []
    whole = True
    while len(states) < len(descriptions):
        reading = grader.read(descriptions[len(states)])
        outcome = grader.outcome(reading)
        state = _State(outcome.grade if isinstance(outcome, Graded) else None, [])
        states.append(state)
        # No part can be as a contradiction says: nothing is done to one.
        possible = () if isinstance(outcome, Contradiction) else grader.preparations(reading)
        for preparation in possible:
            off = _comes_off(descriptions[len(states) - 1], preparation)
            if sum(share for _, share in off) >= 1:  # nothing would be left
                continue
            after = prepared(grader, descriptions[len(states) - 1], preparation)
            key = frozenset(after.items())
            if key not in numbers:
                if len(descriptions) >= MOST_STATES:
                    whole = False
                    continue
                numbers[key] = len(descriptions)
                descriptions.append(after)
            state.onward.append((preparation, off, numbers[key]))
    _close(states)
    return states, whole


def _close(states: list[_State]) -> None:
    """Tell each state which states can be come to from it, itself among them."""
    for number, state in enumerate(states):
        state.reach = 1 << number
    changed = True
    while changed:
        changed = False
        for state in reversed(states):
            reach = state.reach
            for _, _, number in state.onward:
                reach |= states[number].reach
            changed = changed or reach != state.reach
            state.reach = reach


def _onward(way: _Way, states: list[_State]) -> Iterator[_Way]:
    for step, comes_off, number in states[way.at].onward:
        if way.been >> number & 1:
            continue
        piles, left = dict(way.shed), way.left
        for grade, share in comes_off:
            off = way.left * share
            left -= off
            if grade is not None and off:
                piles[grade] = piles.get(grade, Fraction(0)) + off
        minutes, by_piece = Fraction(step.minutes), step.per == "piece"
        yield _Way(
            number,
            way.been | 1 << number,
            (*way.steps, step),
            (*way.handled, way.left),
            left,
            tuple(sorted(piles.items())),
            way.a_piece + minutes if by_piece else way.a_piece,
            way.a_kilogram if by_piece else way.a_kilogram + minutes * way.left,
        )
