"""Each caution of the shipped rulebook: shown with a part that it concerns, and not with the nearest one."""

from __future__ import annotations

import itertools
from typing import Any

import pytest
from tests.checks.shipped import DAYS, TODAY, cautions, on

from gradewright.core.description import describe
from gradewright.core.grading import Graded

COPPER_PIPE: dict[str, Any] = {
    "metal": "copper",
    "form": "tube",
    "surface": "bare",
    "attached": "nothing",
    "sticks_to_magnet": False,
    "colour_when_filed": "red",
}
OIL: dict[str, Any] = {"assembly": "capacitor", "capacitor_type": "oil"}
BALLAST: dict[str, Any] = {"assembly": "lamp-ballast", "ballast_type": "magnetic"}
DEVICE: dict[str, Any] = {"assembly": "whole-device"}

# caution: a part that it concerns, and the nearest that it does not.
SHOWN: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "stored-charge": ({"assembly": "power-supply"}, {"assembly": "adapter"}),
    "mains-lead": ({"assembly": "adapter", "plug_attached": True}, {"assembly": "adapter"}),
    "external-cables": (
        {**DEVICE, "device_kind": "heater", "plug_attached": True},
        {**DEVICE, "device_kind": "heater"},
    ),
    "picture-tube": ({"assembly": "screen", "screen_type": "tube"}, {"assembly": "deflection-yoke"}),
    "mercury-backlight": (
        {"assembly": "screen", "screen_type": "flat"},
        {"assembly": "screen", "screen_type": "flat", "backlight": "led"},
    ),
    "large-liquid-crystal": (
        {"assembly": "screen", "screen_type": "flat", "screen_area": "101 cm2"},
        {"assembly": "screen", "screen_type": "flat", "screen_area": "100 cm2"},
    ),
    "mercury-lamps": ({"assembly": "lamp"}, {"assembly": "solenoid"}),
    "pcb-capacitor": (OIL, {"assembly": "capacitor", "capacitor_type": "electrolytic"}),
    "pcb-ballast": (BALLAST, {"assembly": "transformer", "winding_metal": "copper"}),
    "oil-filled-electrolyte": (
        {"assembly": "capacitor", "capacitor_type": "electrolytic", "capacitor_height": "40 mm"},
        {"assembly": "capacitor", "capacitor_type": "electrolytic", "capacitor_height": "10 mm"},
    ),
    "boards-come-out": ({**DEVICE, "device_kind": "phone"}, {**DEVICE, "device_kind": "iron"}),
    "weee-first": ({**DEVICE, "device_kind": "vacuum-cleaner"}, {"assembly": "fan"}),
    "beryllium-oxide": ({"assembly": "magnetron"}, {"assembly": "rectifier", "sticks_to_magnet": False}),
    "lithium-cells": (
        {**DEVICE, "device_kind": "cordless-device", "battery_fitted": True},
        {**DEVICE, "device_kind": "cordless-device", "battery_fitted": False},
    ),
    "battery-acid": (
        {"assembly": "battery", "battery_type": "lead-acid"},
        {"assembly": "battery", "battery_type": "lithium"},
    ),
    "refrigerant": ({"assembly": "compressor"}, {"assembly": "geared-motor"}),
    "refrigerant-statement": (
        {"assembly": "compressor", "drained": True},
        {"assembly": "compressor", "drained": False},
    ),
    "foam-gases": (
        {"metal": "non-metal", "material": "foam"},
        {"metal": "non-metal", "material": "rubber"},
    ),
    "asbestos": ({"assembly": "heating-element"}, {"assembly": "magnetron"}),
    "ceramic-fibre": ({**DEVICE, "device_kind": "heater"}, {**DEVICE, "device_kind": "iron"}),
    "springs-and-glass": (
        {"metal": "steel", "form": "sheet", "surface": "painted"},
        {"metal": "steel", "form": "bar", "thickness": "8 mm"},
    ),
    "lead-dust": ({**COPPER_PIPE, "surface": "soldered"}, {**COPPER_PIPE, "surface": "painted"}),
    "eyes-and-hands": (
        {"metal": "steel", "form": "big-piece", "thickness": "8 mm"},
        {"metal": "steel", "form": "plate", "thickness": "8 mm"},
    ),
    "no-burning": (
        {"form": "cable", "metal": "copper", "cable_kind": "cord"},
        {"form": "granules", "metal": "copper", "copper_share": "96 %"},
    ),
    "no-acids": (
        {"assembly": "board", "board_features": "gold-edge"},
        {"assembly": "board", "board_features": "heavy-parts"},
    ),
    "cadmium-contacts": (
        {"assembly": "contact", "arm_attached": True},
        {"assembly": "connector", "contact_edge": "gold"},
    ),
    "magnesium-fire": (
        {"metal": "magnesium", "form": "casting"},
        {"metal": "aluminium", "form": "casting", "attached": "nothing"},
    ),
    "brominated-plastic": (
        {"metal": "non-metal", "material": "plastic"},
        {"metal": "non-metal", "material": "glass"},
    ),
    "toner-dust": ({**DEVICE, "device_kind": "printer"}, {**DEVICE, "device_kind": "audio-video"}),
    "radioactive-source": (
        {**DEVICE, "device_kind": "smoke-detector"},
        {**DEVICE, "device_kind": "network-device"},
    ),
    "closed-containers": (
        {"metal": "steel", "form": "container", "opening": "20 mm"},
        {"metal": "steel", "form": "can"},
    ),
    "oil-and-fuel": (
        {"metal": "aluminium", "form": "casting", "attached": "oil", "oil_share": "3 %"},
        {"metal": "aluminium", "form": "casting", "attached": "iron"},
    ),
    "data-on-devices": ({"assembly": "hard-disk"}, {"assembly": "optical-drive"}),
    "seller-records": (COPPER_PIPE, {"metal": "aluminium", "form": "can", "surface": "painted"}),
    "where-from": (
        {"form": "cable", "metal": "copper", "cable_kind": "building"},
        {"form": "cable", "metal": "copper", "cable_kind": "data"},
    ),
}
BY_NAME_ONLY = {"live-rounds": "brass-cases"}


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize(("caution", "parts"), SHOWN.items(), ids=SHOWN)
def test_a_caution_is_shown_with_what_it_concerns(
    day: str, caution: str, parts: tuple[dict[str, Any], dict[str, Any]]
) -> None:
    """Each caution stands with a part that it concerns, and not with the nearest that it does not."""
    concerned, not_concerned = parts
    assert caution in cautions(concerned, day)
    assert caution not in cautions(not_concerned, day)


