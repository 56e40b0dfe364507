"""House rules: which word holds, and which of a place's limits decided about a part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from types import MappingProxyType

import pytest
from tests import samples

from gradewright.core.grading import Graded, Grader
from gradewright.core.house import HouseRules, Label, OwnLimit, Refusal, in_the_end, last_words
from gradewright.core.house_limits import HouseLimit, decided_by, measured_by, under
from gradewright.core.money import Rounding
from gradewright.core.observations import Value, read_observations
from gradewright.core.rulebook import Rulebook
from gradewright.regions.service import Region, RegionTree
from gradewright.rulebooks.document import read_yaml
from gradewright.yards.service import Atlas, Yard

PUBLISHED = "service/gradewright/rulebooks/published"

MARCH, APRIL, MAY, JUNE = (date(2026, month, 1) for month in (3, 4, 5, 6))
NAME = "heavy_steel_thickness"


def limit(given: str | None, valid_from: date, revision: int) -> OwnLimit:
    return OwnLimit(NAME, given, valid_from, None, revision)


REGIONS = RegionTree(
    MappingProxyType(
        {
            "XO": Region("XO", "Orvale", None, "USD", "lb", 1),
            "XO-KEL": Region("XO-KEL", "Kelder Bay", "XO", "USD", "lb", 1),
        }
    ),
    MappingProxyType(
        {
            "XO": HouseRules(
                (limit("5 mm", MARCH, 4),),
                (Label("Girder", "steel-heavy", MARCH, 4), Label("Tin", "light-iron", MARCH, 4)),
                (Refusal("screws", MARCH, 4), Refusal("light-iron", MARCH, 4)),
            ),
            "XO-KEL": HouseRules(
                (limit("4 mm", APRIL, 5), limit(None, JUNE, 8)),
                (Label("Girder", "light-iron", APRIL, 5),),
                (Refusal("screws", APRIL, 5, lifted=True),),
            ),
        }
    ),
)
LOW_QUAY = Yard(
    "low-quay",
    "Low Quay",
    "XO-KEL",
    "USD",
    "lb",
    Rounding.HALF_EVEN,
    None,
    labels=(Label("girder ", "steel-heavy", MAY, 6), Label("GIRDER", "steel-heavy", JUNE, 9, lifted=True)),
    refusals=(Refusal("screws", MAY, 6), Refusal("screws", JUNE, 9, lifted=True)),
    limits=(limit("3 mm", MAY, 6), limit("2 mm", MAY, 7), limit(None, JUNE, 9), limit("1 mm", APRIL, 10)),
    revision=1,
)
MAP = Atlas(REGIONS, MappingProxyType({"low-quay": LOW_QUAY}))


@pytest.mark.parametrize(
    ("on", "revision", "given", "place"),
    [
        pytest.param(date(2026, 2, 28), None, None, None, id="the day before the first word"),
        pytest.param(MARCH, 3, None, None, id="the revision before the first word"),
        pytest.param(MARCH, None, "5 mm", "XO", id="the region above, where nobody nearer speaks"),
        pytest.param(APRIL, 9, "4 mm", "XO-KEL", id="the region before the one above"),
        pytest.param(APRIL, 4, "5 mm", "XO", id="as known before the region spoke"),
        pytest.param(MAY, 6, "3 mm", "low-quay", id="the yard before its region"),
        pytest.param(MAY, 7, "2 mm", "low-quay", id="of two words for one day the later"),
        pytest.param(MAY, 5, "4 mm", "XO-KEL", id="as known before the yard spoke"),
        pytest.param(MAY, 10, "2 mm", "low-quay", id="a later day wins over a later word"),
        pytest.param(APRIL, 10, "1 mm", "low-quay", id="a word said late for an earlier day"),
        pytest.param(JUNE, 7, "2 mm", "low-quay", id="as known before it was lifted"),
        pytest.param(JUNE, 9, "5 mm", "XO", id="lifted at the yard and in its region"),
        pytest.param(date(2026, 5, 31), 9, "2 mm", "low-quay", id="the day before it is lifted"),
    ],
)
def test_a_limit_holds_by_place_day_and_revision(
    on: date, revision: int | None, given: str | None, place: str | None
) -> None:
    """The yard's own word goes before its region's, that before the one above; each from its day until
    another replaces or lifts it, as known at the revision."""
    found = MAP.limits("XO-KEL", "low-quay", on, revision)
    assert [(each.given, each.place) for each in found] == ([(given, place)] if given else [])


@pytest.mark.parametrize(
    ("on", "revision", "grade"),
    [
        pytest.param(MARCH, None, "steel-heavy", id="a label of the region above"),
        pytest.param(APRIL, None, "light-iron", id="of the region"),
        pytest.param(MAY, None, "steel-heavy", id="of the yard, however it is typed"),
        pytest.param(MAY, 5, "light-iron", id="as known before the yard spoke"),
        pytest.param(JUNE, None, None, id="no longer used at the yard, whatever the region says"),
        pytest.param(JUNE, 8, "steel-heavy", id="as known before it went out of use"),
    ],
)
def test_a_label_stands_for_a_grade_by_place_day_and_revision(
    on: date, revision: int | None, grade: str | None
) -> None:
    """Labels of regions count for every yard in them that has no word of its own."""
    assert MAP.grade_for_label("low-quay", "Girder", on, revision) == grade
    assert MAP.grade_for_label("low-quay", "tin", on, revision) == "light-iron"


@pytest.mark.parametrize(
    ("on", "revision", "refused"),
    [
        pytest.param(MARCH, None, {"screws", "light-iron"}, id="by the region above"),
        pytest.param(APRIL, None, {"light-iron"}, id="taken again in the region"),
        pytest.param(APRIL, 4, {"screws", "light-iron"}, id="as known before that"),
        pytest.param(MAY, None, {"screws", "light-iron"}, id="by the yard"),
        pytest.param(JUNE, None, {"light-iron"}, id="taken again at the yard"),
        pytest.param(JUNE, 8, {"screws", "light-iron"}, id="as known before that too"),
    ],
)
def test_a_grade_is_refused_by_place_day_and_revision(
    on: date, revision: int | None, refused: set[str]
) -> None:
    """A region's refusal counts for its yards until a nearer word takes the grade again."""
    assert MAP.refused("low-quay", on, revision) == refused


