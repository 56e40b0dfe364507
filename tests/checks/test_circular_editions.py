"""What changed in the ReMA scrap specifications circular between editions, on both sides of the day.

Sources: the association's notices of 29 July 2014 (Thorn), of 29 March 2017 (approved 24 April, in the
circular from July 2017), of 8 February 2018 (approved 1 February) and of 27 October 2021 (Reels, Ropes);
trade press of 30 July 2014 and of 9 July 2015 (FS 207); the cover of the edition of 16 January 2014: all
seen. The limits before 2017 are seen in merchant pages that quote the older circular. What the circular
changed in 2015 and 2021 holds since 29 November 2026, by 2027.8: versions before can change no more.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from tests.checks.shipped import DAYS, UNDECIDED, answer, on, versions

from gradewright.core.timeline import in_force
from gradewright.rulebooks.standing import that_begin

COPPER: dict[str, Any] = {"metal": "copper", "colour_when_filed": "red", "attached": "nothing"}
UNTIL_2017, FROM_2017 = "2017-07-05", "2017-07-06"
UNTIL_2018, FROM_2018 = "2018-01-31", "2018-02-01"


@pytest.mark.parametrize(
    ("day", "version"),
    [
        ("2014-01-15", None),
        ("2014-01-16", "2014.0"),
        ("2014-07-29", "2014.0"),
        ("2014-07-30", "2014.1"),
        ("2017-07-05", "2014.1"),
        ("2017-07-06", "2017.1"),
        ("2018-01-31", "2017.1"),
        ("2018-02-01", "2018.1"),
        ("2025-12-31", "2018.1"),
        ("2026-01-01", "2026.1"),
        ("2026-06-30", "2026.1"),
        ("2026-07-01", "2026.2"),
        ("2026-11-28", "2026.2"),
        ("2026-11-29", "2027.8"),
        ("2026-11-30", "2027.8"),
        ("2026-12-01", "2027.8"),
        ("2027-06-01", "2027.8"),
    ],
)
def test_the_version_in_force(day: str, version: str | None) -> None:
    """Each version holds from its day on, until the next, but for those that another is in force instead of;
    before the first there is none."""
    found = in_force(that_begin(versions()), date.fromisoformat(day))
    assert (found.version if found is not None else None) == version


# Berry: not smaller than No. 16 B & S gauge; since 2017 by agreement, which this rulebook draws at hair-thin.
# The same gauge for Barley is from memory.
@pytest.mark.parametrize(
    ("day", "surface", "strand", "grade"),
    [
        (UNTIL_2017, "bare", "15 AWG", "copper-no1"),
        (UNTIL_2017, "bare", "16 AWG", "copper-no1"),
        (UNTIL_2017, "bare", "1.3 mm", "copper-no1"),
        (UNTIL_2017, "bare", "17 AWG", "copper-no2"),
        (UNTIL_2017, "bare", "1.28 mm", "copper-no2"),
        (UNTIL_2017, "bright", "16 AWG", "copper-bright"),
        (UNTIL_2017, "bright", "17 AWG", "copper-no2"),
        (FROM_2017, "bare", "16 AWG", "copper-no1"),
        (FROM_2017, "bare", "17 AWG", "copper-no1"),
        (FROM_2017, "bare", "1.28 mm", "copper-no1"),
        (FROM_2017, "bright", "17 AWG", "copper-bright"),
        (FROM_2018, "bare", "17 AWG", "copper-no1"),
        (FROM_2018, "bright", "24 AWG", "copper-bright"),
        (FROM_2018, "bright", "0.2 mm", "copper-no2"),
    ],
)
def test_copper_wire_by_gauge(day: str, surface: str, strand: str, grade: str) -> None:
    """Until July 2017 clean wire under 16 AWG is No. 2; from then on it is No. 1 unless hair-thin."""
    part = {"form": "wire", "surface": surface, "strand_diameter": strand}
    assert answer(day, {**COPPER, **part}) == grade


# Candy: heavy copper not less than 1/16 in thick (the words can be read as limiting the wire alone, which
# Berry covers); since 2017 without a thickness. Tube is named apart, without one, in both.
@pytest.mark.parametrize("form", ["bar", "plate", "section", "clippings"])
@pytest.mark.parametrize(
    ("day", "thickness", "grade"),
    [
        (UNTIL_2017, "1/16 in", "copper-no1"),
        (UNTIL_2017, "0.0625 in", "copper-no1"),
        (UNTIL_2017, "1.5875 mm", "copper-no1"),
        (UNTIL_2017, "0.062 in", "copper-no2"),
        (UNTIL_2017, "1.58 mm", "copper-no2"),
        (FROM_2017, "1/16 in", "copper-no1"),
        (FROM_2017, "0.062 in", "copper-no1"),
        (FROM_2017, "0.5 mm", "copper-no1"),
        (FROM_2018, "1.58 mm", "copper-no1"),
    ],
)
def test_heavy_copper_by_thickness(day: str, form: str, thickness: str, grade: str) -> None:
    """Until July 2017 clean bar and clippings under 1/16 in are No. 2; from then on they are No. 1."""
    part = {"form": form, "surface": "bare", "thickness": thickness}
    assert answer(day, {**COPPER, **part}) == grade


@pytest.mark.parametrize("thickness", ["0.7 mm", "1.58 mm", "1/16 in", "2 mm"])
@pytest.mark.parametrize("day", [UNTIL_2017, FROM_2017, FROM_2018])
def test_clean_copper_tube_has_no_thinnest_wall(day: str, thickness: str) -> None:
    """Candy takes clean tube as it is, before and after 2017."""
    part = {"form": "tube", "surface": "bare", "thickness": thickness}
    assert answer(day, {**COPPER, **part}) == "copper-no1"


@pytest.mark.parametrize(
    ("day", "expected"),
    [(UNTIL_2017, UNDECIDED + "copper-no1, copper-no2"), (FROM_2017, "copper-no1")],
)
def test_the_thickness_was_asked_for_until_2017(day: str, expected: str) -> None:
    """A clean bus bar of unknown thickness is undecided until July 2017, and No. 1 from then on."""
    assert answer(day, {**COPPER, "form": "bar", "surface": "bare"}) == expected


# Shelmo: aluminium-wound material up to 10 %, and up to 5 % since 1 February 2018.
@pytest.mark.parametrize(
    ("day", "share", "grade"),
    [
        (UNTIL_2017, "10 %", "motors-shredded"),
        (UNTIL_2017, "10.01 %", "motors-shredded-mixed"),
        (UNTIL_2018, "5 %", "motors-shredded"),
        (UNTIL_2018, "5.01 %", "motors-shredded"),
        (UNTIL_2018, "10 %", "motors-shredded"),
        (UNTIL_2018, "10.01 %", "motors-shredded-mixed"),
        (FROM_2018, "4.99 %", "motors-shredded"),
        (FROM_2018, "5 %", "motors-shredded"),
        (FROM_2018, "5.01 %", "motors-shredded-mixed"),
        (FROM_2018, "10 %", "motors-shredded-mixed"),
    ],
)
def test_shredded_motors_by_aluminium_wound_share(day: str, share: str, grade: str) -> None:
    """Shredded motors may hold 10 % aluminium-wound material until 31 January 2018, 5 % from then on."""
    part = {"metal": "mixed", "form": "shredded", "shredded_from": "motors", "aluminium_wound_share": share}
    assert answer(day, part) == grade


# Thorn: new in July 2014, at least 33 % aluminium unless agreed.
@pytest.mark.parametrize(
    ("day", "share", "grade"),
    [
        ("2014-07-29", "33 %", "aluminium-breakage"),
        ("2014-07-29", "32.9 %", "aluminium-breakage"),
        ("2014-07-29", "5 %", "aluminium-breakage"),
        ("2014-07-30", "33 %", "aluminium-breakage"),
        ("2014-07-30", "32.9 %", "aluminium-irony"),
        ("2017-07-06", "33 %", "aluminium-breakage"),
        ("2018-02-01", "32.9 %", "aluminium-irony"),
        ("2026-11-29", "32.9 %", "aluminium-irony"),
    ],
)
def test_breakage_by_its_aluminium(day: str, share: str, grade: str) -> None:
    """Until 29 July 2014 nobody asks how much of a piece is aluminium; from then on it is a third."""
    part = {"form": "compound", "main_metal": "aluminium", "aluminium_share": share, "attached": "iron"}
    assert answer(day, part) == grade


@pytest.mark.parametrize(("day", "grade"), [("2014-07-29", None), ("2014-07-30", "aluminium-breakage")])
def test_thorn_is_a_name_since_july_2014(day: str, grade: str | None) -> None:
    """The code word of July 2014 for aluminium breakage names nothing before."""
    assert on(day).rulebook.grade_named("Thorn") == grade


# FS 207: 12 in any way in the edition of 2009; at most 2 by 5 ft in that of 2015, here by 2027.8.
@pytest.mark.parametrize(
    ("day", "length", "width", "grade"),
    [
        ("2026-11-28", "12 in", "10 in", "steel-busheling"),
        ("2026-11-28", "13 in", "10 in", "light-iron"),
        ("2026-11-29", "12 in", "10 in", "steel-busheling"),
        ("2026-11-29", "13 in", "10 in", "steel-busheling"),
        ("2026-11-29", "5 ft", "2 ft", "steel-busheling"),
        ("2026-11-29", "60.1 in", "2 ft", "light-iron"),
        ("2026-11-29", "5 ft", "24.1 in", "light-iron"),
        ("2026-11-29", "1524 mm", "609.6 mm", "steel-busheling"),
    ],
)
def test_busheling_by_its_size(day: str, length: str, width: str, grade: str) -> None:
    """Offcuts are busheling up to 12 in, and since 29 November 2026 up to 2 by 5 ft."""
    part = {"metal": "steel", "form": "clippings", "largest_dimension": length, "width": width}
    assert answer(day, part) == grade


# Reels: at least 60 % nonferrous, at most 40 % iron; announced on 27 October 2021, here by 2027.8.
@pytest.mark.parametrize(
    ("day", "iron", "grade"),
    [
        ("2026-11-28", "40 %", "ungraded"),
        ("2026-11-29", "40 %", "wheel-weights-mixed"),
        ("2026-11-29", "0 %", "wheel-weights-mixed"),
        ("2026-11-29", "40.01 %", "iron-with-foreign"),
    ],
)
def test_mixed_wheel_weights_by_their_iron(day: str, iron: str, grade: str) -> None:
    """Lead and zinc weights together have a grade since 29 November 2026, up to 40 % iron."""
    assert answer(day, {"assembly": "wheel-weight", "metal": "mixed", "iron_share": iron}) == grade


@pytest.mark.parametrize(
    ("word", "before", "since", "grade"),
    [("Vader", "2026-11-28", "2026-11-29", "compressors"),
     ("Reels", "2026-11-28", "2026-11-29", "wheel-weights-mixed")],
)  # fmt: skip
def test_later_code_words(word: str, before: str, since: str, grade: str) -> None:
    """The words of 2015 and 2021 name a grade in the versions that take them in, and nothing before."""
    assert [on(day).rulebook.grade_named(word) for day in (before, since)] == [None, grade]


@pytest.mark.parametrize(
    ("day", "grade"), [(UNTIL_2017, None), (FROM_2017, "wire-shredded"), (FROM_2018, "wire-shredded")]
)
def test_zeyda_is_a_name_since_2017(day: str, grade: str | None) -> None:
    """The code word of July 2017 for shredded insulated wire names nothing before."""
    assert on(day).rulebook.grade_named("Zeyda") == grade


# Seen in the circular, in pages that quote it, or in a customs tariff that uses the words; Ebony from memory.
CODE_WORDS = {
    "Barley": "copper-bright",
    "Berry": "copper-no1",
    "Candy": "copper-no1",
    "Birch": "copper-no2",
    "Cliff": "copper-no2",
    "Dream": "copper-light",
    "Ebony": "brass-red",
    "Lace": "brass-cases",
    "Lady": "brass-cases",
    "Lake": "brass-cases",
    "Lamb": "brass-cases",
    "Maize": "nickel-silver",
    "Major": "nickel-silver",
    "Elmo": "motors-copper",
    "Shelmo": "motors-shredded",
    "Taboo": "aluminium-clips",
    "Taint": "aluminium-sheet",
    "Tabor": "aluminium-sheet",
    "Tale": "aluminium-siding",
    "Toto": "aluminium-extrusion",
    "Tutu": "aluminium-extrusion",
    "Tense": "aluminium-cast",
    "Teens": "aluminium-turnings",
    "Telic": "aluminium-turnings",
    "Thorn": "aluminium-breakage",
    "EM1": "aluminium-eddy-current",
    "EM2": "nonferrous-shred",
    "EM4": "light-iron",
    "EM5": "steel-shredded",
    "Saves": "zinc-die-cast",
    "Score": "zinc-old",
    "Scroll": "zinc-scroll",
    "Ropes": "lead-wheel-weights",
    "FS 200": "steel-heavy",
    "FS 203": "steel-heavy-no2",
    "FS 207": "steel-busheling",
    "FS 208": "steel-bundles",
    "FS 231": "steel-plate-structural",
}


@pytest.mark.parametrize(("word", "grade"), CODE_WORDS.items())
def test_a_code_word_names_its_grade(word: str, grade: str) -> None:
    """A code word of the circular names the same grade in every edition, in any case."""
    for day in DAYS:
        rulebook = on(day).rulebook
        assert (rulebook.grade_named(word), rulebook.grade_named(word.lower())) == (grade, grade)
