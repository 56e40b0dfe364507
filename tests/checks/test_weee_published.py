"""What Directive 2012/19/EU, Annex VII, wants out of a device first: the caution is there, or it is not.

Annex VII(1) was seen in two copies, the consolidated one of 8 April 2024 among them. Its numbers: boards over
10 cm2, and those of mobile phones at any size; liquid-crystal screens over 100 cm2, and at any size those lit
by gas-discharge lamps; electrolyte capacitors over 25 mm high or wide.
"""

from __future__ import annotations

from typing import Any

import pytest
from tests.checks.shipped import DAYS, answer, cautions

BOARD: dict[str, Any] = {"assembly": "board", "form": "board", "metal": "mixed"}
SCREEN: dict[str, Any] = {"assembly": "screen", "screen_type": "flat"}
CAPACITOR: dict[str, Any] = {"assembly": "capacitor", "capacitor_type": "electrolytic"}
DEVICE: dict[str, Any] = {"assembly": "whole-device"}


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize(
    ("features", "area", "shown"),
    [
        ("dense-chips", "10 cm2", False),
        ("dense-chips", "10.0 cm2", False),
        ("dense-chips", "1000 mm2", False),
        ("dense-chips", "9.9 cm2", False),
        ("dense-chips", "10.1 cm2", True),
        ("dense-chips", "1001 mm2", True),
        ("few-chips", "10.1 cm2", True),
        ("gold-edge", "1.55 in2", False),  # 9.99998 cm2
        ("gold-edge", "1.56 in2", True),
        ("phone", "1 cm2", True),
        ("phone", "10.0 cm2", True),
        ("phone", "30 cm2", True),
    ],
)
def test_boards_by_area(day: str, features: str, area: str, shown: bool) -> None:
    """Boards over 10 cm2 come out first, and those of mobile phones whatever their size."""
    part = {**BOARD, "board_features": features, "board_area": area}
    assert ("boards-come-out" in cautions(part, day)) is shown


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize(
    ("backlight", "area", "shown"),
    [
        ("led", "100 cm2", False),
        ("led", "99.9 cm2", False),
        ("led", "100.01 cm2", True),
        ("led", "101 cm2", True),
        ("gas-discharge", "1 cm2", True),
        ("gas-discharge", "100 cm2", True),
        ("gas-discharge", "1500 cm2", True),
    ],
)
def test_liquid_crystal_screens_by_area_and_light(day: str, backlight: str, area: str, shown: bool) -> None:
    """Screens over 100 cm2 come out first, and those lit by discharge lamps whatever their size."""
    part = {**SCREEN, "backlight": backlight, "screen_area": area}
    assert ("large-liquid-crystal" in cautions(part, day)) is shown
    assert answer(day, part) == "flat-panels"


@pytest.mark.parametrize(
    ("known", "shown"),
    [({"backlight": "gas-discharge"}, True), ({}, True), ({"backlight": "led"}, False)],
)
def test_a_backlight_of_unknown_kind_is_taken_to_hold_mercury(known: dict[str, str], shown: bool) -> None:
    """Only a panel known to be lit by LEDs is free of the caution for mercury."""
    assert ("mercury-backlight" in cautions({**SCREEN, "screen_area": "50 cm2", **known})) is shown


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize(
    ("height", "shown"),
    [
        ("24.9 mm", False),
        ("25 mm", False),
        ("25.0 mm", False),
        ("25.01 mm", True),
        ("25.1 mm", True),
        ("1 in", True),
    ],
)
def test_electrolyte_capacitors_by_size(day: str, height: str, shown: bool) -> None:
    """Electrolyte capacitors over 25 mm come out first."""
    part = {**CAPACITOR, "capacitor_height": height}
    assert ("oil-filled-electrolyte" in cautions(part, day)) is shown
    assert answer(day, part) == "capacitors-electrolytic"


@pytest.mark.parametrize("kind", ["film", "tantalum", "multilayer"])
def test_other_capacitors_are_not_electrolyte_capacitors(kind: str) -> None:
    """The size of a capacitor without electrolyte brings no caution for electrolyte."""
    part = {"assembly": "capacitor", "capacitor_type": kind, "capacitor_height": "30 mm"}
    assert "oil-filled-electrolyte" not in cautions(part)


# Line by line: a part that the line names, and the nearest one that it does not.
@pytest.mark.parametrize(
    ("caution", "named", "not_named"),
    [
        (
            "pcb-capacitor",
            {"assembly": "capacitor", "capacitor_type": "oil"},
            {"assembly": "capacitor", "capacitor_type": "film"},
        ),
        ("mercury-lamps", {"assembly": "mercury-switch"}, {"assembly": "relay"}),
        ("mercury-lamps", {"assembly": "lamp"}, {"assembly": "lamp-ballast"}),
        (
            "battery-acid",
            {"assembly": "battery", "battery_type": "lead-acid"},
            {"assembly": "battery", "battery_type": "nickel"},
        ),
        (
            "lithium-cells",
            {"assembly": "battery", "battery_type": "lithium"},
            {"assembly": "battery", "battery_type": "household"},
        ),
        ("toner-dust", {"assembly": "toner-cartridge"}, {"assembly": "fan"}),
        (
            "toner-dust",
            {**DEVICE, "device_kind": "printer"},
            {**DEVICE, "device_kind": "network-device"},
        ),
        (
            "brominated-plastic",
            {"metal": "non-metal", "material": "plastic"},
            {"metal": "non-metal", "material": "wood"},
        ),
        ("asbestos", {**DEVICE, "device_kind": "heater"}, {**DEVICE, "device_kind": "printer"}),
        (
            "picture-tube",
            {"assembly": "screen", "screen_type": "tube"},
            {"assembly": "screen", "screen_type": "flat"},
        ),
        (
            "refrigerant",
            {**DEVICE, "device_kind": "fridge"},
            {**DEVICE, "device_kind": "washing-machine"},
        ),
        (
            "foam-gases",
            {**DEVICE, "device_kind": "freezer"},
            {**DEVICE, "device_kind": "air-conditioner"},
        ),
        (
            "external-cables",
            {**DEVICE, "device_kind": "printer", "plug_attached": True},
            {**DEVICE, "device_kind": "printer", "plug_attached": False},
        ),
        ("ceramic-fibre", {**DEVICE, "device_kind": "cooker"}, {**DEVICE, "device_kind": "dishwasher"}),
        (
            "radioactive-source",
            {**DEVICE, "device_kind": "smoke-detector"},
            {**DEVICE, "device_kind": "audio-video"},
        ),
        ("weee-first", {**DEVICE, "device_kind": "vacuum-cleaner"}, {"assembly": "motor"}),
    ],
)
def test_a_line_of_the_annex(caution: str, named: dict[str, Any], not_named: dict[str, Any]) -> None:
    """A caution that rests on the annex is shown with what the annex names and not with what is beside it."""
    assert caution in cautions(named)
    assert caution not in cautions(not_named)


@pytest.mark.parametrize("kind", ["phone", "laptop", "tablet", "cordless-device", "smoke-detector", "fridge"])
def test_every_whole_device_has_the_whole_list(kind: str) -> None:
    """Whatever the device, the list of what comes out first is shown with it."""
    assert "weee-first" in cautions({**DEVICE, "device_kind": kind})
