"""The compositions that ship, held against the publications that they are from.

"Seen" is said of figures that were read in the publication, its abstract or a page of it; what is from memory
is held only to itself, and the file marks it so.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from functools import cache

import pytest
from tests.checks.shipped import on as grader_on

from gradewright.compositions.given import Given, read
from gradewright.compositions.publications import read_publications, shipped
from gradewright.core.quantities import parse_share
from gradewright.core.units import parse_mass
from gradewright.rulebooks.service import Version

TODAY = date(2028, 1, 1)


@cache
def published() -> tuple[Given, ...]:
    """Every record of the files that ship."""
    return tuple(one.given for path in shipped() for one in read_publications(path))


def of_kind(kind: str) -> list[Mapping[str, Decimal]]:
    """The records of a kind: shares, or grams, by grade."""
    return [
        {
            str(part.grade): parse_share(part.share) if part.share else parse_mass(part.weight or "").grams
            for part in given.parts
        }
        for given in published()
        if given.kind == kind
    ]


def percent(**shares: str) -> dict[str, Decimal]:
    """Shares in percent, by grade."""
    return {grade.replace("_", "-"): Decimal(share) / 100 for grade, share in shares.items()}


@pytest.mark.parametrize("given", published(), ids=lambda given: f"{given.kind} {given.note or ''}"[:40])
def test_each_can_be_recorded(given: Given) -> None:
    """Under the newest rulebook every grade of it exists, and the parts come to no more than the whole."""
    grader = grader_on(TODAY.isoformat())
    assert len(read(given, Version(grader.rulebook, grader, ""), TODAY).checked()) == len(given.parts)


# GRID-Arendal and UNEP 2005: plastics 23 %, ferrous 32 %, non-ferrous 18 %, boards 12 %, glass 15 %. Seen.
def test_a_computer_with_its_screen_is_whole() -> None:
    """The five materials that are published are a whole computer: a hundred percent."""
    (found,) = of_kind("computer-and-screen")
    assert found == percent(
        plastics="23", light_iron="32", nonferrous_shred="18", boards_medium="12", glass="15"
    )
    assert sum(found.values()) == 1


# Shirahase and Kida 2009, one desktop PC: iron 7200 g, copper 320 g of which 187 g in the boards, aluminium
# 420 g of which 91 g in the boards, zinc 77 g. Seen (abstract).
def test_a_desktop_computer_without_what_is_inside_its_boards() -> None:
    """The metals outside of the boards; of the copper 58 % is inside them, as is published."""
    (found,) = of_kind("desktop-computer")
    assert found == {
        "light-iron": 7200,
        "copper-no2": 320 - 187,
        "aluminium-breakage": 420 - 91,
        "zinc-die-cast": 77,
    }
    assert round(100 * (1 - found["copper-no2"] / 320)) == 58


# APPLiA, Material Flows of the Home Appliance Industry, p. 48: washing machines, steel 67 % in older ones and
# 41 % now, concrete more than 25 %, electronics from 0.2 % to 2.4 to 2.7 %; refrigerators, from 2000 to now,
# plastics 14 % to nearly 23 %, glass 6 to 14 %, polyurethane foam 10 to 12 %, electronics 0.5 to 1.5 %. Seen.
def test_white_goods_then_and_now() -> None:
    """Each appliance has two records, one of the older kind and one of today's, with the published shares."""
    assert of_kind("washing-machine") == [
        percent(light_iron="67", boards_low="0.2"),
        percent(light_iron="41", concrete="25", boards_low="2.4"),
    ]
    assert of_kind("fridge") == [
        percent(plastics="14", foam="10", glass="6", boards_low="0.5"),
        percent(plastics="23", glass="14", foam="12", boards_low="1.5"),
    ]


# EuP Lot 11 (de Almeida et al. 2008), kilograms per kW of motors of 1.1, 11 and 110 kW. From memory.
def test_motors_add_up() -> None:
    """Materials weigh what the motor does, and the larger it is the less of it is copper."""
    motors = [given for given in published() if given.kind == "induction-motor"]
    shares = []
    for given, found in zip(motors, of_kind("induction-motor"), strict=True):
        whole = parse_mass(given.weight or "").grams
        assert sum(found.values()) == whole
        shares.append(found["copper-no2"] / whole)
    assert sorted(shares, reverse=True) == shares


def test_what_is_from_memory_says_so() -> None:
    """Figures that nobody has looked up again are marked, those that were seen are not."""
    marked = {given.kind: given.from_memory for given in published()}
    seen = {"computer-and-screen", "desktop-computer", "washing-machine", "fridge"}
    assert {kind for kind, unsure in marked.items() if not unsure} == seen
