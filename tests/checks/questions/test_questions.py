"""How many questions it takes to the grade, and what asking and stopping cost: against the document's order,
earlier methods, and the optimum.

Some of it runs with the tests, on counts of questions alone; all of it, with its tables, by

    pytest tests/checks/questions -m campaign -s

which takes three minutes and prints what stands in tests/checks/questions/FIGURES.md.
"""

from __future__ import annotations

import random
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cache
from statistics import fmean

import pytest
from tests.checks.questions.books import cut_outs, latest, random_books, with_equal_tests
from tests.checks.questions.dialogues import (
    Ask,
    before,
    guide_prices,
    in_order,
    least_work,
    mean,
    minutes_of,
    now,
    paid,
    paid_before,
    play,
    unknown,
    whole,
)
from tests.checks.questions.optimum import Worlds
from tests.core.rulebooks import attribute, rulebook

from gradewright.core.alike import alike
from gradewright.core.at_stake import usual_hour
from gradewright.core.belief import Belief, Case
from gradewright.core.grading import Grader, Undecided
from gradewright.core.observations import Attribute, Kind, Observed
from gradewright.core.prospects import EACH, Prospects
from gradewright.core.questions import Questioner
from gradewright.core.rulebook import Condition
from gradewright.demo.postings import planned
from gradewright.demo.scenario import read_scenario

OFF_THE_OPTIMUM = 1.15
MOST_STATES = 300_000
FEW_STATES = 20_000


@cache
def grader() -> Grader:
    """The newest version that ships."""
    return Grader(latest())


def parts() -> list[Observed]:
    """The worked examples that end in a grade, as they are told."""
    return [example.part for example in latest().examples if example.grade is not None]


def asks_of(of: Grader, number: int) -> Ask:
    """How to ask without prices: in the document's order, as before, and as now."""
    return (in_order(of), before(of, {}), now(of, {}, stops=False))[number]


def test_fewer_questions_than_in_order_or_before() -> None:
    """Over the examples that ship it asks a tenth fewer questions than the document's order, and before."""
    found = [mean(asks_of(grader(), number), grader(), parts()[::2]) for number in range(3)]
    assert not any(one.undecided for one in found)
    in_order_, before_, now_ = (one.questions for one in found)
    assert now_ < 0.9 * min(before_, in_order_)


def test_fewer_questions_about_parts_that_were_never_seen() -> None:
    """With half of the examples taken out of the rulebook it asks fewer questions about these than before."""
    book = latest()
    seen = Grader(replace(book, examples=book.examples[::2]))
    unseen = [example.part for example in book.examples[1::2] if example.grade is not None]
    questions = [mean(asks_of(seen, number), seen, unseen).questions for number in (1, 2)]
    assert questions[1] < questions[0]


def test_prices_that_are_alike_save_minutes() -> None:
    """At the district's guide prices it stops only where what is left pays alike, and saves minutes by it."""
    worth = guide_prices(latest())
    ways = (now(grader(), worth, stops=stops) for stops in (False, True))
    on, stopping = (mean(way, grader(), parts()[::2]) for way in ways)
    assert (on.undecided, stopping.undecided > 0) == (0, True)
    assert stopping.minutes < on.minutes
    for part in parts()[::2]:
        questioner, observed = Questioner(grader(), worth), {}
        while asked := questioner.next_test(grader().read(observed), set(latest().attributes) - set(part)):
            observed[asked.name] = part[asked.name]
        found = questioner.not_worth(grader().read(observed))
        if found is not None:
            candidates = getattr(grader().grade(observed), "candidates", ())
            assert alike(candidates, worth, Decimal("0.05")) is not None


def test_no_money_is_left_for_want_of_a_test_that_no_rule_asks_for() -> None:
    """Who can only tell what is under the lacquer of ten kilograms of windings is asked for that, though
    rules ask for the metal: hours hang on it. So it is with all examples that tell one or two things."""
    worth, kilograms = guide_prices(latest()), Decimal(10)
    hour = usual_hour(worth)
    assert hour is not None
    ask, pays = paid(grader(), worth, kilograms, hour), minutes_of(worth, kilograms, hour)
    few = [example for example in latest().examples if example.grade is not None and len(example.part) < 3]
    assert {"form": "winding", "winding_metal": "copper"} in [example.part for example in few]
    assert max(unknown(ask, grader(), example, pays) for example in few) < 20


@cache
def small_books(random_ones: int, step: int, most: int) -> list[tuple[str, Grader, Worlds]]:
    """Cut-outs of the newest version and random rulebooks, of three attributes or more."""
    return list(_small_books(random_ones, step, most))


