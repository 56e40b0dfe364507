"""What comes off in work is of the grade that it is said to be: each piece, described as it lies in the hand,
is graded by the newest version that ships. That these pieces come off is common practice.
"""

from __future__ import annotations

from typing import Any

import pytest
from tests.checks.shipped import grade_by_newest, newest
from tests.core.work import met

from gradewright.core.observations import read_observations

CABLE = {"form": "cable", "metal": "copper"}
SCREWS = {"metal": "steel", "form": "fasteners"}
BARS = {"metal": "coated-steel", "form": "sheet"}
LAMINATIONS = {"metal": "steel", "form": "laminations"}
CASES_OF_PLASTIC = {"metal": "non-metal", "material": "plastic"}
FITTING = {"metal": "brass", "form": "casting", "attached": "brass-or-copper", "surface": "soldered",
           "colour_when_filed": "yellow", "largest_dimension": "2 in"}  # fmt: skip
SOLDERED_END = {"metal": "copper", "form": "tube", "attached": "nothing", "surface": "soldered"}
COIL_OF_WIRE = {"metal": "copper", "form": "winding"}
CORD_AND_PLUG = {**CABLE, "cable_kind": "cord", "plug_attached": True}
# By the work, and the grade that it is said to go to.
OFF: dict[str, dict[str, dict[str, Any]]] = {
    "cut-cord-off-appliance": {"wire-cord-plug": CORD_AND_PLUG},
    "cut-cord-off-small-device": {"wire-cord-plug": CORD_AND_PLUG},
    "cut-cord-off-kitchen-device": {"wire-cord-plug": CORD_AND_PLUG},
    "cut-cord-off-iron": {"wire-cord-plug": CORD_AND_PLUG},
    "cut-plug-off": {"plug-ends": {"assembly": "plug-end"}},
    "cut-connectors-off": {
        "connectors-plain": {"assembly": "connector", "contact_edge": "silver-coloured"}
    },
    "cut-gold-connectors-off": {"connectors-gold": {"assembly": "connector", "contact_edge": "gold"}},
    "cut-fittings-off-tube": {"brass-yellow": FITTING},
    "cut-soldered-ends": {"copper-no2": SOLDERED_END},
    "clear-copper-of-iron": {"light-iron": SCREWS},
    "clear-brass-of-iron": {"light-iron": SCREWS},
    "clear-brass-of-plastic": {"plastics": CASES_OF_PLASTIC},
    "break-brass-free": {"light-iron": BARS},
    "back-out-steel-screws": {"light-iron": SCREWS},
    "pull-steel-clips": {"light-iron": SCREWS},
    "knock-out-inserts": {"light-iron": SCREWS},
    "take-plastic-off-aluminium": {"plastics": CASES_OF_PLASTIC},
    "cut-out-copper-core": {
        "copper-no1": {"metal": "copper", "form": "bar", "attached": "nothing", "surface": "bare"}
    },
    "take-regulators-off-heat-sink": {
        "copper-no2": {"assembly": "power-transistor", "sticks_to_magnet": False}
    },
    "break-aluminium-free": {"light-iron": BARS},
    "draw-iron-out-of-turnings": {"steel-turnings": {"metal": "steel", "form": "turnings"}},
    "take-tanks-off": {"plastics": CASES_OF_PLASTIC},
    "take-iron-off-aluminium-radiator": {"light-iron": BARS},
    "take-iron-off-brass-radiator": {"light-iron": BARS},
    "take-plastic-off-brass-radiator": {"plastics": CASES_OF_PLASTIC},
    "cut-iron-ends-off": {"copper-breakage": {"form": "compound", "main_metal": "copper"}},
    "separate-fins-from-tube": {
        "aluminium-foil": {"metal": "aluminium", "form": "foil"}, "copper-no2": SOLDERED_END,
    },
    "take-gearbox-off": {
        "iron-with-foreign": {"form": "compound", "main_metal": "steel", "foreign_share": "20 %"}
    },
    "open-motor-copper": {"light-iron": LAMINATIONS},
    "open-motor-aluminium": {"light-iron": LAMINATIONS},
    "open-transformer-copper": {"light-iron": LAMINATIONS},
    "open-transformer-aluminium": {"light-iron": LAMINATIONS},
    "open-solenoid": {"light-iron": BARS},
    "open-relay": {"copper-no2": COIL_OF_WIRE, "light-iron": BARS},
    "open-contactor": {"copper-no2": COIL_OF_WIRE, "light-iron": LAMINATIONS},
    "cut-contacts-off": {
        "brass-yellow": {"metal": "brass", "form": "sheet", "attached": "nothing", "surface": "bare"}
    },
    "cut-contacts-off-copper": {
        "copper-no2": {"metal": "copper", "form": "bar", "attached": "nothing", "surface": "plated"}
    },
    "open-power-supply": {
        "light-iron": BARS, "fans": {"assembly": "fan"},
        "wire-harness": {**CABLE, "cable_kind": "harness", "connectors_attached": True},
    },
    "take-heavy-parts-off-board": {
        "transformers-copper": {"assembly": "transformer", "winding_metal": "copper"},
        "aluminium-breakage": {"metal": "aluminium", "form": "profile", "attached": "iron"},
        "capacitors-electrolytic": {"assembly": "capacitor", "capacitor_type": "electrolytic"},
        "copper-no2": {"assembly": "power-transistor", "sticks_to_magnet": False},
    },
    "take-board-off-hard-disk": {"boards-high": {"assembly": "board", "board_features": "gold-edge"}},
    "open-hard-disk": {
        "light-iron": SCREWS,
        "aluminium-sheet": {"metal": "aluminium", "form": "sheet", "attached": "nothing",
                            "surface": "bright"},
    },
    "cut-gold-edge": {"gold-edge": {"assembly": "edge-cutting", "contact_edge": "gold"}},
    "lift-processor-lid": {
        "copper-no2": {"metal": "copper", "form": "plate", "attached": "nothing", "surface": "plated"}
    },
    "take-battery-out": {"batteries-lithium": {"assembly": "battery", "battery_type": "lithium"}},
    "take-nickel-battery-out": {"batteries-nickel": {"assembly": "battery", "battery_type": "nickel"}},
    "take-household-batteries-out": {
        "batteries-household": {"assembly": "battery", "battery_type": "household"}
    },
    "clear-stainless-of-iron": {"light-iron": SCREWS},
    "clear-stainless-of-brass": {"brass-plated": {"metal": "brass", "form": "casting", "attached": "nothing",
                                                  "surface": "plated", "largest_dimension": "4 in"}},
    "clear-stainless-of-plastic": {"plastics": CASES_OF_PLASTIC},
    "clear-zinc-of-iron": {"light-iron": SCREWS},
    "clear-zinc-of-plastic": {"plastics": CASES_OF_PLASTIC},
    "draw-steel-weights": {"light-iron": {"assembly": "wheel-weight", "metal": "steel"}},
    "sort-lead-weights": {
        "zinc-old": {"assembly": "wheel-weight", "metal": "zinc"},
        "light-iron": {"assembly": "wheel-weight", "metal": "steel"},
    },
}  # fmt: skip
# Words in what work says, and the caution that goes with them.
SAID = {
    "mains-lead": ("Unplug", "the plug in your hand"),
    "eyes-and-hands": (
        "cut ",
        "Cut ",
        "Saw",
        "saw ",
        "Snip",
        "snip",
        "Break",
        "break ",
        "Crack",
        "cutters",
        "hammer",
    ),
    "springs-and-glass": ("glass", "spring"),
    "lead-dust": ("solder", "lead weights"),
    "asbestos": ("asbestos",),
    "beryllium-oxide": ("pink ceramic",),
    "stored-charge": ("ischarge",),
    "refrigerant": ("licence",),
    "mercury-lamps": ("mercury",),
    "picture-tube": ("off a tube",),
    "oil-and-fuel": ("Drain", "coolant"),
    "lithium-cells": ("lithium",),
    "cadmium-contacts": ("cadmium",),
}
NOBODY_BUYS = {None, "residue"}


