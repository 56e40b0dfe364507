"""Dangerous parts of which something is not known yet: each caution of the shipped rulebook is told all the
same, as one that may apply. The cautions are those that the trade's own sources ask for, as the rulebook
names them; what is taken for the worst where it is not known is common practice, and for PCB and refrigerant
law (40 CFR 761.2, 40 CFR 82 subpart F, which the rulebook names as well).
"""

from __future__ import annotations

from typing import Any

import pytest
from tests.checks.shipped import TODAY, described, newest, on

from gradewright.core.description import describe
from gradewright.core.grading import Undecided
from gradewright.core.observations import read_observations

DEVICE: dict[str, Any] = {"assembly": "whole-device"}
SCREEN: dict[str, Any] = {"assembly": "screen"}
CAPACITOR: dict[str, Any] = {"assembly": "capacitor"}
BATTERY: dict[str, Any] = {"assembly": "battery"}
CABLE: dict[str, Any] = {"form": "cable"}
COPPER_CABLE: dict[str, Any] = {"form": "cable", "metal": "copper"}
COPPER_TUBE: dict[str, Any] = {"metal": "copper", "form": "tube"}
STEEL: dict[str, Any] = {"metal": "steel"}
NON_METAL: dict[str, Any] = {"metal": "non-metal"}
BOARD: dict[str, Any] = {"assembly": "board"}
LOOSE: dict[str, Any] = {"assembly": "none"}
NOTHING: dict[str, Any] = {}

# caution: parts that are undecided, and may have it.
HALF_KNOWN: dict[str, list[dict[str, Any]]] = {
    "stored-charge": [SCREEN, BOARD, STEEL, NOTHING],
    "mains-lead": [CABLE, COPPER_CABLE, STEEL, NOTHING],
    "external-cables": [DEVICE, STEEL],
    "picture-tube": [SCREEN, {**SCREEN, "backlight": "led"}, STEEL],
    "mercury-backlight": [SCREEN, STEEL],
    "large-liquid-crystal": [SCREEN, {**SCREEN, "screen_area": "200 cm2"}, {**SCREEN, "backlight": "led"}],
    "mercury-lamps": [DEVICE, STEEL, NOTHING],
    "pcb-capacitor": [
        CAPACITOR,
        {**CAPACITOR, "no_pcb_mark": False},
        {**CAPACITOR, "made_year": 1979},
        STEEL,
    ],
    "pcb-ballast": [STEEL, {"metal": "copper"}, NOTHING],
    "oil-filled-electrolyte": [CAPACITOR, {**CAPACITOR, "capacitor_height": "40 mm"}, STEEL],
    "boards-come-out": [DEVICE, BOARD, NOTHING],
    "weee-first": [STEEL, NOTHING],
    "beryllium-oxide": [DEVICE, STEEL, {"metal": "aluminium"}],
    "lithium-cells": [DEVICE, STEEL, NOTHING],
    "battery-acid": [BATTERY, {"metal": "lead"}, STEEL],
    "refrigerant": [DEVICE, STEEL, NOTHING],
    "refrigerant-statement": [DEVICE, {**DEVICE, "drained": True}, STEEL],
    "foam-gases": [DEVICE, NON_METAL, NOTHING],
    "asbestos": [DEVICE, CABLE, COPPER_CABLE, {**CABLE, "insulation": "double"}],
    "ceramic-fibre": [DEVICE, STEEL, NOTHING],
    "springs-and-glass": [NON_METAL, STEEL],
    "lead-dust": [COPPER_TUBE, LOOSE, {"metal": "copper"}],
    "eyes-and-hands": [STEEL, LOOSE, {"metal": "aluminium"}],
    "no-burning": [COPPER_TUBE, {"metal": "copper"}, NOTHING],
    "no-acids": [BOARD, CAPACITOR, {"metal": "copper"}],
    "cadmium-contacts": [STEEL, {"metal": "copper"}, NOTHING],
    "magnesium-fire": [LOOSE, {"form": "casting"}, NOTHING],
    "brominated-plastic": [NON_METAL, STEEL],
    "toner-dust": [DEVICE, NOTHING],
    "radioactive-source": [DEVICE, STEEL],
    "closed-containers": [STEEL, LOOSE, NOTHING],
    "oil-and-fuel": [COPPER_TUBE, {"metal": "aluminium", "form": "casting"}, STEEL],
    "data-on-devices": [DEVICE, {"metal": "aluminium"}, NOTHING],
    "seller-records": [CABLE, COPPER_TUBE, {"metal": "lead"}],
    "where-from": [CABLE, COPPER_CABLE, LOOSE],
}
SOLD_BY_NAME_ONLY = {"live-rounds"}

# A part that is undecided, and what nobody need be told of it.
NOT_CONCERNED: list[tuple[dict[str, Any], set[str]]] = [
    (SCREEN, {"battery-acid", "refrigerant", "magnesium-fire", "asbestos"}),
    ({**SCREEN, "backlight": "led"}, {"mercury-backlight"}),
    ({**CAPACITOR, "no_pcb_mark": True}, {"pcb-capacitor"}),
    ({**CAPACITOR, "made_date": "1979-07-02"}, {"pcb-capacitor"}),
    (COPPER_TUBE, {"stored-charge", "lithium-cells", "asbestos", "radioactive-source"}),
    ({"assembly": "motor"}, {"stored-charge", "picture-tube", "oil-and-fuel", "foam-gases"}),
    ({"assembly": "transformer"}, {"stored-charge", "mercury-lamps"}),
    ({**DEVICE, "drained": False}, {"refrigerant-statement"}),
    ({**CABLE, "made_year": 2015}, {"asbestos"}),
]