def _small_books(random_ones: int, step: int, most: int) -> Iterator[tuple[str, Grader, Worlds]]:
    for name, book in (*list(cut_outs(grader()))[::step], *random_books(random_ones, seed=1)):
        for equal in (True, False):
            small = Grader(with_equal_tests(book) if equal else book)
            worlds = Worlds(small, float(EACH))
            if len(worlds.sizes) > 2 and worlds.states <= most and worlds.least() > 0:
                kind = ("questions" if equal else "effort", "random" if "random" in name else "cut out")
                yield ", ".join(kind), small, worlds


def against_the_optimum(random_ones: int, step: int, most: int) -> dict[str, list[list[float]]]:
    """By kind: for each rulebook what the three ways of asking need, as multiples of the least possible."""
    found: dict[str, list[list[float]]] = {}
    for kind, small, worlds in small_books(random_ones, step, most):
        ways = [asks_of(small, number) for number in range(3)]
        costs = [worlds.expected(lambda part, ask=ask, of=small: ask(of.read(part), ())) for ask in ways]
        found.setdefault(kind, []).append([cost / worlds.least() for cost in costs])
    return found


def test_near_the_optimum() -> None:
    """On cut-outs and random rulebooks it needs at most 15 % more questions, and effort, than the optimum."""
    for kind, ratios in against_the_optimum(30, 4, FEW_STATES).items():
        assert len(ratios) > 5, kind
        for each in ratios:
            assert min(each) > 1 - 1e-9, "nothing can do better than the optimum"
        assert fmean(each[2] for each in ratios) <= OFF_THE_OPTIMUM, kind


def money_against_the_optimum(random_ones: int, step: int, most: int) -> dict[str, list[list[float]]]:
    """The same of minutes and money together: to the grade with the least work, and as who says what an hour
    is worth is asked; of three weights, at guide prices, or at random ones in random rulebooks.
    """
    found: dict[str, list[list[float]]] = {}
    guide, chance = guide_prices(latest()), random.Random(2)
    for kind, small, worlds in small_books(random_ones, step, most):
        if kind.startswith("effort"):
            worth = guide
            if kind.endswith("random"):
                worth = {grade: Decimal(chance.randint(1, 400)) / 100 for grade in small.rulebook.grades}
            hour = usual_hour(worth)
            assert hour is not None
            for kilograms in map(Decimal, ("0.1", "1", "10")):
                priced = worlds.priced(minutes_of(worth, kilograms, hour))
                ways = [least_work(small, worth), paid(small, worth, kilograms, hour)]
                costs = [
                    priced.expected(lambda part, ask=ask, of=small: ask(of.read(part), ())) for ask in ways
                ]
                least = priced.least()
                if least > 0:
                    name = f"{kind.removeprefix('effort, ')}, {kilograms} kg"
                    found.setdefault(name, []).append([cost / least for cost in costs])
    return found


def test_money_and_minutes_near_the_optimum() -> None:
    """Where an hour has a price, minutes and the money that is left unknown come to at most 15 % more than
    the optimum of both, and to less than the least work to the grade.
    """
    for kind, ratios in money_against_the_optimum(30, 4, FEW_STATES).items():
        assert len(ratios) > 5, kind
        for each in ratios:
            assert min(each) > 1 - 1e-6, "nothing can do better than the optimum"
        to_the_grade, weighed = (fmean(each[number] for each in ratios) for number in range(2))
        assert weighed <= OFF_THE_OPTIMUM, kind
        assert weighed < to_the_grade, kind


def test_prices_take_no_more_questions_to_the_grade() -> None:
    """At guide prices, where nobody says what an hour is worth, it takes no more questions to the grade, and
    no more minutes, than by method 3, and comes to it as well.
    """
    worth = guide_prices(latest())
    before_, now_ = (mean(way(grader(), worth), grader(), parts()[::2]) for way in (least_work, to_the_grade))
    assert (before_.undecided, now_.undecided) == (0, 0)
    assert now_.questions <= before_.questions
    assert now_.minutes <= before_.minutes


def to_the_grade(of: Grader, worth: dict[str, Decimal]) -> Ask:
    """As now, however alike the prices."""
    return now(of, worth, stops=False)


