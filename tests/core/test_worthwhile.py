"""Work that raises a part: found as by trying every sequence, told as what pays, best first."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.rulebooks import attribute, reachable, rulebook
from tests.core.work import FROM, GRADES, Part, best, posted, price_list, sequences, worked

from gradewright.core.description import describe
from gradewright.core.grading import Contradiction, Graded, Grader
from gradewright.core.observations import Kind, Observed, Value, read_observations
from gradewright.core.routes import routes
from gradewright.core.rulebook import Condition, Preparation, Rulebook, Shed, When
from gradewright.core.valuation import value
from gradewright.core.valued import Part as ValuedPart
from gradewright.core.valued import Terms
from gradewright.core.worthwhile import Lump, Worthwhile, worthwhile
from gradewright.rulebooks.document import read_yaml

PUBLISHED = Path(__file__).parents[2] / "service" / "gradewright" / "rulebooks" / "published"
MOST_TOLD = 5
WEIGHTS = ("1", "400", "1000", "1350", "25000")  # grams


def plainly(book: Rulebook) -> Any:
    """The grade of a partly known part, by all its completions."""

    def grade_of(part: Part) -> str | None:
        found = reachable(book, part)
        if not found:
            return "!"
        return found.pop() if len(found) == 1 else None

    return grade_of


def by_grader(grader: Grader) -> Any:
    """The same by the grader, which has tests of its own."""

    def grade_of(part: Part) -> str | None:
        outcome = grader.grade(part)
        if isinstance(outcome, Contradiction):
            return "!"
        return outcome.grade if isinstance(outcome, Graded) else None

    return grade_of


def check(
    book: Rulebook,
    part: Part,
    grade_of: Any,
    prices: Any,
    grams: Decimal,
    pieces: int,
    beside: dict[str, Decimal],
    grader: Grader | None = None,
) -> list[tuple[str, ...]]:
    """Hold the work that a valuation tells against every sequence; gives those that pay and none beats."""
    grader = grader or Grader(book)
    described = describe(grader, part)
    assert described.grade is not None
    ratio = grams.as_integer_ratio()
    given_parts = [ValuedPart("part", pieces, grams, ratio, described.grade, described)]
    given_parts += [
        ValuedPart(grade, 1, more, more.as_integer_ratio(), grade) for grade, more in beside.items()
    ]
    list_prices = price_list(book, prices)
    line = value(given_parts, grader, list_prices, Terms()).lines[0]
    assert line.amount is not None
    found = list(sequences(book, part, grade_of, pieces=pieces, grams=Fraction(grams)))
    expected = best(found, described.grade, list_prices, beside, grams)
    told = expected[:MOST_TOLD]
    if told and max(expected, key=lambda each: each.gain) not in told:
        told[-1] = max(expected, key=lambda each: each.gain)
    assert [
        (tuple(step.id for step in each.preparations), each.gain, Fraction(*each.minutes))
        for each in line.raises
    ] == [(each.done.ids, each.gain, each.done.minutes) for each in told]
    for each, plain in zip(line.raises, told, strict=True):
        assert each.route.kept == plain.done.kept
        assert dict(each.route.shed) == plain.done.shed
        assert each.route.lost == 1 - plain.done.kept - sum(plain.done.shed.values())
        assert sum(Fraction(*minutes) for minutes in each.minutes_of()) == plain.done.minutes
        assert each.best_by_the_hour == (plain is expected[0])
        assert each.best_in_all == (plain.gain == max(other.gain for other in expected))
    return [each.done.ids for each in expected]


def random_case(seed: int) -> list[tuple[str, ...]] | None:
    """A random rulebook, part, prices and list, checked; None where there is nothing to be raised."""
    chance = Random(seed)
    book, part = worked(chance)
    grade = plainly(book)(part)
    if grade is None or grade == "!":
        return None
    prices = posted(chance, GRADES)
    prices[grade] = {
        written: chance.choice(["-0.40", "0.01", "0.30"]) for written in chance.choice([(None,), FROM])
    }
    beside = {each: Decimal(chance.choice(WEIGHTS)) for each in GRADES if chance.random() < 0.3}
    grams, pieces = Decimal(chance.choice(WEIGHTS)), chance.randint(1, 3)
    return check(book, part, plainly(book), prices, grams, pieces, beside)


@settings(max_examples=300)
@given(seed=st.integers(0, 2**32))
def test_small_rulebooks_are_as_every_sequence_says(seed: int) -> None:
    """Over random rulebooks, parts, prices and lists: what is told is what no other sequence beats."""
    random_case(seed)


def test_the_random_cases_have_sequences_in_them() -> None:
    """Of the random cases many have work that pays, sequences of three steps, and several that none beats."""
    found = [told for seed in range(1500) if (told := random_case(seed)) is not None]
    assert sum(bool(told) for told in found) > 200
    assert sum(any(len(ids) >= 3 for ids in told) for told in found) > 20
    assert sum(len(told) >= 2 for told in found) > 40


def many_ways(ways: int) -> tuple[Rulebook, Observed]:
    """A part of grade g0 that can be cleaned better and better: the better, the longer it takes an hour."""
    clean = attribute("clean", Kind.CHOICE, tuple(f"by-{n}" for n in range(ways)))
    rules = [((Condition("clean", (f"by-{n}",)),), f"g{n}") for n in range(ways)]
    work = {
        f"p{n}": Preparation(
            id=f"p{n}",
            name="Clean it",
            when=(Condition("clean", ("by-0",)),),
            changes={"clean": f"by-{n}"},
            minutes=Decimal(n * n),
            per="piece",
            how="-",
        )
        for n in range(1, ways)
    }
    return replace(rulebook([clean], rules), preparations=work), {"clean": "by-0"}


def test_of_many_sequences_the_quickest_and_the_one_that_adds_the_most_are_told() -> None:
    """Of eight ways that each add more than a quicker one, four by the hour are told, and the best in all."""
    book, part = many_ways(9)
    described = describe(Grader(book), part)
    prices = price_list(book, {f"g{n}": {None: f"{n}.00"} for n in range(9)})
    line = value(
        [ValuedPart("part", 1, Decimal(1000), (1000, 1), "g0", described)], Grader(book), prices, Terms()
    ).lines[0]
    found = [each for each in line.raises if isinstance(each, Worthwhile)]
    assert [each.route.grade for each in found] == ["g1", "g2", "g3", "g4", "g8"]
    assert [each.per_hour for each in found] == [6000, 3000, 2000, 1500, 750]
    assert [each.best_in_all for each in found] == [False, False, False, False, True]
    assert [each.best_by_the_hour for each in found] == [True, False, False, False, False]


def test_where_not_all_orders_can_be_tried_that_is_said() -> None:
    """Twelve preparations that can be done in any order have too many orders: the shorter ones are told, and
    none is said to be best.
    """
    flags = [attribute(f"a{n}", Kind.YES_NO) for n in range(12)]
    rules: list[tuple[When, str]] = [
        ((Condition("a0", (True,)),), "g0"),
        ((Condition("a0", (False,)),), "g1"),
    ]
    work = {
        flag.name: Preparation(
            id=flag.name,
            name="Take it off",
            when=(Condition(flag.name, (True,)),),
            changes={flag.name: False},
            minutes=Decimal(1),
            per="piece",
            how="-",
            sheds=(Shed("g1", Decimal(n + 1) / 100),),
        )
        for n, flag in enumerate(flags)
    }
    book = replace(rulebook(flags, rules), preparations=work)
    found = routes(Grader(book), {flag.name: True for flag in flags}, "g0")
    assert not found.whole
    lump = Lump(Decimal(1000), (1000, 1), 1)
    prices = price_list(book, {"g0": {None: "1.00"}, "g1": {None: "2.00"}})
    told = worthwhile(found, prices, lambda grade: Decimal(0), now=(100, 1), lump=lump)
    assert told
    assert not any(each.best_by_the_hour or each.best_in_all for each in told)
    assert {len(route.steps) for route in found.routes} >= {1, 2}
    few = {flag.name: n < 3 for n, flag in enumerate(flags)}
    assert routes(Grader(book), few, "g0").whole


CHAINS: tuple[dict[str, Any], ...] = (
    {"assembly": "geared-motor", "winding_metal": "copper"},
    {"form": "cable", "metal": "copper", "cable_kind": "cord", "plug_attached": True, "copper_share": "55 %"},
    {"metal": "copper", "form": "tube", "attached": "brass-or-copper", "surface": "soldered"},
)
"""Parts to which one preparation can be done after another."""


def workable(book: Rulebook, grader: Grader, chance: Random) -> Observed:
    """A worked example, changed so that one or two preparations can be done to it."""
    if chance.random() < 0.2:
        return read_observations(book.attributes, chance.choice(CHAINS))
    part: dict[str, Value] = dict(chance.choice(book.examples).part)
    for preparation in chance.sample(list(book.preparations.values()), chance.choice([0, 1, 1, 2])):
        for condition in preparation.when:
            cells = grader.index.axes[condition.attribute].cells
            part[condition.attribute] = chance.choice([cell for cell in cells if condition.holds(cell)])
    return part


@pytest.mark.parametrize(
    "version", ["2014.1", "2018.1", "2026.3", pytest.param("2027.4", marks=pytest.mark.campaign)]
)
def test_shipped_rulebooks_are_as_every_sequence_says(version: str) -> None:
    """Over the worked examples, and what preparations can be done to: what is told is what none beats."""
    book = read_yaml(PUBLISHED / f"{version}.yaml")
    grader = Grader(book)
    chance = Random(7)
    found = []
    while len(found) < 250:
        part = workable(book, grader, chance)
        grade = by_grader(grader)(part)
        if grade is None or grade == "!":
            continue
        prices = posted(chance, list(book.grades))
        prices[grade] = {None: chance.choice(["-0.40", "0.01", "0.30"])}
        beside = {each: Decimal(chance.choice(WEIGHTS)) for each in chance.sample(list(book.grades), 12)}
        grams, pieces = Decimal(chance.choice(WEIGHTS)), chance.randint(1, 3)
        found.append(check(book, part, by_grader(grader), prices, grams, pieces, beside, grader))
    assert sum(bool(told) for told in found) > 50
    assert sum(any(len(ids) >= 2 for ids in told) for told in found) > 10
