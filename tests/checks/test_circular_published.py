"""Limits of the ReMA scrap specifications circular (formerly ISRI) for iron and assemblies, on both sides.

Code words and numbers are the circular's, the descriptions are our own. "Seen" is said of a number that was
read in the circular or in a page that quotes it; the rest is marked "from memory". Each limit is tried on a
day of every edition that ships, unless it is one of those that changed: for these see
test_circular_editions.py.
"""

from __future__ import annotations

from typing import Any

import pytest
from tests.checks.shipped import CONTRADICTION, DAYS, UNDECIDED, answer

STEEL: dict[str, Any] = {"metal": "steel", "sticks_to_magnet": True, "attached": "nothing"}
CAST_IRON: dict[str, Any] = {"metal": "cast-iron", "sticks_to_magnet": True, "attached": "nothing"}
GALVANISED: dict[str, Any] = {"metal": "coated-steel", "surface": "galvanised", "sticks_to_magnet": True}

pytestmark = pytest.mark.parametrize("day", DAYS)


# FS 200, No. 1 heavy melting: 1/4 in and over. FS 203, No. 2: 1/8 in and over. Seen in a merchant page that
# quotes the circular, and as 0.250 in and 0.125 in in a market glossary; the code FS 203 is from memory.
@pytest.mark.parametrize("form", ["plate", "section", "bar", "tube", "casting"])
@pytest.mark.parametrize(
    ("thickness", "grade"),
    [
        ("1/4 in", "steel-heavy"),
        ("0.250 in", "steel-heavy"),
        ("6.35 mm", "steel-heavy"),
        ("6.36 mm", "steel-heavy"),
        ("0.249 in", "steel-heavy-no2"),
        ("6.34 mm", "steel-heavy-no2"),
        ("1/8 in", "steel-heavy-no2"),
        ("0.125 in", "steel-heavy-no2"),
        ("3.175 mm", "steel-heavy-no2"),
        ("0.124 in", "light-iron"),
        ("3.17 mm", "light-iron"),
    ],
)
def test_heavy_melting_steel_by_thickness(day: str, form: str, thickness: str, grade: str) -> None:
    """Steel is No. 1 from 1/4 in, No. 2 from 1/8 in, and light iron below, in inches and in millimetres."""
    assert answer(day, {**STEEL, "form": form, "thickness": thickness}) == grade


# FS 203 takes black and galvanised. Seen.
@pytest.mark.parametrize(
    ("thickness", "grade"),
    [
        ("1/8 in", "steel-heavy-no2"),
        ("3.175 mm", "steel-heavy-no2"),
        ("1/4 in", "steel-heavy-no2"),
        ("0.124 in", "light-iron"),
    ],
)
def test_galvanised_steel_is_no_2_at_best(day: str, thickness: str, grade: str) -> None:
    """Galvanised plate is No. 2 from 1/8 in, and never No. 1."""
    assert answer(day, {**GALVANISED, "form": "plate", "thickness": thickness}) == grade


# FS 200: pieces up to 60 by 24 in. FS 206, No. 2: up to 60 by 18 in. Seen (FS-2009 for 206).
@pytest.mark.parametrize(
    ("thickness", "length", "width", "grade"),
    [
        ("8 mm", "60 in", "24 in", "steel-heavy"),
        ("8 mm", "1524 mm", "609.6 mm", "steel-heavy"),
        ("8 mm", "60.1 in", "24 in", "steel-unprepared"),
        ("8 mm", "1524.1 mm", "500 mm", "steel-unprepared"),
        ("8 mm", "60 in", "24.1 in", "steel-unprepared"),
        ("8 mm", "1500 mm", "609.7 mm", "steel-unprepared"),
        ("5 mm", "60 in", "18 in", "steel-heavy-no2"),
        ("5 mm", "1524 mm", "457.2 mm", "steel-heavy-no2"),
        ("5 mm", "60 in", "18.1 in", "steel-unprepared"),
        ("5 mm", "1500 mm", "457.3 mm", "steel-unprepared"),
        ("5 mm", "60.1 in", "18 in", "steel-unprepared"),
        ("1/4 in", "60 in", "18.1 in", "steel-heavy"),
    ],
)
def test_a_big_piece_of_steel_fits_the_box(
    day: str, thickness: str, length: str, width: str, grade: str
) -> None:
    """A piece within the box is heavy steel; an inch over, it has to be cut first."""
    size = {"thickness": thickness, "largest_dimension": length, "width": width}
    assert answer(day, {**STEEL, "form": "big-piece", **size}) == grade