def test_the_optimum_of_money_worked_out_by_hand() -> None:
    """Three grades as common, at a minute a look: "a" tells ten minutes' worth from nothing and comes first;
    what then lies half a minute apart is not worth another look, and what lies three apart is.
    """
    looks = [attribute(name, Kind.YES_NO) for name in ("a", "b")]

    def when(**seen: bool) -> tuple[Condition, ...]:
        return tuple(Condition(name, (value,)) for name, value in seen.items())

    rules = [(when(a=True), "dear"), (when(b=True), "cheap"), (when(), "cheaper")]
    of = Grader(rulebook(looks, rules))
    worlds = Worlds(of, 0.0, {"dear": 10.0, "cheap": 0.5, "cheaper": 0.0})
    # A third of the parts is of each rule: a look, and a quarter of a minute lost on two thirds of the parts.
    assert worlds.least() == pytest.approx(1 + 0.25 * 2 / 3)
    to_the_end = worlds.priced({"dear": 10.0, "cheap": 3.0, "cheaper": 0.0})
    assert to_the_end.least() == pytest.approx(1 + 2 / 3)
    assert worlds.expected(lambda part: None) == pytest.approx(10.5 / 3)


def test_the_optimum_of_a_rulebook_worked_out_by_hand() -> None:
    """Three yes-no looks at a minute each: the optimum asks what splits the parts, then one of two looks."""
    looks = [attribute(name, Kind.YES_NO) for name in ("a", "b", "c")]

    def when(**seen: bool) -> tuple[Condition, ...]:
        return tuple(Condition(name, (value,)) for name, value in seen.items())

    rules = [(when(a=True, b=True), "x"), (when(a=False, c=True), "y"), ((), "z")]
    of = Grader(rulebook(looks, rules))
    worlds = Worlds(of, 0.0)
    assert worlds.least() == pytest.approx(2)

    def badly(part: Observed) -> Attribute | None:
        return next(of.rulebook.attributes[name] for name in ("b", "c", "a") if name not in part)

    # b, c and then a takes three looks but where b and c are both no: that is z, a third of all parts by the
    # rules, and two of the four parts of z: one part in six is done after two looks.
    assert worlds.expected(badly) == pytest.approx(3 - 1 / 6)


@pytest.mark.campaign
def test_table_of_dialogues() -> None:
    """Prints questions and minutes over the examples that ship, as they are told and with all known."""
    worth = guide_prices(latest())
    chance = random.Random(1)
    known = [whole(grader(), part, chance) for part in parts()]
    print(f"\n{latest().version}: {len(parts())} examples that end in a grade")
    for what, lot in (("as told", parts()), ("all known", known)):
        for name, ask in (
            ("in the document's order", in_order(grader())),
            ("before, without prices", before(grader(), {})),
            ("before, at guide prices", before(grader(), worth)),
            ("now, without prices", now(grader(), {}, stops=False)),
            ("method 3, at guide prices", least_work(grader(), worth)),
            ("now, at guide prices, to the grade", now(grader(), worth, stops=False)),
            ("now, at guide prices, as far as it is worth it", now(grader(), worth, stops=True)),
        ):
            found = mean(ask, grader(), lot)
            print(f"| {what} | {name} | {found.questions:.2f} | {found.minutes:.2f} | {found.undecided} |")
    most = max(play(now(grader(), {}, stops=False), grader(), part).questions for part in known)
    print(f"most questions of one part, now: {most}")


@pytest.mark.campaign
def test_table_of_money() -> None:
    """Prints questions, minutes and the money that is left unknown, over the examples that ship, where an
    hour is worth what it counts as at guide prices, for three weights; in minutes of work, and both together.
    """
    worth = guide_prices(latest())
    hour = usual_hour(worth)
    assert hour is not None
    print(f"\nan hour at {float(hour):.2f}")
    for kilograms in map(Decimal, ("0.1", "1", "10")):
        pays = minutes_of(worth, kilograms, hour)
        for name, ask in (
            ("to the grade, method 3", least_work(grader(), worth)),
            ("method 3, at that rate", paid_before(grader(), worth, kilograms, hour)),
            ("now, at that rate", paid(grader(), worth, kilograms, hour)),
        ):
            found = mean(ask, grader(), parts())
            left = fmean(unknown(ask, grader(), e, pays) for e in latest().examples if e.grade is not None)
            told = f"{found.questions:.2f} | {found.minutes:.2f} | {left:.2f}"
            both = found.minutes + float(EACH) * found.questions + left
            print(f"| {kilograms} kg | {name} | {told} | {both:.2f} | {found.undecided} |")


