"""The invented district on paper: what is planned can be posted, and means what it says."""

from __future__ import annotations

import csv
from collections import Counter
from datetime import date, timedelta
from decimal import Decimal

import pytest

from gradewright.core.errors import UnitError
from gradewright.core.grading import Grader
from gradewright.core.house_limits import HouseLimit, decided_by, under
from gradewright.core.observations import read_observations
from gradewright.core.rulebook import Rulebook
from gradewright.core.units import MASS_UNITS, mass_unit
from gradewright.demo.database import PUBLISHED
from gradewright.demo.postings import planned
from gradewright.demo.scenario import TREADMILL, read_scenario
from gradewright.rulebooks.document import read_yaml

SCENARIO = read_scenario()
TODAY = date(2026, 5, 4)
ALL = [one for ones in planned(SCENARIO, TODAY).values() for one in ones]


@pytest.fixture(scope="module")
def rulebook() -> Rulebook:
    """The newest rulebook that ships."""
    return read_yaml(PUBLISHED / "2018.1.yaml")


def grade_of(yard: str, price: dict[str, str]) -> str:
    """The grade of a planned price, by its slug or by the yard's label."""
    return price.get("grade") or SCENARIO.yards[yard].labels[price["label"]]


def test_grades_labels_and_refusals_are_the_rulebooks(rulebook: Rulebook) -> None:
    """Every grade that is priced, meant by a label or not taken is one of the rulebook's."""
    named = {
        *SCENARIO.grades,
        *(grade for yard in SCENARIO.yards.values() for grade in (*yard.labels.values(), *yard.refuses)),
    }
    assert named <= set(rulebook.grades)


def test_a_yard_has_a_limit_of_its_own_that_tells(rulebook: Rulebook) -> None:
    """Cinder Lane takes as heavy what is thinner than the rulebook's heavy steel, and a part shows it."""
    said = SCENARIO.yards["cinder-lane"].house_rules
    assert said is not None
    (limit,) = said.limits
    house = HouseLimit(limit["limit"], limit["value"], "cinder-lane", "at Cinder Lane", TODAY, limit["says"])
    here, own = under(rulebook, [house])
    with TREADMILL.open(encoding="utf-8") as file:
        rows = {row["name"]: row for row in csv.DictReader(file)}
    described = {name: rows["rollers"][name] for name in ("form", "metal", "thickness")}
    part = read_observations(rulebook.attributes, described)
    grades = [Grader(book).grade(part) for book in (rulebook, here)]
    assert [getattr(outcome, "grade", None) for outcome in grades] == ["steel-heavy-no2", "steel-heavy"]
    assert decided_by(Grader(rulebook), Grader(here), own, part) == (own["heavy_steel_thickness"],)


def test_yards_post_what_they_take() -> None:
    """A grade is posted at yards that there are, and not at one that does not take it."""
    for grade in SCENARIO.grades.values():
        assert set(grade.at) <= set(SCENARIO.yards), grade.slug
        assert not [slug for slug in grade.at if grade.slug in SCENARIO.yards[slug].refuses], grade.slug
    for yard in SCENARIO.yards.values():
        priced_here = {grade.slug for grade in SCENARIO.grades.values() if yard.slug in grade.at}
        assert set(yard.labels.values()) <= priced_here, yard.slug


def test_enough_is_posted() -> None:
    """Eight members post a few hundred times over nine months, some thousands of prices, at every yard."""
    stored = [one for one in ALL if not one.refused]
    assert len({one.member for one in stored}) == 8
    assert 200 <= len(stored) <= 350
    assert 2000 <= sum(len(one.body["prices"]) for one in stored) <= 4000
    assert {one.body["yard"] for one in stored} == set(SCENARIO.yards)
    assert {one.body["evidence"] for one in stored} == {"ticket", "written-list", "sign", "told"}
    days = [one.observed_on for one in stored]
    assert TODAY - timedelta(days=273) <= min(days) <= TODAY - timedelta(days=265)
    assert TODAY - timedelta(days=3) <= max(days) <= TODAY


def test_nobody_is_at_a_yard_twice_on_a_day() -> None:
    """A member posts once a day from a yard, but for the price that was refused and posted again."""
    twice = [
        key
        for key, times in Counter((one.member, one.body["yard"], one.observed_on) for one in ALL).items()
        if times > 1
    ]
    again = SCENARIO.refused
    assert twice == [(again.member, again.yard, TODAY - timedelta(days=again.days_ago))]


def test_the_plan_is_the_same_every_time() -> None:
    """The same day gives the same plan; a later day the same prices, as much later."""
    later = timedelta(days=401)
    again, then = planned(SCENARIO, TODAY), planned(SCENARIO, TODAY + later)
    assert [one for ones in again.values() for one in ones] == ALL
    for now, one in zip(ALL, (one for ones in then.values() for one in ones), strict=True):
        assert one.observed_on == now.observed_on + later
        assert one.body["observed_on"] == one.observed_on.isoformat()
        assert one.body["prices"] == now.body["prices"]


def test_every_unit_is_one_but_the_bare_ton() -> None:
    """Each price is per a unit of mass; the one that is planned to be refused is per a ton unnamed."""
    for one in ALL:
        for price in one.body["prices"]:
            if one.refused:
                with pytest.raises(UnitError):
                    mass_unit(price["per"])
            else:
                assert mass_unit(price["per"]).symbol in MASS_UNITS


def test_prices_stay_near_the_guide() -> None:
    """Per pound no price is off its guide by more than two fifths, but for the careless ones."""
    careless = SCENARIO.careless
    slips = 0
    for one in ALL:
        for price in one.body["prices"]:
            if one.refused:
                continue
            grade = SCENARIO.grades[grade_of(one.body["yard"], price)]
            pounds = mass_unit(price["per"]).grams / MASS_UNITS["lb"].grams
            ratio = Decimal(price["price"]) / pounds / grade.guide
            if Decimal("0.6") <= ratio <= Decimal("1.4"):
                continue
            assert (one.member, one.body["yard"], grade.slug, price["per"]) == (
                careless.member,
                careless.yard,
                careless.grade,
                careless.per,
            )
            assert 2 < ratio < 3  # a kilogram is 2.2 pounds
            slips += "from_weight" not in price
    assert slips == len(careless.visits)


def test_prices_drift() -> None:
    """Copper is dearer at Low Quay than nine months ago, and steel cheaper, by some percent."""

    def seen(grade: str) -> list[Decimal]:
        found = [
            (one.observed_on, Decimal(price["price"]))
            for one in ALL
            for price in one.body["prices"]
            if one.body["yard"] == "low-quay" and grade_of("low-quay", price) == grade
        ]
        return [amount for _, amount in sorted(found)]

    copper, steel = seen("copper-no1"), seen("light-iron")
    assert Decimal("1.03") < copper[-1] / copper[0] < Decimal("1.25")
    assert Decimal("0.75") < steel[-1] / steel[0] < Decimal("0.97")
    assert len(set(copper)) > 10


def test_some_grades_cost_something() -> None:
    """Picture tubes, flat panels and residue are charges: their prices are negative."""
    charges = {
        grade_of(one.body["yard"], price)
        for one in ALL
        for price in one.body["prices"]
        if price["price"].startswith("-")
    }
    assert {"picture-tubes", "flat-panels", "residue", "appliances-undrained"} == charges