@pytest.mark.parametrize(("caution", "grade"), BY_NAME_ONLY.items())
def test_a_caution_of_a_grade_sold_by_name(caution: str, grade: str) -> None:
    """Where only a name is given, the cautions of that grade are shown with it."""
    assert caution in {shown.id for shown in on(TODAY).cautions(None, grade)}


@pytest.mark.parametrize("day", DAYS)
def test_a_named_grade_is_warned_of_like_what_its_rules_describe(day: str) -> None:
    """Every caution of a part that a rule describes, value by value, stands with its grade's name."""
    grader = on(day)
    tried = 0
    for rule in grader.rulebook.rules:
        cells = [[cell for cell in grader.index.axes[c.attribute].cells if c.holds(cell)] for c in rule.when]
        for values in itertools.product(*cells):
            said = describe(grader, dict(zip((c.attribute for c in rule.when), values, strict=True)))
            if isinstance(said.outcome, Graded):
                tried += 1
                missing = set(said.cautions) - set(grader.cautions(None, said.outcome.grade))
                assert not missing, (rule.id, values, {caution.id for caution in missing})
    assert tried > 600


NAMED = {
    "power-supplies": {"stored-charge"},
    "capacitors-oil": {"stored-charge"},
    "capacitors-electrolytic": {"stored-charge"},
    "laptops": {"lithium-cells", "data-on-devices", "weee-first"},
    "phones": {"lithium-cells", "data-on-devices", "boards-come-out"},
    "tablets": {"lithium-cells", "data-on-devices"},
    "boards-high": {"lead-dust", "no-acids"},
    "boards-low": {"lead-dust"},
    "picture-tubes": {"stored-charge", "picture-tube"},
    "lead-soft": {"lead-dust"},
}


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize(("grade", "shown"), NAMED.items(), ids=NAMED)
def test_a_dangerous_grade_is_warned_of_by_its_name(day: str, grade: str, shown: set[str]) -> None:
    """What can hurt in a grade is told where only the grade is named."""
    assert shown <= {caution.id for caution in on(day).cautions(None, grade)}


MAINS = ["desktop-computer", "washing-machine", "fridge", "dryer", "microwave-oven", "treadmill", "cooker"]
NO_MAINS = ["phone", "tablet", "smoke-detector", "computer-case"]


@pytest.mark.parametrize("day", DAYS)
def test_devices_on_the_mains_hold_a_charge(day: str) -> None:
    """Motor capacitors and power supplies are warned of in every large device, and where it is not known."""
    for kind in MAINS:
        assert {"stored-charge", "mains-lead"} <= cautions({**DEVICE, "device_kind": kind}, day), kind
    assert {"stored-charge", "mains-lead"} <= cautions(DEVICE, day)


@pytest.mark.parametrize("day", DAYS)
def test_what_was_never_on_the_mains_has_no_mains_lead(day: str) -> None:
    """A phone, a tablet, a smoke detector and an empty case are not to be unplugged or discharged."""
    for kind in NO_MAINS:
        assert not {"stored-charge", "mains-lead"} & cautions({**DEVICE, "device_kind": kind}, day), kind


@pytest.mark.parametrize("day", DAYS)
def test_a_whole_microwave_oven_is_warned_of_like_its_magnetron(day: str) -> None:
    """What the loose magnetron is warned of stands with the oven around it too."""
    assert cautions({"assembly": "magnetron"}, day) <= cautions(
        {**DEVICE, "device_kind": "microwave-oven"}, day
    )


def test_no_caution_is_left_out_here() -> None:
    """Every caution of every edition is tried above."""
    for day in DAYS:
        assert set(on(day).rulebook.cautions) == {*SHOWN, *BY_NAME_ONLY}


@pytest.mark.parametrize("day", DAYS)
def test_a_copper_pipe_is_harmless(day: str) -> None:
    """With a clean copper pipe stands what the law says of selling it, and nothing else."""
    assert cautions(COPPER_PIPE, day) == {"seller-records"}