@pytest.mark.campaign
def test_table_of_unseen_parts() -> None:
    """Prints the same for examples that the rulebook was not told of: five times, a fifth taken out."""
    book = latest()
    for name, number in (("in the document's order", 0), ("before", 1), ("now", 2)):
        found = []
        for fold in range(5):
            kept = tuple(example for n, example in enumerate(book.examples) if n % 5 != fold)
            seen = Grader(replace(book, examples=kept))
            unseen = [e.part for e in book.examples[fold::5] if e.grade is not None]
            found.append(mean(asks_of(seen, number), seen, unseen))
        questions, minutes = (fmean(getattr(one, what) for one in found) for what in ("questions", "minutes"))
        print(f"| {name} | {questions:.2f} | {minutes:.2f} |")
    none = Grader(replace(book, examples=()))
    left = mean(asks_of(none, 2), none, parts())
    print(f"| now, of a rulebook without examples | {left.questions:.2f} | {left.minutes:.2f} |")


@pytest.mark.campaign
def test_table_of_counts() -> None:
    """Prints what it would gain to know how often each grade is posted: in the demo's district, and where few
    grades make up most; each example counted as often as its grade is posted.
    """
    scenario, day, book = read_scenario(), date(2026, 5, 4), latest()
    since = day - timedelta(days=book.pricing.stale_after)
    posted = {
        (member, one.body["yard"], line["grade"])
        for member, postings in planned(scenario, day).items()
        for one in postings
        for line in one.body["prices"]
        if one.observed_on >= since and "grade" in line
    }
    district = Counter(grade for _, _, grade in posted)
    chance = random.Random(1)
    few = {grade: 60 // n for n, grade in enumerate(chance.sample(sorted(district), 20), start=1)}
    for what, counts in (("the district", district), ("few grades", few)):
        cases = [Case(e.part, counts[e.grade]) for e in book.examples if e.grade and counts.get(e.grade)]
        told = [(case.observed, case.times) for case in cases]
        knowing = Prospects(grader(), Belief(grader(), cases))
        for name, prospects in (("examples alone", grader().prospects), ("with the counts", knowing)):
            ask = Questioner(grader(), {}, prospects=prospects).next_test
            played = [(play(ask, grader(), part), times) for part, times in told]
            total = sum(times for _, times in played)
            questions = sum(one.questions * times for one, times in played) / total
            minutes = sum(float(one.minutes) * times for one, times in played) / total
            print(f"| {what} | {name} | {questions:.2f} | {minutes:.2f} |")


@pytest.mark.campaign
def test_table_of_optima() -> None:
    """Prints how far from the optimum each way of asking is, and fails where the mean is beyond 15 %."""
    for kind, ratios in money_against_the_optimum(200, 1, MOST_STATES).items():
        for number, name in enumerate(("to the grade", "now")):
            ways = [each[number] for each in ratios]
            beyond = sum(way > OFF_THE_OPTIMUM for way in ways)
            told = f"{100 * (fmean(ways) - 1):.1f} % | {100 * (max(ways) - 1):.0f} % | {beyond}"
            print(f"| {kind} | {len(ways)} | {name} | {told} |")
        assert fmean(ways) <= OFF_THE_OPTIMUM
    for kind, ratios in against_the_optimum(200, 1, MOST_STATES).items():
        means = [fmean(each[number] for each in ratios) for number in range(3)]
        worst = max(each[2] for each in ratios)
        beyond = sum(each[2] > OFF_THE_OPTIMUM for each in ratios)
        shown = " | ".join(f"{100 * (one - 1):.1f} %" for one in means)
        print(f"| {kind} | {len(ratios)} | {shown} | {100 * (worst - 1):.0f} % | {beyond} |")
        within = [
            sum(each[2] <= 1 + most for each in ratios) for most in (0.001, 0.05, 0.1, OFF_THE_OPTIMUM - 1)
        ]
        print(f"  at the optimum, within 5 %, 10 %, 15 % of it: {within}")
        assert means[2] <= OFF_THE_OPTIMUM


@pytest.mark.campaign
def test_table_of_times() -> None:
    """Prints how long the next test of an undecided part takes, as a multiple of method 1's time."""
    chance = random.Random(3)
    worth = guide_prices(latest())
    cut = [dict(chance.sample(sorted(part.items()), chance.randint(1, len(part)))) for part in parts()]
    some = [part for part in cut if isinstance(grader().grade(part), Undecided)]

    def seconds(ask: Ask, of: Grader) -> float:
        began = time.process_time()
        for part in some:
            ask(of.read(part), ())
        return time.process_time() - began

    cold = Grader(latest())
    assert cold.prospects, "what is made once for a version is not counted"
    slow = seconds(before(cold, worth), cold)
    first, again = (seconds(now(cold, worth, stops=True), cold) for _ in range(2))
    print(f"\n{len(some)} descriptions: {first / slow:.1f} times as long at first, {again / slow:.1f} again")
