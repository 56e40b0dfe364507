"""Clauses of a rulebook that are spoilt so that no part, or not all that they list, can meet them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from random import Random

from gradewright.core.observations import Kind, Value
from gradewright.core.rulebook import Condition, Rulebook, ToldOf, When


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


def told_of_what_cannot_be(chance: Random, book: Rulebook) -> Rulebook | None:
    """Something is told of things alone that cannot be: of an impossible entry, be it besides what it is told
    of already, or of two things that no part is at once."""
    seen = {each.name for each in book.attributes.values() if each.kind in (Kind.CHOICE, Kind.YES_NO)}
    able = [entry.when for entry in book.impossible if seen.issuperset(c.attribute for c in entry.when)]
    by_eye = [each for each in book.attributes.values() if each.choices and len(each.choices) > 1]
    whens = (*(rule.when for rule in book.rules), *(entry.when for entry in book.impossible))
    asked = {condition.attribute for when in whens for condition in when}
    spare = [name for name in book.attributes if name not in asked] or list(book.attributes)
    how = chance.choice(["alone", "besides", "twice"])
    if how == "twice" and by_eye:
        parted = chance.choice(by_eye)
        name = chance.choice([each for each in spare if each != parted.name] or [parted.name])
        first, second, *_ = parted.choices
        of: list[When] = [(Condition(parted.name, (each,)),) for each in (first, second)]
        more = tuple(ToldOf(f"told-{n}", (name,), (each,), "-", "-") for n, each in enumerate(of))
        return None if name == parted.name else replace(book, told_of=(*book.told_of, *more))
    if not able:
        return None
    never = chance.choice(able)
    entries = [
        n for n, each in enumerate(book.told_of) if not {c.attribute for c in never} & {*each.attributes}
    ]
    if how == "besides" and entries:
        number, told = chance.choice(entries), list(book.told_of)
        told[number] = replace(told[number], of=(*told[number].of, never))
        return replace(book, told_of=tuple(told))
    others = [name for name in spare if name not in {c.attribute for c in never}]
    if not others:
        return None
    entry = ToldOf("told-never", (chance.choice(others),), (never,), "-", "-")
    return replace(book, told_of=(*book.told_of, entry))


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
