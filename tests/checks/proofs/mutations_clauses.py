"""Clauses of a rulebook that are spoilt so that no part, or not all that they list, can meet them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from random import Random

from gradewright.core.observations import Value
from gradewright.core.rulebook import Condition, Rulebook, When


def with_rule(book: Rulebook, number: int, when: When) -> Rulebook:
    """The rulebook with another clause for one of its rules."""
    rules = list(book.rules)
    rules[number] = replace(rules[number], when=when)
    return replace(book, rules=tuple(rules))


def value_that_cannot_be(chance: Random, book: Rulebook) -> Rulebook | None:
    """A condition lists one value more, which an impossible entry excludes beside the rest of its clause."""
    able = [
        (clause, place, value)
        for clause in _clauses(book)
        for place, condition in enumerate(clause.when)
        for value in _excluded(book, clause.when, condition)
    ]
    if not able:
        return None
    clause, place, value = chance.choice(able)
    condition = clause.when[place]
    more = replace(condition, values=(*condition.values, value))
    return clause.with_when((*clause.when[:place], more, *clause.when[place + 1 :]))


def _excluded(book: Rulebook, when: When, condition: Condition) -> Iterator[Value]:
    """Values that a condition of a clause does not list and no part can have that meets the other ones."""
    listed = {c.attribute: set(c.values) for c in when if c.values}
    for entry in book.impossible if condition.values else ():
        one = next((c for c in entry.when if c.attribute == condition.attribute), None)
        others = [c for c in entry.when if c is not one]
        if one and all(c.attribute in listed and listed[c.attribute] <= set(c.values) for c in others):
            yield from (value for value in one.values if value not in condition.values)


def condition_that_cannot_be(chance: Random, book: Rulebook) -> Rulebook | None:
    """A clause asks, besides what it does, for all of an impossible entry that it meets in part."""
    able = [
        (clause, together)
        for clause in _clauses(book)
        for entry in book.impossible
        if (together := _both(clause.when, entry.when))
    ]
    if not able:
        return None
    clause, together = chance.choice(able)
    return clause.with_when(together)


def _both(when: When, other: When) -> When | None:
    """A clause that holds only where two do; None unless they share an attribute, by values of both."""
    mine, theirs = ({c.attribute: c for c in each} for each in (when, other))
    shared = mine.keys() & theirs.keys()
    if not shared or not theirs.keys() - shared:
        return None
    met = {**mine, **theirs}
    for name in shared:
        values = tuple(v for v in mine[name].values if v in theirs[name].values)
        if not values:
            return None
        met[name] = Condition(name, values)
    return tuple(met.values())


@dataclass(frozen=True)
class _Clause:
    """A clause of a rule, of work or of a caution, and the rulebook with another in its place."""

    when: When
    with_when: Callable[[When], Rulebook]


def _clauses(book: Rulebook) -> Iterator[_Clause]:
    for number, rule in enumerate(book.rules):
        yield _Clause(rule.when, partial(with_rule, book, number))
    for slug, work in book.preparations.items():
        yield _Clause(work.when, partial(_with_work, book, slug))
    for slug, caution in book.cautions.items():
        for number, when in enumerate(caution.when):
            yield _Clause(when, partial(_with_caution, book, slug, number))


def _with_work(book: Rulebook, slug: str, when: When) -> Rulebook:
    work = replace(book.preparations[slug], when=when)
    return replace(book, preparations={**book.preparations, slug: work})


def _with_caution(book: Rulebook, slug: str, number: int, when: When) -> Rulebook:
    whens = book.cautions[slug].when
    caution = replace(book.cautions[slug], when=(*whens[:number], when, *whens[number + 1 :]))
    return replace(book, cautions={**book.cautions, slug: caution})
