"""gradewright-client regions, yards, attributes and grades: what there is."""

from __future__ import annotations

import json

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk.testing import FakeGradewright, samples


def words(text: str) -> str:
    return " ".join(text.split())


REFUSED = [
    {"grade": "boards-low", "own": True, "by": "Low Quay", "from": "2026-01-01"},
    {"grade": "tin", "own": False, "by": "Kelder Bay", "from": "2026-02-01"},
]


def test_regions_and_yards(fake: FakeGradewright, run: Run) -> None:
    """Regions and yards are listed, and said to be none where there are none."""
    fake.answer("GET", "/v1/regions", {"regions": [samples.region()]})
    fake.answer("GET", "/v1/yards", {"yards": [samples.yard(refuses=["boards-low"], not_taken=REFUSED)]})
    assert "XO-KEL Kelder Bay XO USD lb" in words(run("regions").stdout)
    assert "low-quay Low Quay XO-KEL USD lb boards-low, tin (none in Kelder Bay)" in words(
        run("yards", "--region", "XO-KEL").stdout
    )
    assert fake.requests[-1].query == {"region": "XO-KEL"}
    assert json.loads(run("regions", "--json").stdout) == {"regions": [samples.region()]}
    assert json.loads(run("yards", "--json").stdout)["yards"][0]["labels"] == samples.yard()["labels"]
    fake.answer("GET", "/v1/regions", {"regions": []})
    assert "no regions yet" in run("regions").stdout


def test_rulebooks(fake: FakeGradewright, run: Run) -> None:
    """Versions are listed with when they are in force, which draft each comes from, and who approved it."""
    loaded = {
        "version": "2018.1",
        "effective_from": "2018-02-01",
        "in_force_until": "2027-08-31",
        "state": "in-force",
        "title": "As it was",
        "sha256": samples.SHA,
    }
    approved = {"version": "2027.4", "effective_from": "2027-09-01", "in_force_until": None}
    approved |= {"state": "to-come", "draft": "d-7", "approved_by": "rail"}
    fake.answer("GET", "/v1/rulebooks", {"rulebooks": [loaded, {**loaded, **approved}]})
    shown = words(run("rulebooks", columns=120).stdout)
    assert "2018.1 2018-02-01 2027-08-31 in force (loaded) - As it was" in shown
    assert "2027.4 2027-09-01 - to come d-7 rail As it was" in shown
    over = {**loaded, "in_force_until": "2018-01-31", "state": "superseded"}  # on its own day another began
    fake.answer("GET", "/v1/rulebooks", {"rulebooks": [over, {**loaded, **approved}]})
    assert "2018.1 2018-02-01 - never in force (loaded)" in words(run("rulebooks", columns=120).stdout)
    replaced = {**over, "replaced_by": "2027.4"}
    fake.answer("GET", "/v1/rulebooks", {"rulebooks": [replaced, {**loaded, **approved}]})
    assert "2018.1 2018-02-01 - never: 2027.4 instead (loaded)" in words(run("rulebooks", columns=120).stdout)
    found = json.loads(run("rulebooks", "--json").stdout)["rulebooks"]
    assert [(one["draft"], one["approved_by"]) for one in found] == [(None, None), ("d-7", "rail")]


@pytest.mark.parametrize(("columns", "below"), [(120, False), (80, True)])
def test_titles_of_rulebooks_are_whole(fake: FakeGradewright, run: Run, columns: int, below: bool) -> None:
    """A title has its row, and a line below it where the terminal is too narrow for both; none is chopped."""
    title = "Grades for things taken apart, as of 1 January 2027"
    one = {"version": "2027.1", "effective_from": "2027-01-01", "in_force_until": None, "state": "to-come"}
    listed = {**one, "title": title, "sha256": samples.SHA, "draft": "d-7", "approved_by": "rail"}
    fake.answer("GET", "/v1/rulebooks", {"rulebooks": [listed, {**listed, "version": "2027.2"}]})
    lines = [line.rstrip() for line in run("rulebooks", columns=columns).stdout.splitlines()]
    told = [line for line in lines if title in line]
    assert len(told) == 2
    assert all((line == f"  {title}") is below for line in told)
    assert max(map(len, lines)) <= columns
    assert any("2027.2" in line and "rail" in line for line in lines)


def test_attributes(run: Run) -> None:
    """The attributes are listed with what they take: the columns of a file."""
    shown = words(run("attributes", columns=120).stdout)
    assert "metal What metal is it? copper, steel" in shown
    assert "sticks_to_magnet Does a magnet stick? yes or no" in shown
    assert "thickness How thick is it? 6.35 mm, 1/4 in" in shown
    assert "made_year When was it made? a year" in shown
    found = json.loads(run("attributes", "--json").stdout)["attributes"]
    assert found["thickness"]["kind"] == "length"


def test_grades(run: Run) -> None:
    """The grades are listed with name, family and aliases: what a file may have in its grade column."""
    shown = words(run("grades").stdout)
    assert "Grade Name Family Aliases copper-no1 Copper No. 1 Copper No. 1" in shown
    assert "light-iron Light iron Ferrous shred" in shown
    found = json.loads(run("grades", "--json").stdout)["grades"]
    assert found["copper-no2"]["aliases"] == ["No. 2"]
    assert list(found) == ["copper-no1", "copper-no2", "light-iron"]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        (["COPPER"], ["copper-no1", "copper-no2"]),
        (["copper", "no. 2"], ["copper-no2"]),
        (["shred"], ["light-iron"]),
        (["ferrous"], ["light-iron"]),
        (["copper", "iron"], []),
    ],
)
def test_grades_with_words(run: Run, asked: list[str], found: list[str]) -> None:
    """Words leave the grades that have all of them, in slug, name, family or alias; if none has, it says
    so.
    """
    assert list(json.loads(run("grades", *asked, "--json").stdout)["grades"]) == found
    shown = run("grades", *asked).stdout
    assert all(slug in shown for slug in found)
    assert ("No grade" in shown) is (not found)


def test_grades_of_a_day(fake: FakeGradewright, run: Run) -> None:
    """With --on the grades are those of the rulebook of that day."""
    run("grades", "--on", "2017-01-01")
    assert fake.requests[-1].query == {"on": "2017-01-01"}