def test_who_refuses_a_grade_is_told() -> None:
    """A refusal tells whose word it is and from which day; that of a region speaks of the yards in it."""
    found = MAP.refusals("XO-KEL", "low-quay", MAY)
    assert (found["screws"].by, found["screws"].is_yard, found["screws"].since) == ("Low Quay", True, MAY)
    assert found["light-iron"].says("Light iron") == (
        "Yards in Orvale do not take Light iron. Try another region, or ask one of the yards."
    )
    assert set(MAP.refusals("XO-KEL", None, MAY)) == {"light-iron"}


def test_what_holds_in_the_end() -> None:
    """The last word is that of the latest day, even if it was said before others."""
    assert in_the_end(LOW_QUAY.limits)[NAME].revision == 9
    assert last_words(LOW_QUAY.limits, APRIL)[NAME].given == "1 mm"


BOOK = samples.rulebook()
SHIPPED = [read_yaml(path) for path in sorted((Path(__file__).parents[2] / PUBLISHED).glob("*.yaml"))]
USUAL = Grader(BOOK)


def house(given: str, name: str = NAME) -> HouseLimit:
    return HouseLimit(name, given, "low-quay", "at Low Quay", MAY)


@pytest.mark.parametrize(
    ("thickness", "grade", "told"),
    [
        pytest.param("3.174999 mm", "light-iron", True, id="below the house limit: thin by it"),
        pytest.param("3.175 mm", "steel-heavy", True, id="on the line counts as heavy"),
        pytest.param("1/8 in", "steel-heavy", True, id="on the line in inches"),
        pytest.param("6.349999 mm", "steel-heavy", True, id="below the rulebook's own"),
        pytest.param("6.35 mm", "steel-heavy", True, id="heavy either way, by the house limit"),
    ],
)
def test_steel_is_graded_by_the_limit_of_the_place(thickness: str, grade: str, told: bool) -> None:
    """Where heavy steel begins at 3.175 mm, the line itself is heavy, and what is thinner is not."""
    book, own = under(BOOK, [house("3.175 mm")])
    observed = read_observations(BOOK.attributes, {"metal": "steel", "thickness": thickness})
    outcome = Grader(book).grade(observed)
    assert isinstance(outcome, Graded)
    assert outcome.grade == grade
    assert bool(decided_by(USUAL, Grader(book), own, observed)) is told


