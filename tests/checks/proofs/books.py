"""Small rulebooks to be proved: drawn at random, sound or as they come, and cut out of the shipped one."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from random import Random

from tests.checks.proofs.brute import Grid, values_of
from tests.checks.proofs.faults import read
from tests.core.rulebooks import attribute, rulebook

from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import (
    Bound,
    Caution,
    Condition,
    Example,
    Impossible,
    LargestFirst,
    Preparation,
    Rule,
    Rulebook,
    ToldOf,
    When,
)
from gradewright.rulebooks.proof import Finding, found

MARKS: dict[Kind, list[Value]] = {
    Kind.LENGTH: [Decimal(1), Decimal("3.175"), Decimal("6.35")],
    Kind.SHARE: [Decimal(0), Decimal("0.05"), Decimal(1)],
    Kind.DENSITY: [Decimal("2.7"), Decimal("8.9")],
    Kind.YEAR: [1800, 1979, 1980, 2200],
    Kind.DATE: [date.min, date(2005, 8, 13), date(2005, 8, 14), date.max],
}
ENDS = ("at_least", "above", "at_most", "below")
KINDS = [Kind.CHOICE, Kind.CHOICE, Kind.YES_NO, Kind.YES_NO, *MARKS]
MOST_PLACES = 100_000


def attributes(chance: Random, most: int = 5) -> list[Attribute]:
    """Up to so many attributes of any kind."""
    kinds = [chance.choice(KINDS) for _ in range(chance.randint(1, most))]
    return [
        attribute(f"a{n}", kind, ("red", "white", "grey") if kind is Kind.CHOICE else ())
        for n, kind in enumerate(kinds)
    ]


def of_sides(chance: Random) -> Rulebook:
    """The same of two or three sides, in their order, and a choice; some are claimed to be out of it."""
    sides = [attribute(name, Kind.LENGTH) for name in ("long", "wide", "thick")[: chance.randint(2, 3)]]
    asked = [*sides, attribute("form", Kind.CHOICE, ("red", "white", "grey"))]
    book = as_it_comes(chance, asked)
    claimed = (Example(_part(chance, asked), contradiction="order") for _ in range(2))
    return replace(book, examples=(*book.examples, *claimed))


def as_it_comes(chance: Random, asked: list[Attribute] | None = None) -> Rulebook:
    """A rulebook whose clauses know nothing of each other: it has faults of every kind."""
    asked = asked or attributes(chance)

    def when() -> When:
        return tuple(
            _condition(chance, a) for a in chance.sample(asked, chance.randint(1, min(3, len(asked))))
        )

    rules = [(when(), f"g{chance.randint(0, 3)}") for _ in range(chance.randint(1, 8))]
    book = rulebook(asked, rules, [when() for _ in range(chance.randint(0, 4))])
    work = {f"p{n}": _work(f"p{n}", when(), _changes(chance, asked)) for n in range(chance.randint(0, 2))}
    danger = {
        f"c{n}": Caution(
            f"c{n}", "-", "-", "-", (when(),), tuple(when() for _ in range(chance.randint(0, 1)))
        )
        for n in range(chance.randint(0, 2))
    }
    meant = [Example(_part(chance, asked), ungraded=True) for _ in range(chance.choice([0, 0, 1, 2]))]
    claimed = [Example(_part(chance, asked), grade="g0"), Example(_part(chance, asked), contradiction="i0")]
    book = replace(
        book, preparations=work, cautions=danger, examples=(*meant, *claimed[: chance.randint(0, 2)])
    )
    return replace(book, largest_first=_order(asked))


def told_of_some(chance: Random) -> Rulebook:
    """The same with an attribute that is told of some things only: rules that ask for it ask for these."""
    sorts = [attribute("sort", Kind.CHOICE, ("one", "two", "three")), attribute("last", Kind.YES_NO)]
    asked = [*sorts, *attributes(chance, 3)]
    book, told = as_it_comes(chance, asked), chance.choice(asked[2:])
    of = tuple((_condition(chance, chance.choice(sorts)),) for _ in range(chance.randint(1, 2)))
    rules = tuple(
        replace(rule, when=tuple({c.attribute: c for c in (*rule.when, *chance.choice(of))}.values()))
        if any(c.attribute == told.name for c in rule.when)
        else rule
        for rule in book.rules
    )
    whole = ({a.name: _value(chance, a) for a in asked} for _ in range(3))
    return replace(
        book,
        rules=rules,
        told_of=(ToldOf("told", (told.name,), of, "-", "-"),),
        examples=(
            *(example for example in book.examples if not (example.ungraded and told.name in example.part)),
            *(Example(part, contradiction="told") for part in whole),
        ),
    )


def _order(asked: list[Attribute]) -> tuple[LargestFirst, ...]:
    """Lengths are in the order in which they stand, where there are two."""
    lengths = tuple(a.name for a in asked if a.kind is Kind.LENGTH)
    return (LargestFirst("order", lengths, "-", "-"),) if len(lengths) > 1 else ()


def sound(chance: Random) -> Rulebook:
    """A rulebook of a tree of questions, some of whose ends cannot be, with work and true examples."""
    asked = [*attributes(chance, 4), attribute("last", Kind.YES_NO)]
    ends = list(_ends(chance, (), list(asked), 3))
    chance.shuffle(ends)
    cannot = ends[: chance.randint(0, min(2, len(ends) - 2))] if len(ends) > 2 else []
    rules = [(when, f"g{chance.randint(0, 3)}") for when in ends[len(cannot) :]]
    book = rulebook(asked, rules, cannot)
    return _with_true_examples(chance, replace(book, preparations=_true_work(chance, book)))


def _ends(chance: Random, so_far: When, left: list[Attribute], depth: int) -> Iterator[When]:
    """The ends of a tree: each way to answer a few questions, every part meeting just one."""
    if not left or (so_far and (depth == 0 or chance.random() < 0.2)):
        yield so_far
        return
    a = left[chance.randrange(len(left))]
    others = [each for each in left if each is not a]
    for condition in _parted(chance, a):
        yield from _ends(chance, (*so_far, condition), others, depth - 1)


def _parted(chance: Random, a: Attribute) -> list[Condition]:
    """Conditions on an attribute of which every value meets just one."""
    if a.kind is Kind.CHOICE:
        one, *rest = chance.sample(list(a.choices), len(a.choices))
        return [Condition(a.name, (one,)), Condition(a.name, tuple(rest))]
    if a.kind is Kind.YES_NO:
        return [Condition(a.name, (False,)), Condition(a.name, (True,))]
    # Not the ends of what is possible: beyond them there is nothing.
    marks = [m for m in MARKS[a.kind] if m not in (0, 1, 1800, 2200, date.min, date.max)] or MARKS[a.kind][
        1:2
    ]
    mark = Bound(chance.choice(marks), "-", limit=f"{a.name}_limit")
    if chance.random() < 0.5:
        return [Condition(a.name, below=mark), Condition(a.name, at_least=mark)]
    return [Condition(a.name, at_most=mark), Condition(a.name, above=mark)]


def _condition(chance: Random, a: Attribute) -> Condition:
    if a.kind in (Kind.CHOICE, Kind.YES_NO):
        values: list[Value] = list(a.choices) or [False, True]
        return Condition(a.name, tuple(chance.sample(values, chance.randint(1, 2))))
    marks = MARKS[a.kind]
    if chance.random() < 0.2:
        return Condition(a.name, tuple(chance.sample(marks, chance.randint(1, 2))))
    bounds = {end: Bound(chance.choice(marks), "-") for end in chance.sample(ENDS, chance.randint(1, 2))}
    return Condition(a.name, **bounds)  # type: ignore[arg-type]


def _part(chance: Random, asked: list[Attribute]) -> dict[str, Value]:
    told = chance.sample(asked, chance.randint(1, len(asked)))
    return {a.name: _value(chance, a) for a in told}


def _value(chance: Random, a: Attribute) -> Value:
    if a.kind in (Kind.CHOICE, Kind.YES_NO):
        return chance.choice(list(a.choices) or [False, True])
    if a.kind is Kind.LENGTH:
        return chance.choice([Decimal("0.4"), Decimal(1), Decimal("4.2"), Decimal(30)])
    return chance.choice(MARKS[a.kind])


def _changes(chance: Random, asked: list[Attribute]) -> dict[str, Value | None]:
    changed = chance.sample(asked, chance.randint(1, min(2, len(asked))))
    return {a.name: chance.choice([None, _value(chance, a)]) for a in changed}


def _work(slug: str, when: When, changes: Mapping[str, Value | None]) -> Preparation:
    return Preparation(slug, "-", when, changes, Decimal(1), "piece", "-")


def _true_work(chance: Random, book: Rulebook) -> dict[str, Preparation]:
    """Work on what meets some rule, that leaves another attribute to be looked at afresh."""
    rule = chance.choice(book.rules)
    changed = chance.choice(list(book.attributes))
    return {"p": _work("p", rule.when, {changed: None})}


def _with_true_examples(chance: Random, book: Rulebook) -> Rulebook:
    """The rulebook with examples that say what the grid says."""
    grid, examples = Grid(book), list(book.examples)
    for _ in range(12):
        part = {
            name: chance.choice(grid.values[name])
            for name in chance.sample(grid.names, chance.randint(1, len(grid.names)))
        }
        ends = grid.ends(part)
        grades = tuple(sorted(end for end in ends if end))
        if len(ends) == 1 and grades:
            examples.append(Example(part, grade=grades[0]))
        elif len(ends) > 1 and grades:
            examples.append(Example(part, candidates=grades))
    return replace(book, examples=tuple(examples))


def cut_out(book: Rulebook, name: str, kept: tuple[str, ...], most: int = MOST_PLACES) -> Rulebook:
    """What a rulebook says of parts with some values of one choice: the rules that name one of these.

    With all that those ask, as long as that leaves a grid small enough to be looked at.
    """
    asked = book.attributes[name]
    attribute_kept = replace(asked, choices={value: asked.choices[value] for value in kept})

    def narrowed(when: When) -> When | None:
        asks: list[Condition] = []
        for condition in when:
            if condition.attribute == name:
                values = tuple(value for value in condition.values if value in kept)
                if not values:
                    return None
                asks.append(replace(condition, values=values))
            else:
                asks.append(condition)
        return tuple(asks)

    rules = [
        replace(rule, when=when)
        for rule in book.rules
        if any(c.attribute == name for c in rule.when) and (when := narrowed(rule.when))
    ]

    def of(some: list[Rule]) -> Rulebook:
        names = {name, *(c.attribute for rule in some for c in rule.when)}
        entries = [(e, narrowed(e.when)) for e in book.impossible if {c.attribute for c in e.when} <= names]
        return replace(
            book,
            attributes={n: a for n, a in {**book.attributes, name: attribute_kept}.items() if n in names},
            grades={rule.grade: replace(book.grades[rule.grade], kin=None) for rule in some},
            rules=tuple(some),
            impossible=tuple(replace(e, when=when) for e, when in entries if when),
            largest_first=tuple(
                replace(order, measures=left)
                for order in book.largest_first
                if len(left := tuple(each for each in order.measures if each in names)) > 1
            ),
            told_of=(),
            preparations={},
            cautions={},
            examples=(),
        )

    taken: list[Rule] = []
    for rule in rules:
        if math.prod(len(values) for values in values_of(of([*taken, rule])).values()) <= most:
            taken.append(rule)
    return of(taken)


def mended(chance: Random, book: Rulebook, most: int = 30) -> Rulebook | None:
    """A cut-out without faults: what never matters is taken out, what has no answer is meant to have none."""
    for _ in range(most):
        grid = Grid(book)
        dead = {n for n, decides in enumerate(grid.decides) if not decides.any()}
        rules = tuple(rule for n, rule in enumerate(book.rules) if n not in dead)
        entries = tuple(e for e, places in zip(book.impossible, grid.cannot_be, strict=False) if places.any())
        if len(rules) + len(entries) < len(book.rules) + len(book.impossible):
            book = replace(book, rules=rules, impossible=entries)
            continue
        given = {rule.grade for rule in rules}
        book = replace(book, grades={slug: g for slug, g in book.grades.items() if slug in given})
        if not grid.holes.any():
            return _with_true_examples(chance, book)
        holes = [f for f in found(book)[0] if f.kind == "no-answer" and f.part is not None]
        for hole in holes:
            book = _closed(book, hole)
    return None


def _closed(book: Rulebook, hole: Finding) -> Rulebook:
    """With what a finding tells held for impossible; where it tells a measure, meant to have no grade."""
    part = read(book, hole.part or {})
    if any(book.attributes[name].kind not in (Kind.CHOICE, Kind.YES_NO) for name in part):
        return replace(book, examples=(*book.examples, Example(part, ungraded=True)))
    when = tuple(Condition(name, (value, *(hole.alike or {}).get(name, ()))) for name, value in part.items())
    entry = Impossible(f"closed-{len(book.impossible)}", when, "-", "-")
    return replace(book, impossible=(*book.impossible, entry))
