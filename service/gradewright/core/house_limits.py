"""A rulebook under a place's own limits, and which of those decided about a part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from gradewright.core.errors import ObservationError
from gradewright.core.grading import Contradiction, Graded, Grader, Outcome, Undecided
from gradewright.core.observations import Attribute, Observed
from gradewright.core.rulebook import Bound, Condition, Rulebook, When

ENDS = ("at_least", "above", "at_most", "below")


@dataclass(frozen=True, slots=True)
class HouseLimit:
    """A limit that holds in a place instead of the rulebook's, as that place writes and says it.

    `instead_of` is how the rulebook writes its own, known once the limit is applied to one.
    """

    name: str
    given: str
    place: str
    within: str
    since: date
    says: str | None = None
    instead_of: str = field(default="", compare=False)

    @property
    def sentence(self) -> str:
        """It in a sentence, such as "At Low Quay heavy steel begins at 1/8 in, since 2026-05-04 (…)." """
        says = self.says or f"{self.name} is {self.given}"
        within = self.within[0].upper() + self.within[1:]
        return f"{within} {says}, since {self.since.isoformat()} ({self.instead_of} in the rulebook)."


@dataclass(frozen=True, slots=True)
class HouseBound(Bound):
    """One end of a range, set by a place's own limit."""

    whose: str = ""

    def __str__(self) -> str:
        return f"{self.given} ({self.limit} {self.whose})"


def under(rulebook: Rulebook, limits: Iterable[HouseLimit]) -> tuple[Rulebook, dict[str, HouseLimit]]:
    """The rulebook with these limits in the place of its own, and those of them that it has, by name.

    Limits that the version does not have, or whose kind cannot have the value, leave it as it is.
    """
    attributes = measured_by(rulebook)
    own: dict[str, HouseLimit] = {}
    bounds: dict[str, Bound] = {}
    for limit in limits:
        attribute, of_book = attributes.get(limit.name), rulebook.limits.get(limit.name)
        if attribute is None or of_book is None:
            continue
        try:
            value = attribute.read(limit.given)
        except ObservationError:  # said under another version, in which the limit was of another kind
            continue
        own[limit.name] = replace(limit, instead_of=of_book.given)
        whose = f"{limit.within} since {limit.since.isoformat()}"
        bounds[limit.name] = HouseBound(value, limit.given, limit.name, whose)
    return (_bounded(rulebook, bounds), own) if own else (rulebook, own)


def measured_by(rulebook: Rulebook) -> dict[str, Attribute]:
    """For each limit the attribute whose conditions use it: that gives its value a kind."""
    found: dict[str, Attribute] = {}
    for condition in (condition for when in _clauses(rulebook) for condition in when):
        for _, bound in _ends(condition):
            if bound.limit is not None:
                found.setdefault(bound.limit, rulebook.attributes[condition.attribute])
    return found


def decided_by(
    usual: Grader, here: Grader, own: Mapping[str, HouseLimit], observed: Observed
) -> tuple[HouseLimit, ...]:
    """The limits of the place that the answer for a part rests on, by name.

    Those that the clause which decided asks of it; and where the answer is another than by the rulebook's
    own limits, those by which a clause on the way to either answer is now met and was not, or no more; or,
    where no value that was observed does that, those that what is not known yet is held against.
    """
    before, after = usual.grade(observed), here.grade(observed)
    names = {bound.limit for bound in _asked(after, observed)}
    if _told(before) != _told(after):
        outcomes = before, after
        names |= _turning(usual, here, observed, outcomes) or _open(usual, here, observed, outcomes)
    return tuple(own[name] for name in sorted(own) if name in names)


def _asked(outcome: Outcome, observed: Observed) -> Iterator[Bound]:
    """The bounds that a part met on the way to its grade, or to its contradiction."""
    whens: tuple[When, ...] = ()
    if isinstance(outcome, Graded):
        whens = (outcome.rule.when,)
    elif isinstance(outcome, Contradiction):
        whens = tuple(entry.when for entry in outcome.impossible)
    for condition in (condition for when in whens for condition in when):
        if condition.attribute in observed:
            yield from (bound for _, bound in _ends(condition))