def test_a_limit_that_was_not_asked_did_not_decide() -> None:
    """Copper is graded without a look at the thickness of steel, and nothing is told of its limit."""
    book, own = under(BOOK, [house("3.175 mm")])
    observed = read_observations(
        BOOK.attributes, {"metal": "copper", "steel_screws": True, "thickness": "4 mm"}
    )
    assert decided_by(USUAL, Grader(book), own, observed) == ()


def test_limits_that_a_version_cannot_have_leave_it_alone() -> None:
    """A limit that the version does not name, or of another kind than its value, changes nothing."""
    same, own = under(BOOK, [house("3 mm", "no_such_limit"), house("5 %")])
    assert same is BOOK
    assert own == {}


def test_a_limit_takes_its_kind_from_the_attribute_that_it_measures() -> None:
    """Every limit of the versions that ship is measured by an attribute, and reads its own value again."""
    for book in SHIPPED:
        measured = measured_by(book)
        assert set(measured) == set(book.limits)
        for name, each in book.limits.items():
            assert measured[name].read(each.given) == each.value


OTHERWISE = {
    "heavy_steel_thickness": ("3.175 mm", "10 mm"),
    "heavy_no2_thickness": ("1 mm", "5 mm"),
    "sheet_below": ("1 mm", "10 mm"),
    "fine_strand": ("0.1 mm", "1 mm"),
    "band_60": ("55 %", "69 %"),
    "heavy_length": ("36 in", "96 in"),
    "aluminium_foreign": ("1 %", "9 %"),
}


@pytest.mark.parametrize("name", OTHERWISE)
def test_no_answer_changes_without_the_limit_being_told(name: str) -> None:
    """Of every worked example that ships: where a place's own limit gives another answer, it is told, and
    the same limits as the rulebook's never give another answer."""
    book = SHIPPED[-1]
    parts = [example.part for example in book.examples]
    usual, before = answers(book, parts)
    same, _ = under(book, [house(book.limits[name].given, name)])
    assert answers(same, parts)[1] == before
    changed = 0
    for given in OTHERWISE[name]:
        other, own = under(book, [house(given, name)])
        here, after = answers(other, parts)
        for part, was, now in zip(parts, before, after, strict=True):
            if was != now:
                changed += 1
                assert [each.name for each in decided_by(usual, here, own, part)] == [name], part
    assert changed, "no example tells the two apart"


def answers(book: Rulebook, parts: Sequence[Mapping[str, Value]]) -> tuple[Grader, list[object]]:
    grader = Grader(book)
    return grader, [told(grader, part) for part in parts]


def told(grader: Grader, part: Mapping[str, Value]) -> object:
    outcome = grader.grade(part)
    if isinstance(outcome, Graded):
        return outcome.grade, outcome.rule.id
    impossible = getattr(outcome, "impossible", ())
    return type(outcome), getattr(outcome, "candidates", None), [entry.id for entry in impossible]
