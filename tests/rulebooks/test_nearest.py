"""A misspelt grade is answered with the one that was meant, and a word that means none with nothing."""

from __future__ import annotations

from functools import cache

import pytest
from tests.rulebooks.test_shipped import FILES, book

from gradewright.rulebooks.nearest import Nearest, named


@cache
def nearest() -> Nearest:
    """The names of the newest version that ships."""
    return Nearest(named(book(FILES[-1])))


@cache
def near(text: str) -> tuple[str, ...]:
    """The suggestions."""
    return tuple(found.slug for found in nearest().near(text))


SLIPS = {
    # By ear
    "lite-iron": "light-iron",
    "lite iron": "light-iron",
    "bronz": "bronze",
    "alluminium foil": "aluminium-foil",
    "aluminum extrusion": "aluminium-extrusion",
    "aluminum cans": "aluminium-cans",
    "aluminum-cast": "aluminium-cast",
    "nickle silver": "nickel-silver",
    "copper brite": "copper-bright",
    "co-ax": "wire-coax",
    "capasitors tantalum": "capacitors-tantalum",
    "relais": "relays",
    "yoke": "deflection-yokes",
    "lithuim batteries": "batteries-lithium",
    "sodder": "solder",
    # By hand
    "cooper-no2": "copper-no2",
    "coper no1": "copper-no1",
    "copper-n02": "copper-no2",
    "coppper-no1": "copper-no1",
    "copper-brigth": "copper-bright",
    "bare-bright": "copper-bright",
    "brigt wire": "copper-bright",
    "stell-heavy": "steel-heavy",
    "hevy steel": "steel-heavy",
    "ligth iron": "light-iron",
    "lightiron": "light-iron",
    "light-irn": "light-iron",
    "cast irn": "cast-iron",
    "castiron": "cast-iron",
    "yelow brass": "brass-yellow",
    "red bras": "brass-red",
    "soft leed": "lead-soft",
    "zink die cast": "zinc-die-cast",
    "compresor": "compressors",
    "transfomers copper": "transformers-copper",
    "harddrives": "hard-disks",
    "hard drive": "hard-disks",
    "lap top": "laptops",
    "laptop": "laptops",
    "motherbord": "boards-medium",
    "christmas light": "wire-lights",
    "extention cord": "wire-40",
    "pwer supplies": "power-supplies",
    "wheel weigths": "lead-wheel-weights",
    "mobile fones": "phones",
    # In another order, or another notation
    "no2 copper": "copper-no2",
    "copper number two": "copper-no2",
    "Cu #1": "copper-no1",
    "copper, bright": "copper-bright",
    "heavy-steel-no2": "steel-heavy-no2",
    "iron light": "light-iron",
    "copper-motors": "motors-copper",
    "wire 60%": "wire-60",
    "60-wire": "wire-60",
    "stainless-steel-304": "stainless-18-8",
    "ali cast": "aluminium-cast",
    "the lead acid battery": "batteries-lead-acid",
    "dirty alu": "aluminium-breakage",
}
NONSENSE = [
    "romex", "banana", "xyzzy", "qwerty", "asdf", "hello", "lorem ipsum", "spaceship", "no-such-grade", "foo",
    "---", "", "7", "9999", "unobtainium", "x" * 500, "kitchen sink", "unknown", "nothing", "日本",
]  # fmt: skip


@pytest.mark.parametrize(("slip", "meant"), SLIPS.items())
def test_a_slip_is_answered_with_what_was_meant(slip: str, meant: str) -> None:
    """The first suggestion is the grade that a person would think of."""
    assert near(slip)[:1] == (meant,)


@pytest.mark.parametrize("word", NONSENSE)
def test_what_is_no_grade_is_answered_with_nothing(word: str) -> None:
    """A word that is like no grade's gets no suggestion: a wrong one would be worse."""
    assert near(word) == ()


FAR = {
    "cooper-no2": "steel-heavy-no2",
    "bare-bright": "aluminium-extrusion",
    "lite-iron": "cast-iron",
    "copper number two": "copper-no1",
    "wire 60%": "wire-50",
    "aluminum-cast": "cast-iron",
}


@pytest.mark.parametrize(("slip", "other"), FAR.items())
def test_what_shares_a_word_only_is_not_suggested(slip: str, other: str) -> None:
    """A grade that has one word or one number in common with the slip is not offered beside the right one."""
    assert other not in near(slip)


PARTLY = {
    "prep iron": ["steel-heavy (prepared steel)", "cast-iron", "light-iron"],
    "tin-can": ["aluminium-cans (drink cans)", "light-iron (tin)"],
    "copper-no9": ["copper-no1", "copper-no2"],
    "Shiny Cu": ["copper-no1", "copper-no2"],
    "brass fittings": ["brass-red"],
    "old motor": ["motor-blocks", "motors-copper"],
}


@pytest.mark.parametrize(("text", "meant"), PARTLY.items())
def test_of_what_is_no_slip_a_part_may_be_known(text: str, meant: list[str]) -> None:
    """Where no name is much like it, names with a word of it are told; a rare word before a common one."""
    found = [str(one) for one in nearest().near(text)]
    assert found[0] == meant[0]
    assert set(meant) <= set(found)


def test_the_name_that_is_alike_is_told() -> None:
    """An alias is told as the rulebook writes it."""
    assert nearest().near("brigt wire")[0].written == "bright wire"
    assert str(nearest().near("brigt wire")[0]) == "copper-bright (bright wire)"
    assert str(nearest().near("coper no2")[0]) == "copper-no2"  # the slug says the same


def test_every_name_is_nearest_to_itself() -> None:
    """Each slug, name and alias, with its case and hyphens lost, leads back to its grade."""
    names = named(book(FILES[-1]))
    lost = {name: near(name.upper().replace("-", " ")) for name in names}
    assert {name: found for name, found in lost.items() if names[name] not in found} == {}


def test_at_most_three_are_suggested() -> None:
    """A word that stands in many names brings the three nearest."""
    assert len(near("aluminium")) == 3