def _told(outcome: Outcome) -> tuple[object, ...]:
    """What is told of an outcome; the clauses of two graders are never the same objects."""
    if isinstance(outcome, Graded):
        return ("graded", outcome.grade, outcome.rule.id)
    if isinstance(outcome, Undecided):
        return ("undecided", frozenset(outcome.candidates), outcome.may_be_ungraded)
    if isinstance(outcome, Contradiction):
        return ("contradiction", *(entry.id for entry in outcome.impossible))
    return ("ungraded",)


def _turning(
    usual: Grader, here: Grader, observed: Observed, outcomes: tuple[Outcome, Outcome]
) -> set[str | None]:
    """The limits by which an observed value has turned a clause, down to the last rule that decided."""
    found: set[str | None] = set()
    turned = usual.read(observed).possible ^ here.read(observed).possible
    for number in range(_end_of(here, outcomes)):
        if not turned >> number & 1:
            continue
        for was, now in zip(usual.index.clauses[number], here.index.clauses[number], strict=True):
            if now.attribute not in observed:
                continue
            value = observed[now.attribute]
            for (end, before), (_, after) in zip(_ends(was), _ends(now), strict=True):
                if _only(end, before).holds(value) != _only(end, after).holds(value):
                    found.add(after.limit)
    return found


def _open(
    usual: Grader, here: Grader, observed: Observed, outcomes: tuple[Outcome, Outcome]
) -> set[str | None]:
    """The limits of what is not known, in clauses that are still possible."""
    possible = usual.read(observed).possible | here.read(observed).possible
    return {
        bound.limit
        for number in range(_end_of(here, outcomes))
        if possible >> number & 1
        for condition in here.index.clauses[number]
        if condition.attribute not in observed
        for _, bound in _ends(condition)
    }


def _end_of(here: Grader, outcomes: tuple[Outcome, Outcome]) -> int:
    """The number of the clause behind what is impossible and all rules down to the later that decided."""
    rules = [rule.id for rule in here.rulebook.rules]
    deciding = [rules.index(outcome.rule.id) for outcome in outcomes if isinstance(outcome, Graded)]
    last = max(deciding) if len(deciding) == len(outcomes) else len(rules) - 1
    return here.index.first_rule + last + 1


def _ends(condition: Condition) -> list[tuple[str, Bound]]:
    """The ends of a range that there are, by name."""
    ends = ((end, getattr(condition, end)) for end in ENDS)
    return [(end, bound) for end, bound in ends if bound is not None]


def _only(end: str, bound: Bound) -> Condition:
    only: Any = {end: bound}
    return replace(Condition(""), **only)


def _clauses(rulebook: Rulebook) -> Iterator[When]:
    yield from (entry.when for entry in rulebook.impossible)
    yield from (rule.when for rule in rulebook.rules)
    for preparation in rulebook.preparations.values():
        yield from (preparation.when, *preparation.unless)
    for caution in rulebook.cautions.values():
        yield from (*caution.when, *caution.unless)


def _bounded(rulebook: Rulebook, bounds: Mapping[str, Bound]) -> Rulebook:
    """The rulebook with some limits exchanged, wherever a condition names them."""

    def end(bound: Bound | None) -> Bound | None:
        return bound if bound is None or bound.limit is None else bounds.get(bound.limit, bound)

    def when(conditions: When) -> When:
        return tuple(
            replace(each, at_least=end(each.at_least), above=end(each.above),
                    at_most=end(each.at_most), below=end(each.below))
            for each in conditions
        )  # fmt: skip

    limits = {
        name: replace(limit, value=bounds[name].value, given=bounds[name].given) if name in bounds else limit
        for name, limit in rulebook.limits.items()
    }
    return replace(
        rulebook,
        limits=limits,
        impossible=tuple(replace(entry, when=when(entry.when)) for entry in rulebook.impossible),
        rules=tuple(replace(rule, when=when(rule.when)) for rule in rulebook.rules),
        preparations={
            name: replace(
                preparation, when=when(preparation.when), unless=tuple(map(when, preparation.unless))
            )
            for name, preparation in rulebook.preparations.items()
        },
        cautions={
            name: replace(
                caution,
                when=tuple(map(when, caution.when)),
                unless=tuple(map(when, caution.unless)),
            )
            for name, caution in rulebook.cautions.items()
        },
    )