@pytest.mark.parametrize("form", ["plate", "section", "bar", "tube", "casting"])
@pytest.mark.parametrize(
    ("thickness", "size", "expected"),
    [
        ("8 mm", {"largest_dimension": "60 in"}, "steel-heavy"),
        ("8 mm", {"largest_dimension": "60.1 in"}, CONTRADICTION + "long-piece-of-steel"),
        ("8 mm", {"width": "24 in"}, "steel-heavy"),
        ("8 mm", {"width": "24.1 in"}, CONTRADICTION + "wide-piece-of-steel"),
        ("5 mm", {"width": "18 in"}, "steel-heavy-no2"),
        ("5 mm", {"width": "18.1 in"}, CONTRADICTION + "wide-piece-of-no2-steel"),
    ],
)
def test_no_shape_of_steel_is_heavy_beyond_the_box(
    day: str, form: str, thickness: str, size: dict[str, str], expected: str
) -> None:
    """A plate, pipe or casting that does not fit is not graded as if it did: it is called a big piece."""
    assert answer(day, {**STEEL, "form": form, "thickness": thickness, **size}) == expected


# FS 207, No. 1 busheling: up to 12 in in any direction, free of metal coating. Seen (FS-2009).
@pytest.mark.parametrize(
    ("metal", "length", "grade"),
    [
        ("steel", "12 in", "steel-busheling"),
        ("steel", "304.8 mm", "steel-busheling"),
        ("steel", "11.9 in", "steel-busheling"),
        ("steel", "12.1 in", "light-iron"),
        ("steel", "304.9 mm", "light-iron"),
        ("coated-steel", "11.9 in", "light-iron"),
    ],
)
def test_busheling_by_size(day: str, metal: str, length: str, grade: str) -> None:
    """New steel offcuts are busheling up to 12 in; longer or coated ones are light iron."""
    part = {"metal": metal, "form": "clippings", "largest_dimension": length, "attached": "nothing"}
    assert answer(day, part) == grade


# FS 207 leaves out electrical sheet of more than 0.5 % silicon. Seen (FS-2009).
def test_laminations_are_no_busheling(day: str) -> None:
    """The electrical sheet out of a transformer is light iron, however new and small it is."""
    assert answer(day, {**STEEL, "form": "laminations", "largest_dimension": "3 in"}) == "light-iron"


# FS 208, No. 1 bundles: 75 lb/ft3 and over. Seen (FS-2009). 75 lb/ft3 = 1201.385 kg/m3.
@pytest.mark.parametrize(
    ("density", "grade"),
    [
        ("75 lb/ft3", "steel-bundles"),
        ("1201.39 kg/m3", "steel-bundles"),
        ("1.202 g/cm3", "steel-bundles"),
        ("74.9 lb/ft3", "light-iron"),
        ("1201.38 kg/m3", "light-iron"),
    ],
)
def test_bundles_by_density(day: str, density: str, grade: str) -> None:
    """Pressed steel is a bundle from 75 lb/ft3; looser, it is light iron."""
    assert answer(day, {**STEEL, "form": "bundle", "bulk_density": density}) == grade


# Cupola cast: 24 by 30 in and under. The numbers are seen, the code 252 is from memory.
@pytest.mark.parametrize(
    ("form", "length", "width", "expected"),
    [
        ("big-piece", "30 in", "24 in", "cast-iron"),
        ("big-piece", "762 mm", "609.6 mm", "cast-iron"),
        ("big-piece", "30.1 in", "20 in", "cast-iron-to-break"),
        ("big-piece", "762.1 mm", "500 mm", "cast-iron-to-break"),
        ("big-piece", "30 in", "24.01 in", "cast-iron-to-break"),
        ("casting", "30 in", "24 in", "cast-iron"),
        ("casting", "30.1 in", "20 in", CONTRADICTION + "long-piece-of-cast-iron"),
        ("casting", "30 in", "24.1 in", CONTRADICTION + "wide-piece-of-cast-iron"),
        ("tube", "30.1 in", "5 in", CONTRADICTION + "long-piece-of-cast-iron"),
    ],
)
def test_cast_iron_by_size(day: str, form: str, length: str, width: str, expected: str) -> None:
    """Cast iron fits the furnace up to 30 by 24 in; over that it has to be broken."""
    size = {"largest_dimension": length, "width": width}
    assert answer(day, {**CAST_IRON, "form": form, **size}) == expected


