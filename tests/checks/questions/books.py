"""Small rulebooks: cut out of the shipped one by what is known already, and made up at random."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal

from tests.checks.shipped import versions
from tests.core.rulebooks import attribute, rulebook

from gradewright.core.grading import Graded, Grader, Undecided
from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import Condition, Example, Impossible, Rule, Rulebook, When

CUT_BY = ("assembly", "form", "metal", "material")
MINUTES = ("0.05", "0.1", "0.3", "0.5", "1", "5")


def latest() -> Rulebook:
    """The newest version that ships."""
    return versions()[-1]


def with_equal_tests(book: Rulebook) -> Rulebook:
    """The same with every test as quick, so that least effort means fewest questions."""
    same = {name: replace(a, minutes=Decimal(0)) for name, a in book.attributes.items()}
    return replace(book, attributes=same)


def cut_outs(grader: Grader) -> Iterator[tuple[str, Rulebook]]:
    """What is left of the rulebook once one or two of its first attributes are known; each but once."""
    axes = grader.index.axes
    known: list[dict[str, Value]] = [{name: cell} for name in CUT_BY for cell in axes[name].cells]
    for one, other in (("metal", "form"), ("assembly", "metal")):
        pairs = itertools.product(axes[one].cells, axes[other].cells)
        known.extend({one: first, other: second} for first, second in pairs)
    seen = set()
    for observed in known:
        if isinstance(grader.grade(observed), Undecided):
            book = cut_out(grader, observed)
            key = (tuple((r.grade, r.when) for r in book.rules), tuple(i.when for i in book.impossible))
            if key not in seen:
                seen.add(key)
                yield " ".join(f"{name}={value}" for name, value in observed.items()), book


def cut_out(grader: Grader, observed: Mapping[str, Value]) -> Rulebook:
    """The rules that may still hold, what they ask for, what of that cannot be, and the examples that fit."""
    book, index = grader.rulebook, grader.index
    possible, known = index.match(observed)
    rules: list[Rule] = []
    for number, rule in enumerate(book.rules, start=index.first_rule):
        if possible >> number & 1:
            rules.append(replace(rule, when=_without(rule.when, observed)))
            if index.settled(known) >> number & 1:
                break
    names = {condition.attribute for rule in rules for condition in rule.when}
    left = [
        (entry, _without(entry.when, observed))
        for number, entry in enumerate(book.impossible)
        if possible >> number & 1
    ]
    impossible: list[Impossible] = [
        replace(entry, when=when)
        for entry, when in left
        if when and {condition.attribute for condition in when} <= names
    ]
    return replace(
        book,
        attributes={name: a for name, a in book.attributes.items() if name in names},
        rules=tuple(rules),
        impossible=tuple(impossible),
        largest_first=tuple(
            replace(order, measures=left_of_it)
            for order in book.largest_first
            if len(left_of_it := tuple(name for name in order.measures if name in names)) > 1
        ),
        told_of=(),  # of the parts of a cut-out every attribute can be told: the optimum asks for any
        preparations={},
        cautions={},
        examples=tuple(_examples(grader, observed, names)),
    )


def _without(when: When, observed: Mapping[str, Value]) -> When:
    return tuple(condition for condition in when if condition.attribute not in observed)


def _examples(grader: Grader, observed: Mapping[str, Value], names: set[str]) -> Iterator[Example]:
    for example in grader.rulebook.examples:
        if all(example.part.get(name, value) == value for name, value in observed.items()):
            outcome = grader.grade({**example.part, **observed})
            if isinstance(outcome, Graded):
                told = {name: value for name, value in example.part.items() if name in names}
                yield replace(example, part=told, grade=outcome.grade)


def random_books(count: int, seed: int) -> Iterator[tuple[str, Rulebook]]:
    """Rulebooks of four to six attributes and four to nine rules, whose tests take from 3 seconds up."""
    chance = random.Random(seed)
    made = 0
    while made < count:
        choices = [tuple(f"v{n}" for n in range(chance.randint(2, 4))) for _ in range(chance.randint(4, 6))]
        attributes = [
            replace(attribute(f"a{n}", Kind.CHOICE, values), minutes=Decimal(chance.choice(MINUTES)))
            for n, values in enumerate(choices)
        ]

        def when(attributes: list[Attribute] = attributes) -> When:
            asked = chance.sample(attributes, chance.randint(1, 3))
            return tuple(
                Condition(
                    a.name, tuple(chance.sample(list(a.choices), chance.randint(1, len(a.choices) - 1)))
                )
                for a in asked
            )

        rules = [(when(), f"g{chance.randint(0, 5)}") for _ in range(chance.randint(4, 9))]
        book = rulebook(attributes, rules, [when() for _ in range(chance.randint(0, 2))])
        if isinstance(Grader(book).grade({}), Undecided):
            made += 1
            yield f"random {made}", book
