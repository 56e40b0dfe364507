"""As which cheaper grades a lot is offered: only as such that a buyer of the lower grade takes it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from gradewright.core.rulebook import Rulebook
from gradewright.hauls.lower_kin import LOWER, lower_kin
from tests.checks.shipped import versions

CHAINS = {
    "copper-bright": ("copper-no1", "copper-no2", "copper-light", "copper-breakage"),
    "wire-60": ("wire-50", "wire-40", "wire-30", "wire-low"),
    "steel-heavy": ("steel-heavy-no2", "steel-unprepared", "light-iron", "iron-with-foreign"),
    "aluminium-extrusion": (
        "aluminium-extrusion-painted", "aluminium-sheet", "aluminium-siding", "aluminium-breakage",
        "aluminium-irony",
    ),
    "boards-high": ("boards-medium", "boards-low"),
    "motors-copper": ("motors-with-iron",),
}  # fmt: skip
NEVER = [
    ("residue", "wood"), ("residue", "concrete"), ("wood", "residue"), ("glass", "residue"),
    ("brass-yellow", "nickel-silver"), ("brass-yellow", "brass-cases"), ("bronze", "brass-red"),
    ("relays", "motors-copper"), ("motors-copper", "ballasts"), ("motors-copper", "compressors"),
    ("transformers-copper", "motors-copper"), ("servers", "computers-desktop"), ("tablets", "laptops"),
    ("aluminium-extrusion", "aluminium-cans"), ("aluminium-sheet", "aluminium-foil"),
    ("copper-light", "copper-burnt"), ("light-iron", "appliances-whole"), ("steel-heavy", "cast-iron"),
    ("wire-low", "wire-coax"), ("wire-40", "wire-cord-plug"), ("light-iron", "steel-turnings"),
]  # fmt: skip


@pytest.fixture(scope="module", params=[each.version for each in versions()])
def rulebook(request: pytest.FixtureRequest) -> Rulebook:
    """Each version that ships."""
    return next(each for each in versions() if each.version == request.param)


@pytest.mark.parametrize("grade", CHAINS)
def test_a_grade_goes_down_step_by_step(grade: str) -> None:
    """A grade is offered as those below it, nearest first."""
    assert lower_kin(versions()[-1].grades, grade) == CHAINS[grade]


@pytest.mark.parametrize(("grade", "lower"), NEVER)
def test_what_is_only_priced_alike_is_not_sold_alike(grade: str, lower: str) -> None:
    """That one grade's price is worked out from another's makes no buyer of the one take the other."""
    assert lower not in lower_kin(versions()[-1].grades, grade)


def test_every_grade_of_the_table_is_in_every_version(rulebook: Rulebook) -> None:
    """The table names grades that every version has, each once beside the same lower one, with a reason."""
    pairs = [(step.grade, step.lower) for step in LOWER]
    assert {slug for pair in pairs for slug in pair} <= rulebook.grades.keys()
    assert len(set(pairs)) == len(pairs)
    assert all(step.why for step in LOWER)


def test_nothing_goes_down_into_another_family_or_into_what_costs(rulebook: Rulebook) -> None:
    """Each grade goes down within its family only, never among what costs or into what is sold by name, and
    it never comes back to itself.
    """
    for grade, of in rulebook.grades.items():
        chain = lower_kin(rulebook.grades, grade)
        assert grade not in chain
        assert not chain or of.family != "costs"
        assert {rulebook.grades[lower].family for lower in chain} <= {of.family}
        assert not any(rulebook.grades[lower].by_name_only for lower in chain)


def test_what_is_lower_is_no_dearer_by_the_rulebook(rulebook: Rulebook) -> None:
    """Where the rulebook works out both grades' prices from the same third one, the lower is no dearer."""
    compared = 0
    for step in LOWER:
        (base, share), (other, lower) = (_price(rulebook, slug) for slug in (step.grade, step.lower))
        if base == other:
            compared += 1
            assert lower <= share, step
    assert compared > len(LOWER) // 2


def test_of_the_versions_that_ship_the_table_has_all(rulebook: Rulebook) -> None:
    """What a later version's prices would add is nothing for the grades that the table was made for."""
    for grade in rulebook.grades:
        assert lower_kin(rulebook.grades, grade) == lower_kin(rulebook.grades, grade, later=False)


@pytest.mark.parametrize(
    ("new", "goes_to"),
    [
        ({"kin": "copper-no1", "factor": "1.02"}, ("copper-no1", *CHAINS["copper-bright"][1:])),
        ({"kin": "copper-no1", "factor": "1"}, ("copper-no1", *CHAINS["copper-bright"][1:])),
        ({"kin": "copper-no1", "factor": "0.99"}, ()),
        ({"kin": "light-iron", "factor": "4"}, ()),
        ({"kin": "residue", "factor": "1", "family": "costs"}, ()),
    ],
)
def test_a_new_grade_goes_down_by_the_rulebooks_own_prices(
    new: dict[str, str], goes_to: tuple[str, ...]
) -> None:
    """A grade that is priced as one of its family, times one or more, is offered as that, and as those below;
    none that is paid less, is of another family or costs to be rid of.
    """
    grades = versions()[-1].grades
    of = replace(
        grades["copper-no1"],
        slug="copper-tinned",
        kin=new["kin"],
        kin_factor=Decimal(new["factor"]),
        family=new.get("family", "copper"),
    )
    assert lower_kin({**grades, "copper-tinned": of}, "copper-tinned") == goes_to
    assert lower_kin({**grades, "copper-tinned": of}, "copper-tinned", later=False) == ()


def test_no_caution_forbids_a_grade_that_others_go_down_into(rulebook: Rulebook) -> None:
    """Cautions that name a grade into which another goes down concern that other as well, but for those on a
    seller's records.
    """
    of_one_alone = {
        caution.id
        for caution in rulebook.cautions.values()
        for step in LOWER
        if step.lower in caution.grades and step.grade not in caution.grades
    }
    assert of_one_alone == {"seller-records"}


def _price(rulebook: Rulebook, slug: str) -> tuple[str, float]:
    """The grade from whose price a grade's is worked out in the end, and its share of it."""
    share = 1.0
    while (kin := rulebook.grades[slug].kin) is not None:
        share *= float(rulebook.grades[slug].kin_factor or 1)
        slug = kin
    return slug, share