# Railroad 30, No. 1 sheet scrap: under 3/16 in. Seen (circular of 2022, page 24). Stainless: ASTM A480
# practice calls it plate from 3/16 in. Seen (a mill's table).
@pytest.mark.parametrize(
    ("metal", "thickness", "expected"),
    [
        ("steel", "0.187 in", "light-iron"),
        ("steel", "4.76 mm", "light-iron"),
        ("steel", "3/16 in", CONTRADICTION + "thick-sheet"),
        ("steel", "4.77 mm", CONTRADICTION + "thick-sheet"),
        ("stainless", "0.187 in", UNDECIDED + "stainless-18-8, stainless-ferritic"),
        ("stainless", "3/16 in", CONTRADICTION + "thick-sheet"),
    ],
)
def test_sheet_is_thinner_than_plate(day: str, metal: str, thickness: str, expected: str) -> None:
    """What is called sheet is under 3/16 in; from there on it is plate."""
    part = {"metal": metal, "form": "sheet", "thickness": thickness, "attached": "nothing"}
    assert answer(day, part) == expected


# Elmo: whole motors, copper-wound; not with gear reducers, iron bases or pumps; no sealed units. Seen.
@pytest.mark.parametrize(
    ("part", "grade"),
    [
        ({"assembly": "motor", "winding_metal": "copper"}, "motors-copper"),
        ({"assembly": "motor", "winding_metal": "aluminium"}, "motors-aluminium"),
        ({"assembly": "geared-motor", "winding_metal": "copper"}, "motors-with-iron"),
        ({"assembly": "compressor", "winding_metal": "copper", "drained": True}, "compressors"),
    ],
)
def test_whole_motors(day: str, part: dict[str, Any], grade: str) -> None:
    """Motors with much foreign iron, and sealed units, are kept out of copper-wound motors."""
    assert answer(day, {**part, "metal": "mixed", "form": "assembly"}) == grade


# EM5, iron out of a shredder; EM2, the non-ferrous mix: seen (electronics section's list).
@pytest.mark.parametrize(
    ("part", "grade"),
    [
        ({"metal": "steel", "sticks_to_magnet": True}, "steel-shredded"),
        ({"metal": "mixed", "shredded_from": "metals", "sticks_to_magnet": False}, "nonferrous-shred"),
        ({"metal": "mixed", "shredded_from": "cable", "sticks_to_magnet": False}, "wire-shredded"),
    ],
)
def test_what_comes_out_of_a_shredder(day: str, part: dict[str, Any], grade: str) -> None:
    """Shredded iron, mixed metals and cable are three grades."""
    assert answer(day, {"form": "shredded", **part}) == grade


# The circular gives no number for low, medium and high boards: none stands in the rulebook either.
@pytest.mark.parametrize("area", ["5 cm2", "10.1 cm2", "900 cm2"])
@pytest.mark.parametrize(
    ("features", "grade"),
    [("gold-edge", "boards-high"), ("dense-chips", "boards-medium"), ("few-chips", "boards-low")],
)
def test_boards_have_no_limit(day: str, area: str, features: str, grade: str) -> None:
    """A board is graded by what stands on it; its size changes nothing."""
    part = {"assembly": "board", "form": "board", "board_features": features, "board_area": area}
    assert answer(day, part) == grade


# Numbers of the circular that the rulebook does not use: FS 212's 60 lb/ft3, and 50 or 70 lb/ft3 for FS 210
# and 211, on which sources disagree.
@pytest.mark.parametrize("density", ["49 lb/ft3", "60 lb/ft3", "71 lb/ft3"])
def test_shredded_steel_has_no_disputed_density(day: str, density: str) -> None:
    """The density that sources print for FS 210 and 211 the wrong way round decides nothing."""
    assert answer(day, {**STEEL, "form": "shredded", "bulk_density": density}) == "steel-shredded"