def test_what_comes_off_is_graded_as_what_it_is() -> None:
    """Every piece that work takes off, described as it lies in the hand, is of the grade it is said to be."""
    book = newest().rulebook
    said = {
        work.id: {shed.grade for shed in work.sheds} - NOBODY_BUYS
        for work in book.preparations.values()
        if {shed.grade for shed in work.sheds} - NOBODY_BUYS
    }
    assert said == {work: set(pieces) for work, pieces in OFF.items()}
    pieces = [(work, grade, piece) for work, each in OFF.items() for grade, piece in each.items()]
    wrong = [
        (work, grade, found)
        for work, grade, piece in pieces
        if (found := grade_by_newest(read_observations(book.attributes, piece))) != grade
    ]
    assert wrong == []


@pytest.mark.parametrize("caution", SAID)
def test_what_work_says_of_a_danger_has_its_caution(caution: str) -> None:
    """Work that names what can hurt, or how, carries the caution for it."""
    lacking = [
        work.id
        for work in newest().rulebook.preparations.values()
        if any(word in f"{work.name}. {work.how}" for word in SAID[caution]) and caution not in work.cautions
    ]
    assert lacking == []


def test_nobody_is_told_to_cut_cable_under_fabric() -> None:
    """Old fabric may hold asbestos, which is not to be cut: no work is done to cable that is known to be
    under it, of any kind that can be."""
    book = newest().rulebook
    cut, kinds = [], set[object]()
    for work in book.preparations.values():
        asked = {each.attribute: each.values for each in work.when}
        for kind in asked.get("cable_kind", ()):
            fabric = {"form": "cable", "cable_kind": kind, "insulation": "lead-or-fabric"}
            if "insulation" not in asked and grade_by_newest(fabric) != "!":
                kinds.add(kind)
                cut += [work.id] if not any(met(when, fabric) for when in work.unless) else []
    assert kinds == {"cord"}
    assert cut == []
