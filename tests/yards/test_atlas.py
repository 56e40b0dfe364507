"""The map in memory: what a yard calls and takes, on any day, at any revision."""

from __future__ import annotations

from datetime import date
from types import MappingProxyType

import pytest

from gradewright.core.money import Rounding
from gradewright.regions.service import Region, RegionTree, UnknownRegion
from gradewright.yards.service import Atlas, Label, Refusal, UnknownYard, Yard, fold

MAY = date(2026, 5, 1)
JUNE = date(2026, 6, 1)


def yard(slug: str, region: str, revision: int, **said: object) -> Yard:
    """A yard with the usual terms."""
    name = slug.replace("-", " ").title()
    made = Yard(slug, name, region, "USD", "lb", Rounding.HALF_EVEN, None, revision=revision)
    return Yard(**{**{name: getattr(made, name) for name in Yard.__slots__}, **said})


REGIONS = RegionTree(
    MappingProxyType(
        {
            "XO": Region("XO", "Orvale", None, "USD", "lb", 1),
            "XO-KEL": Region("XO-KEL", "Kelder Bay", "XO", "USD", "lb", 2),
        }
    )
)
LOW_QUAY = yard(
    "low-quay",
    "XO-KEL",
    3,
    labels=(
        Label("#2 Cu", "copper-no2", MAY, 3),
        Label("#2 CU", "copper-light", JUNE, 3),
        Label("Shiny", "copper-bright", MAY, 3),
        Label("#2 Cu", "copper-no1", MAY, 6),
    ),
    refusals=(Refusal("boards-low", MAY, 3), Refusal("batteries", JUNE, 5)),
)
MAP = Atlas(REGIONS, MappingProxyType({"tern-row": yard("tern-row", "XO", 4), "low-quay": LOW_QUAY}))


@pytest.mark.parametrize(
    ("label", "on", "revision", "grade"),
    [
        pytest.param("#2 Cu", MAY, 3, "copper-no2", id="as said first"),
        pytest.param("#2 Cu", date(2026, 5, 31), 5, "copper-no2", id="the day before the change"),
        pytest.param("#2 Cu", JUNE, 3, "copper-light", id="the day of the change"),
        pytest.param("#2 Cu", MAY, 6, "copper-no1", id="a later word for the same day"),
        pytest.param("#2 Cu", JUNE, 6, "copper-light", id="a later day wins over a later word"),
        pytest.param("#2 Cu", JUNE, None, "copper-light", id="as known now"),
        pytest.param("#2 Cu", date(2026, 4, 30), None, None, id="before the first day"),
        pytest.param("  #2   cU ", MAY, 3, "copper-no2", id="case and spaces"),
        pytest.param("＃２ Cu", MAY, 3, "copper-no2", id="full-width characters"),
        pytest.param("#3 Cu", MAY, 3, None, id="no such label"),
    ],
)
def test_a_label_stands_for_a_grade(label: str, on: date, revision: int | None, grade: str | None) -> None:
    """A label is looked up by day and revision, without regard to how it is typed."""
    assert MAP.grade_for_label("low-quay", label, on, revision) == grade


def test_labels_are_listed_as_the_yard_writes_them_now() -> None:
    """Of a label that was said again only the word that counts is listed."""
    assert MAP.labels("low-quay", JUNE, 3) == ("#2 CU", "Shiny")
    assert MAP.labels("low-quay", date(2026, 4, 30)) == ()


def test_refusals_count_from_their_day_and_revision() -> None:
    """A refusal does not count before its day, nor as known before it was said."""
    assert MAP.refused("low-quay", MAY) == {"boards-low"}
    assert MAP.refused("low-quay", JUNE) == {"boards-low", "batteries"}
    assert MAP.refused("low-quay", JUNE, 4) == {"boards-low"}
    assert MAP.refused("tern-row", JUNE) == frozenset()


def test_yards_are_found_in_regions_below() -> None:
    """A country's yards are its own and those of its subdivisions, as known then."""
    assert [found.slug for found in MAP.under("XO")] == ["low-quay", "tern-row"]
    assert [found.slug for found in MAP.under("XO", 3)] == ["low-quay"]
    assert [found.slug for found in MAP.under("XO-KEL")] == ["low-quay"]
    with pytest.raises(UnknownRegion):
        MAP.under("XQ")
    with pytest.raises(UnknownRegion):
        MAP.under("XO-KEL", 1)  # not known yet


def test_whether_all_yards_are_in_a_region() -> None:
    """Not where another country has one, or the country has one beside it; by what was known then."""
    regions = RegionTree(MappingProxyType({**REGIONS.regions, "XP": Region("XP", "P", None, "USD", "lb", 5)}))
    two = Atlas(regions, MappingProxyType({**MAP.yards, "ash-gate": yard("ash-gate", "XP", 6)}))
    assert MAP.holds_all("XO")
    assert not MAP.holds_all("XO-KEL")
    assert MAP.holds_all("XO-KEL", 3)
    assert not two.holds_all("XO")
    assert two.holds_all("XO", 5)


@pytest.mark.parametrize("asked", ["low-quai", "Low Quay", "LOW-QUAY", "low quay"])
def test_a_misspelt_yard_is_suggested(asked: str) -> None:
    """A slug nearly right, or the yard's name in its place, is suggested."""
    with pytest.raises(UnknownYard) as refusal:
        MAP.yard(asked, at=("place", "yard"))
    assert refusal.value.faults[0].suggestions[0] == "low-quay"
    assert refusal.value.faults[0].at == ("place", "yard")


def test_a_yard_is_not_known_before_its_revision() -> None:
    """As of an earlier revision a later yard does not exist, nor its labels."""
    with pytest.raises(UnknownYard):
        MAP.yard("low-quay", 2)
    with pytest.raises(UnknownYard):
        MAP.grade_for_label("low-quay", "#2 Cu", MAY, 2)


def test_folding_is_stable() -> None:
    """What is folded is not changed by folding it again."""
    for label in ("#2 Cu", " Straße  A ", "ＡＢ", "İ"):
        assert fold(fold(label)) == fold(label)


def test_what_was_not_known_yet_is_told_so() -> None:
    """Not that there is none, with itself as what may have been meant."""
    with pytest.raises(
        UnknownYard, match=r"tern-row was not known yet at revision 3, but from 4 on\."
    ) as yard:
        MAP.yard("tern-row", 3)
    with pytest.raises(
        UnknownRegion, match=r"XO-KEL was not known yet at revision 1, but from 2 on\."
    ) as region:
        MAP.region("XO-KEL", 1)
    assert [yard.value.faults[0].suggestions, region.value.faults[0].suggestions] == [(), ()]
