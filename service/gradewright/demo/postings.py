"""What the members post: nine months of visits, counted back from a day, always the same ones."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from gradewright.core.decimals import plain
from gradewright.core.units import MASS_UNITS, mass_unit
from gradewright.demo.scenario import Grade, Habit, Scenario, Yard

CURRENCY = "USD"
WEEK = 7
INDEX_STEP = Decimal("0.000001")


@dataclass(frozen=True, slots=True)
class Planned:
    """One posting: who sends it, the body as the interface takes it, and whether it is to be refused."""

    member: str
    observed_on: date
    body: dict[str, Any]
    refused: bool = False


def planned(scenario: Scenario, today: date) -> dict[str, list[Planned]]:
    """Every member's postings, the earliest first."""
    indices = {name: _index(scenario, name) for name in scenario.markets}
    plan: dict[str, list[Planned]] = {}
    for member, habits in scenario.members.items():
        found = [
            _visit(scenario, indices, member, habit, number, today)
            for habit in habits
            for number in range((scenario.days - habit.last) // habit.every + 1)
        ]
        plan[member] = sorted(found, key=lambda one: (one.observed_on, one.body["yard"]))
    refused = scenario.refused
    on = today - timedelta(days=refused.days_ago)
    at = next(n for n, one in enumerate(plan[refused.member]) if one.observed_on > on)
    plan[refused.member][at:at] = _per_ton(scenario, indices, on)
    return plan


def quoted(scenario: Scenario, slug: str, today: date) -> dict[date, Decimal]:
    """A benchmark's values, one for each week from its first day on, ascending."""
    benchmark = scenario.benchmarks[slug]
    step = Decimal(1).scaleb(benchmark.today.as_tuple().exponent)  # type: ignore[arg-type]
    values = {
        today - timedelta(days=WEEK * (number + 1) - 1): (benchmark.today * index).quantize(step)
        for number, index in enumerate(_index(scenario, benchmark.market))
    }
    return dict(sorted(values.items()))


def _index(scenario: Scenario, name: str) -> list[Decimal]:
    """A market week by week, counted back from today, which is 1."""
    market = scenario.markets[name]
    chance = _chance(scenario, "market", name)
    weeks = scenario.days // WEEK
    index = [Decimal(1)]
    for _ in range(weeks):
        moved = market.drift / weeks + market.swing * (2 * _share(chance) - 1)
        index.append((index[-1] / (1 + moved)).quantize(INDEX_STEP))
    return index


def _visit(
    scenario: Scenario,
    indices: dict[str, list[Decimal]],
    member: str,
    habit: Habit,
    number: int,
    today: date,
) -> Planned:
    """A member's visit to a yard; number 0 is the last one."""
    ago = habit.last + number * habit.every
    yard = scenario.yards[habit.yard]
    careless = scenario.careless
    slips = (member, yard.slug) == (careless.member, careless.yard) and number in careless.visits
    prices: list[dict[str, str]] = []
    for grade in _noted(scenario, member, habit, number, also=careless.grade if slips else None):
        index = indices[grade.market][ago // WEEK]
        lines = list(_lines(yard, grade, index, habit.evidence))
        if slips and grade.slug == careless.grade:
            lines = [{**line, "per": careless.per} for line in lines]
        prices += lines
    return _posting(member, yard, today - timedelta(days=ago), habit.evidence, prices)


def _noted(scenario: Scenario, member: str, habit: Habit, number: int, also: str | None) -> Sequence[Grade]:
    """The grades whose prices a member notes on a visit, in the order of the scenario."""
    here = [grade for grade in scenario.grades.values() if habit.yard in grade.at]
    chance = _chance(scenario, member, habit.yard, str(number))
    drawn = sorted(here, key=lambda grade: (grade.slug != also, _share(chance)))
    chosen = {grade.slug for grade in drawn[: habit.notes]}
    return [grade for grade in here if grade.slug in chosen]


def _lines(yard: Yard, grade: Grade, index: Decimal, evidence: str) -> Iterator[dict[str, str]]:
    """What is written down for a grade: the yard's own word for it if it has one, its price, its unit."""
    unit = mass_unit(yard.per.get(grade.market, yard.unit))
    pays = yard.pays.get(grade.market, Decimal(1))
    amount = grade.guide * index * pays * unit.grams / MASS_UNITS["lb"].grams
    label = yard.label_for(grade.slug)
    # Who is told a price hears the trade's word and a round figure.
    named = {"label": label} if label and evidence != "told" else {"grade": grade.slug}
    rest = {"currency": CURRENCY, "per": unit.symbol}
    yield {**named, "price": _rounded(amount, evidence), **rest}
    if yard.better and grade.slug in yard.better.grades:
        more = _rounded(amount * yard.better.times, evidence)
        yield {**named, "price": more, **rest, "from_weight": yard.better.from_weight}


def _rounded(amount: Decimal, evidence: str) -> str:
    """As a yard writes it: half cents for little, cents, and whole dollars for tons."""
    size = abs(amount)
    step = Decimal("0.005") if size < Decimal("0.2") else Decimal("0.01") if size < 50 else Decimal(1)
    if evidence == "told" and size >= 1:
        step *= 5
    return plain((amount / step).quantize(Decimal(1)) * step)


def _per_ton(scenario: Scenario, indices: dict[str, list[Decimal]], on: date) -> list[Planned]:
    """The lot quoted by a ton that nobody named: as it is refused, and as it is posted then."""
    said = scenario.refused
    yard, grade = scenario.yards[said.yard], scenario.grades[said.grade]
    index = indices[grade.market][said.days_ago // WEEK]
    [line] = _lines(yard, grade, index, said.evidence)
    return [
        _posting(said.member, yard, on, said.evidence, [{**line, "per": said.per}], refused=True),
        _posting(said.member, yard, on, said.evidence, [{**line, "per": said.meant}]),
    ]


def _posting(
    member: str, yard: Yard, on: date, evidence: str, prices: list[dict[str, str]], *, refused: bool = False
) -> Planned:
    body = {"yard": yard.slug, "observed_on": on.isoformat(), "evidence": evidence, "prices": prices}
    return Planned(member, on, body, refused)


def _chance(scenario: Scenario, *what: str) -> random.Random:
    """Chance of its own for one thing, so that a change to one changes no other."""
    return random.Random(" ".join([str(scenario.seed), *what]))  # noqa: S311 - figures, not secrets


def _share(chance: random.Random) -> Decimal:
    """Between 0 and 1. `random()` alone is promised to give the same under every Python."""
    return Decimal(int(chance.random() * 1000)) / 1000
