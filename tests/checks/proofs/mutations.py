"""Faults planted in copies of a rulebook, one each, drawn with a seed."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from random import Random

from tests.checks.proofs.mutations_clauses import (
    condition_that_cannot_be,
    told_of_what_cannot_be,
    value_that_cannot_be,
    with_rule,
)

from gradewright.core.house_limits import HouseLimit, measured_by, under
from gradewright.core.observations import DOMAIN, EARLIEST_YEAR, LATEST_YEAR, Kind, Value
from gradewright.core.rulebook import Bound, Condition, Example, Rulebook, When

ENDS = ("at_least", "above", "at_most", "below")
OTHER_END = {"at_least": "above", "above": "at_least", "at_most": "below", "below": "at_most"}
Mutation = Callable[[Random, Rulebook], Rulebook | None]


def planted(book: Rulebook, kind: str, seed: int) -> Rulebook | None:
    """A copy with one fault of a kind; None where the rulebook has nothing that it could be planted in."""
    found = {**IN_THE_SHIPPED, **MUTATIONS}[kind](Random(f"{kind} {seed}"), book)
    return None if found == book else found


def dropped_condition(chance: Random, book: Rulebook) -> Rulebook | None:
    """A rule asks one thing less."""
    able = [n for n, rule in enumerate(book.rules) if len(rule.when) > 1]
    if not able:
        return None
    number = chance.choice(able)
    when = book.rules[number].when
    left = chance.randrange(len(when))
    return with_rule(book, number, (*when[:left], *when[left + 1 :]))


def swapped_bound(chance: Random, book: Rulebook) -> Rulebook | None:
    """What is on a line falls to its other side."""
    able = list(_ends(book))
    if not able:
        return None
    number, place, end = chance.choice(able)
    when = book.rules[number].when
    given = {end: None, OTHER_END[end]: getattr(when[place], end)}
    return with_rule(book, number, (*when[:place], replace(when[place], **given), *when[place + 1 :]))  # type: ignore[arg-type]


def moved_limit(chance: Random, book: Rulebook) -> Rulebook | None:
    """One rule draws a line elsewhere than the others do."""
    able = list(_ends(book))
    if not able:
        return None
    number, place, end = chance.choice(able)
    when = book.rules[number].when
    condition = when[place]
    moved = _moved(chance, book.attributes[condition.attribute].kind, getattr(condition, end).value)
    if moved is None:
        return None
    bound = {end: Bound(moved, "-")}
    return with_rule(book, number, (*when[:place], replace(condition, **bound), *when[place + 1 :]))  # type: ignore[arg-type]


def reordered_rule(chance: Random, book: Rulebook) -> Rulebook | None:
    """A rule stands elsewhere in the order."""
    if len(book.rules) < 2:
        return None
    rules = list(book.rules)
    taken = rules.pop(chance.randrange(len(rules)))
    rules.insert(chance.randint(0, len(rules)), taken)
    return replace(book, rules=tuple(rules))


def rule_before_another(chance: Random, book: Rulebook) -> Rulebook | None:
    """A rule stands before one of another grade that parts may meet too, instead of behind it."""
    able = [
        (first, second)
        for first, second in itertools.combinations(range(len(book.rules)), 2)
        if book.rules[first].grade != book.rules[second].grade
        and _may_meet(book.rules[first].when, book.rules[second].when)
    ]
    if not able:
        return None
    first, second = chance.choice(able)
    rules = list(book.rules)
    rules.insert(first, rules.pop(second))
    return replace(book, rules=tuple(rules))


def _may_meet(when: When, other: When) -> bool:
    """Whether two clauses list a value that both have wherever both list some."""
    listed = {c.attribute: set(c.values) for c in other if c.values}
    return all(set(c.values) & listed.get(c.attribute, set(c.values)) for c in when if c.values)


def removed_rule(chance: Random, book: Rulebook) -> Rulebook | None:
    """A rule is missing."""
    if len(book.rules) < 2:
        return None
    number = chance.randrange(len(book.rules))
    return replace(book, rules=(*book.rules[:number], *book.rules[number + 1 :]))


def removed_impossible(chance: Random, book: Rulebook) -> Rulebook | None:
    """Something that cannot be is not known to be impossible."""
    if not book.impossible:
        return None
    number = chance.randrange(len(book.impossible))
    return replace(book, impossible=(*book.impossible[:number], *book.impossible[number + 1 :]))


def widened_impossible(chance: Random, book: Rulebook) -> Rulebook | None:
    """Something is held for impossible that can be: a condition of an entry is missing."""
    able = [n for n, entry in enumerate(book.impossible) if len(entry.when) > 1]
    if not able:
        return None
    number = chance.choice(able)
    entries, left = list(book.impossible), chance.randrange(len(book.impossible[number].when))
    when = entries[number].when
    entries[number] = replace(entries[number], when=(*when[:left], *when[left + 1 :]))
    return replace(book, impossible=tuple(entries))


def another_order(chance: Random, book: Rulebook) -> Rulebook | None:
    """Measures are held to another order than theirs: two are exchanged, one is left out, or all are."""
    if not book.largest_first:
        return None
    number = chance.randrange(len(book.largest_first))
    order, (one, other) = book.largest_first[number], chance.sample(book.largest_first[number].measures, 2)
    exchanged = {one: other, other: one}
    measures = chance.choice(
        [
            tuple(exchanged.get(each, each) for each in order.measures),
            tuple(each for each in order.measures if each != one),
            (),
        ]
    )
    left = [replace(order, measures=measures)] if len(measures) > 1 else []
    return replace(
        book, largest_first=(*book.largest_first[:number], *left, *book.largest_first[number + 1 :])
    )


def wrong_example(chance: Random, book: Rulebook) -> Rulebook | None:
    """An example names another grade, or says that there is none."""
    able = [n for n, example in enumerate(book.examples) if example.grade is not None]
    if not able:
        return None
    number = chance.choice(able)
    example = book.examples[number]
    others = [slug for slug in book.grades if slug != example.grade]
    wrong = (
        Example(example.part, grade=chance.choice(others)) if others else Example(example.part, ungraded=True)
    )
    return replace(book, examples=(*book.examples[:number], wrong, *book.examples[number + 1 :]))


def work_leading_nowhere(chance: Random, book: Rulebook) -> Rulebook | None:
    """Work leaves what cannot be together: the values of an impossible entry."""
    able = [entry for entry in book.impossible if all(condition.values for condition in entry.when)]
    if not able or not book.preparations:
        return None
    entry, slug = chance.choice(able), chance.choice(list(book.preparations))
    changes: dict[str, Value | None] = {c.attribute: chance.choice(c.values) for c in entry.when}
    work = {**book.preparations, slug: replace(book.preparations[slug], changes=changes)}
    return replace(book, preparations=work)


def grade_that_no_rule_gives(chance: Random, book: Rulebook) -> Rulebook | None:
    """All rules of a grade give another one, of its family where that has one."""
    given = list(dict.fromkeys(r.grade for r in book.rules if not book.grades[r.grade].by_name_only))
    if len(given) < 2:
        return None
    lost = chance.choice(given)
    others = [slug for slug in given if slug != lost]
    family = book.grades[lost].family
    instead = chance.choice([slug for slug in others if book.grades[slug].family == family] or others)
    rules = (replace(rule, grade=instead) if rule.grade == lost else rule for rule in book.rules)
    return replace(book, rules=tuple(rules))


def limit_moved_everywhere(chance: Random, book: Rulebook) -> Rulebook | None:
    """A limit has another value, wherever the rulebook uses it."""
    measured = measured_by(book)
    if not measured:
        return None
    name = chance.choice(sorted(measured))
    moved = _moved(chance, measured[name].kind, book.limits[name].value)
    if moved is None:
        return None
    limit = HouseLimit(name, measured[name].show(moved), "-", "-", date.min)
    return under(book, [limit])[0]


IN_BOTH: dict[str, Mutation] = {
    "dropped condition": dropped_condition,
    "swapped bound": swapped_bound,
    "moved limit": moved_limit,
    "reordered rule": reordered_rule,
    "removed rule": removed_rule,
    "removed impossible": removed_impossible,
    "widened impossible": widened_impossible,
    "measures in another order": another_order,
    "wrong example": wrong_example,
    "work that leads nowhere": work_leading_nowhere,
    "value that cannot be": value_that_cannot_be,
    "condition that cannot be": condition_that_cannot_be,
    "grade that no rule gives": grade_that_no_rule_gives,
}
MUTATIONS: dict[str, Mutation] = {**IN_BOTH, "told of what cannot be": told_of_what_cannot_be}
IN_THE_SHIPPED: dict[str, Mutation] = {
    **IN_BOTH,
    "rule before another": rule_before_another,
    "limit moved everywhere": limit_moved_everywhere,
}


def _ends(book: Rulebook) -> Iterator[tuple[int, int, str]]:
    """Every end of a range in the rules: the rule, the condition, and which end."""
    for number, rule in enumerate(book.rules):
        for place, condition in enumerate(rule.when):
            for end in ENDS:
                if _has(condition, end):
                    yield number, place, end


def _has(condition: Condition, end: str) -> bool:
    return getattr(condition, end) is not None


def _moved(chance: Random, kind: Kind, value: Value) -> Value | None:
    """Another value of the kind, above or below."""
    if isinstance(value, Decimal):
        moved = value * chance.choice([Decimal("0.5"), Decimal("0.99"), Decimal("1.01"), Decimal(2)])
        lowest, _, highest = DOMAIN[kind]
        return moved if moved > lowest and (highest is None or moved <= highest) else None
    if isinstance(value, date):
        day = value.toordinal() + chance.choice([-400, -1, 1, 400])
        return date.fromordinal(day) if date.min.toordinal() <= day <= date.max.toordinal() else None
    if isinstance(value, int):
        year = value + chance.choice([-10, -1, 1, 10])
        return year if EARLIEST_YEAR <= year <= LATEST_YEAR else None
    return None