@pytest.mark.parametrize("caution", HALF_KNOWN)
def test_a_caution_that_may_apply_is_told(caution: str) -> None:
    """Each caution is told of undecided parts that may turn out to have it, and not as a certain one."""
    for part in HALF_KNOWN[caution]:
        said = described(TODAY, part)
        assert isinstance(said.outcome, Undecided), part
        assert caution in {found.id for found in said.concerning.possible}, part
        assert caution not in {found.id for found in said.concerning.certain}, part


@pytest.mark.parametrize(
    ("part", "cautions"),
    NOT_CONCERNED,
    ids=lambda case: str(case if isinstance(case, dict) else sorted(case))[:60],
)
def test_what_cannot_apply_is_not_told(part: dict[str, Any], cautions: set[str]) -> None:
    """What no part of such a description can have, or nothing points to, is not told of it."""
    said = described(TODAY, part)
    assert isinstance(said.outcome, Undecided)
    assert not cautions & {found.id for found in said.concerning.all}


@pytest.mark.parametrize("part", [NOTHING, SCREEN, CAPACITOR, BATTERY, DEVICE, STEEL, BOARD, CABLE])
def test_every_caution_of_what_it_may_be_is_told_before(part: dict[str, Any]) -> None:
    """Whatever an undecided part is found to be next, no caution comes that was not told as possible."""
    grader, said = on(TODAY), described(TODAY, part)
    told = set(said.concerning.all)
    for example in grader.rulebook.examples:
        if part.items() <= dict(example.part).items():
            assert set(grader.concerning(grader.read(example.part), None).certain) <= told, example.part


# Of the newest version. What makes an exception of one thing says nothing of another: each of these parts has
# its caution, though something was observed that silences it elsewhere.
STILL_TOLD: list[tuple[str, dict[str, Any]]] = [
    ("stored-charge", {**BOARD, "board_features": "heavy-parts", "capacitor_type": "multilayer"}),
    ("stored-charge", {**DEVICE, "device_kind": "microwave-oven", "capacitor_type": "tantalum"}),
    ("stored-charge", {**SCREEN, "screen_type": "tube", "capacitor_type": "multilayer"}),
    ("stored-charge", {**SCREEN, "screen_type": "flat"}),
    ("stored-charge", {"assembly": "adapter"}),
    ("stored-charge", {"assembly": "lamp-ballast", "ballast_type": "electronic"}),
    ("mercury-backlight", {**DEVICE, "device_kind": "laptop"}),
    ("lithium-cells", {**BATTERY, "battery_type": "lithium", "battery_fitted": False}),
    ("refrigerant", {"assembly": "radiator", "radiator_type": "aluminium-on-copper", "attached": "iron"}),
    ("asbestos", {**DEVICE, "device_kind": "heater", "made_date": "1999-12-31"}),
    ("lead-dust", {**CABLE, "cable_kind": "lead-sheathed"}),
    ("data-on-devices", {**DEVICE, "device_kind": "game-console"}),
]
NOT_TOLD: list[tuple[str, dict[str, Any]]] = [
    ("stored-charge", {**CAPACITOR, "capacitor_type": "multilayer"}),
    ("mercury-backlight", {**DEVICE, "device_kind": "laptop", "backlight": "led"}),
    ("lithium-cells", {**DEVICE, "device_kind": "laptop", "battery_fitted": False}),
    ("refrigerant", {"assembly": "radiator", "radiator_type": "aluminium-on-copper", "drained": True}),
    ("refrigerant", {"assembly": "radiator", "radiator_type": "aluminium"}),
    ("asbestos", {**DEVICE, "device_kind": "heater", "made_date": "2000-01-01"}),
    ("lead-dust", {**CABLE, "cable_kind": "building"}),
]
WHATEVER_IT_IS = {"no_pcb_mark", "made_date", "made_year", "drained", "backlight", "battery_type"}
"""What makes an exception of whatever it was observed of: a mark, an age, a statement, what is inside."""


@pytest.mark.parametrize(("caution", "part"), [*STILL_TOLD, *NOT_TOLD], ids=str)
def test_an_exception_is_of_its_own_thing(caution: str, part: dict[str, Any]) -> None:
    """What was seen of a part silences a caution where it is about that part, and nowhere else."""
    said = describe(newest(), read_observations(newest().rulebook.attributes, part))
    certain = {found.id for found in said.concerning.certain}
    assert (caution in certain) == ((caution, part) in STILL_TOLD)


def test_every_exception_says_of_what_it_is_one() -> None:
    """An exception of a caution of the newest version names the thing, or holds whatever the thing is."""
    told = [
        (caution.id, sorted(asked))
        for caution in newest().rulebook.cautions.values()
        for when in caution.unless
        if "assembly" not in (asked := {condition.attribute for condition in when})
        and not asked <= WHATEVER_IT_IS
    ]
    assert told == []


def test_no_caution_is_left_out_here() -> None:
    """Every caution of the rulebook is reached from an undecided part above."""
    assert set(on(TODAY).rulebook.cautions) == {*HALF_KNOWN, *SOLD_BY_NAME_ONLY}
