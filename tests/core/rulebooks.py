"""Random small rulebooks and parts, and a grader so plain that it is plainly right."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal

from hypothesis import strategies as st

from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import (
    Bound,
    Condition,
    Grade,
    Impossible,
    LargestFirst,
    Pricing,
    Rule,
    Rulebook,
    When,
)

CUTS: dict[Kind, list[Value]] = {
    Kind.LENGTH: [Decimal(1), Decimal("3.175"), Decimal("6.35")],
    Kind.SHARE: [Decimal(0), Decimal("0.05"), Decimal(1)],
    Kind.YEAR: [1979, 1980, 1999],
}
# Every value that a condition over CUTS can tell from another, written out by hand.
POINTS: dict[Kind, list[Value]] = {
    Kind.LENGTH: [Decimal(v) for v in ("0.5", "1", "2", "3.175", "5", "6.35", "9")],
    Kind.SHARE: [Decimal(v) for v in ("0", "0.01", "0.05", "0.5", "1")],
    Kind.YEAR: [1900, 1979, 1980, 1990, 1999, 2020],
    Kind.YES_NO: [False, True],
}


def attribute(name: str, kind: Kind, choices: tuple[str, ...] = ()) -> Attribute:
    """An attribute with nothing but what grading needs."""
    return Attribute(name, kind, "?", "look", Decimal(1), "-", dict.fromkeys(choices, "-"))


def rulebook(
    attributes: list[Attribute], rules: list[tuple[When, str]], impossible: list[When] | None = None
) -> Rulebook:
    """A rulebook of bare rules; their grades are made up as they are named."""
    grades = {grade: Grade(grade, grade, "any", "-") for _, grade in rules}
    return Rulebook(
        version="2000.1",
        effective_from=date(2000, 1, 1),
        title="-",
        summary="-",
        families={"any": "Any"},
        limits={},
        attributes={a.name: a for a in attributes},
        grades=grades,
        impossible=tuple(Impossible(f"i{n}", when, "-", "-") for n, when in enumerate(impossible or [])),
        rules=tuple(
            Rule(f"r{n}", grade, when, "-", "-", "published") for n, (when, grade) in enumerate(rules)
        ),
        preparations={},
        cautions={},
        pricing=Pricing(120, 30, {"sign": Decimal(1)}, 3, Decimal("0.1")),
        examples=(),
        sha256="0" * 64,
    )


@st.composite
def rulebooks(draw: st.DrawFn, most: int = 5) -> Rulebook:
    """Up to `most` attributes of any kind, eight rules over four grades, four impossible descriptions."""
    kinds = draw(st.lists(st.sampled_from([Kind.CHOICE, Kind.YES_NO, *CUTS]), min_size=1, max_size=most))
    attributes = [
        attribute(f"a{n}", kind, ("red", "white", "grey") if kind is Kind.CHOICE else ())
        for n, kind in enumerate(kinds)
    ]
    whens = st.lists(st.sampled_from(attributes), min_size=1, max_size=3, unique_by=lambda a: a.name).flatmap(
        lambda chosen: st.tuples(*(conditions(a) for a in chosen))
    )
    rules = draw(
        st.lists(st.tuples(whens, st.sampled_from(["g0", "g1", "g2", "g3"])), min_size=1, max_size=8)
    )
    book = rulebook(attributes, rules, draw(st.lists(whens, max_size=4)))
    lengths = [a.name for a in attributes if a.kind is Kind.LENGTH]
    if len(lengths) < 2 or not draw(st.booleans()):
        return book
    return replace(
        book, largest_first=(LargestFirst("order", tuple(draw(st.permutations(lengths))), "-", "-"),)
    )


def conditions(a: Attribute) -> st.SearchStrategy[Condition]:
    """Any condition that a document could write on an attribute."""
    if a.kind in (Kind.CHOICE, Kind.YES_NO):
        values: list[Value] = list(a.choices) or [False, True]
        some = st.lists(st.sampled_from(values), min_size=1, max_size=2, unique=True)
        return some.map(lambda chosen: Condition(a.name, tuple(chosen)))
    bound = st.sampled_from(CUTS[a.kind]).map(lambda value: Bound(value, str(value)))
    ends = st.sampled_from(["at_least", "above", "at_most", "below"])
    one = st.tuples(ends, bound).map(lambda pair: Condition(a.name, **{pair[0]: pair[1]}))
    both = st.tuples(bound, bound).map(lambda pair: Condition(a.name, at_least=pair[0], below=pair[1]))
    point = st.sampled_from(CUTS[a.kind]).map(lambda value: Condition(a.name, (value,)))
    return one | both | point


def points(a: Attribute) -> list[Value]:
    """The values of an attribute that are worth telling apart."""
    return list(a.choices) if a.kind is Kind.CHOICE else POINTS[a.kind]


@st.composite
def parts(draw: st.DrawFn, book: Rulebook) -> dict[str, Value]:
    """A part of which each attribute may or may not be known, in any order."""
    names = draw(st.lists(st.sampled_from(sorted(book.attributes)), unique=True))
    return {name: draw(st.sampled_from(points(book.attributes[name]))) for name in names}


def completions(book: Rulebook, part: Mapping[str, Value]) -> Iterator[dict[str, Value]]:
    """Every way in which the unknown observations could turn out."""
    unknown = [a for name, a in book.attributes.items() if name not in part]
    for values in itertools.product(*(points(a) for a in unknown)):
        yield {**part, **dict(zip((a.name for a in unknown), values, strict=True))}


def first_match(book: Rulebook, whole: Mapping[str, Value]) -> str | None:
    """The grade of a fully known part: the first rule all of whose conditions hold; "!" if it cannot be."""

    def met(when: When) -> bool:
        return all(condition.holds(whole[condition.attribute]) for condition in when)

    if any(met(entry.when) for entry in book.impossible) or not in_order(book, whole):
        return "!"
    return next((rule.grade for rule in book.rules if met(rule.when)), None)


def in_order(book: Rulebook, part: Mapping[str, Value]) -> bool:
    """Whether no known measure is more than a known one before it."""
    return all(
        part[larger] >= part[smaller]  # type: ignore[operator]
        for order in book.largest_first
        for larger, smaller in itertools.combinations(order.measures, 2)
        if larger in part and smaller in part
    )


def reachable(book: Rulebook, part: Mapping[str, Value]) -> set[str | None]:
    """What the completions of a part are graded as, those that cannot be left out."""
    return {first_match(book, whole) for whole in completions(book, part)} - {"!"}
