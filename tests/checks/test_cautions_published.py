"""What law and safety sources say of a part, as the caution or the grade on both sides of a day or a year.

Sources: 40 CFR 761.2, PCB assumptions (seen in three copies); EPA fact sheet on ballasts, July 2020 (seen);
40 CFR 82 subpart F, refrigerants (seen: the agency's pages); UK Clean Air Act 1993 (rule seen, section from
memory); UK Scrap Metal Dealers Act 2013 (seen); UK ban on asbestos of 24 November 1999 (from memory).
"""

from __future__ import annotations

from typing import Any

import pytest
from tests.checks.shipped import DAYS, TODAY, UNDECIDED, answer, cautions

OIL: dict[str, Any] = {"assembly": "capacitor", "capacitor_type": "oil"}
BALLAST: dict[str, Any] = {"assembly": "lamp-ballast", "ballast_type": "magnetic"}


# 40 CFR 761.2(a)(4): a capacitor made before 2 July 1979 must be assumed to hold PCB; one made after may be
# assumed not to; of unknown date it must be assumed; marked "No PCBs" it is not. The rule leaves the day
# itself open ("before", "after"); the rulebook counts it as after.
@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize(
    ("known", "shown", "expected"),
    [
        ({"made_date": "1979-07-01"}, True, UNDECIDED + "ballasts-pcb, capacitors-oil"),
        ({"made_date": "1979-07-01", "no_pcb_mark": False}, True, "ballasts-pcb"),
        ({"made_date": "1979-07-02", "no_pcb_mark": False}, False, "capacitors-oil"),
        ({"made_date": "1979-07-03", "no_pcb_mark": False}, False, "capacitors-oil"),
        ({"made_date": "1979-07-02"}, False, "capacitors-oil"),
        ({"no_pcb_mark": True}, False, "capacitors-oil"),
        ({"made_date": "1979-07-01", "no_pcb_mark": True}, False, "capacitors-oil"),
        ({"no_pcb_mark": False}, True, UNDECIDED + "ballasts-pcb, capacitors-oil"),
        ({}, True, UNDECIDED + "ballasts-pcb, capacitors-oil"),
        ({"made_year": 1978, "no_pcb_mark": False}, True, "ballasts-pcb"),
        ({"made_year": 1979, "no_pcb_mark": False}, True, UNDECIDED + "ballasts-pcb, capacitors-oil"),
        ({"made_year": 1980, "no_pcb_mark": False}, False, "capacitors-oil"),
    ],
)
def test_oil_capacitors_by_date(day: str, known: dict[str, Any], shown: bool, expected: str) -> None:
    """An oil capacitor is taken to hold PCB unless its date or its mark shows otherwise."""
    part = {**OIL, **known}
    assert ("pcb-capacitor" in cautions(part, day)) is shown
    assert answer(day, part) == expected


# Ballasts: the grade follows the capacitor's date (40 CFR 761.2). The caution stays until the mark is read,
# or the years are past in which those without PCB had to be marked: 1 July 1978 to 1 July 1998 (EPA).
@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize(
    ("known", "shown", "expected"),
    [
        ({"made_date": "1979-07-01", "no_pcb_mark": False}, True, "ballasts-pcb"),
        ({"made_date": "1979-07-02", "no_pcb_mark": False}, True, "ballasts"),
        ({"made_date": "1985-03-01", "no_pcb_mark": False}, True, "ballasts"),
        ({"made_year": 1985, "no_pcb_mark": False}, True, "ballasts"),
        ({"made_date": "1998-12-31", "no_pcb_mark": False}, True, "ballasts"),
        ({"made_date": "1999-01-01", "no_pcb_mark": False}, False, "ballasts"),
        ({"made_year": 1998, "no_pcb_mark": False}, True, "ballasts"),
        ({"made_year": 1999, "no_pcb_mark": False}, False, "ballasts"),
        ({"no_pcb_mark": True}, False, "ballasts"),
        ({}, True, UNDECIDED + "ballasts, ballasts-pcb"),
    ],
)
def test_ballasts_by_date(day: str, known: dict[str, Any], shown: bool, expected: str) -> None:
    """A magnetic ballast is of the PCB years until shown otherwise; an unmarked one keeps the caution."""
    part = {**BALLAST, **known}
    assert ("pcb-ballast" in cautions(part, day)) is shown
    assert answer(day, part) == expected


def test_an_electronic_ballast_is_not_of_the_pcb_years() -> None:
    """A ballast with a circuit board needs no date."""
    part = {"assembly": "lamp-ballast", "ballast_type": "electronic"}
    assert "pcb-ballast" not in cautions(part)
    assert answer(TODAY, part) == "ballasts-electronic"


# 40 CFR 82 subpart F: the last in the chain answers for the refrigerant, and needs the signed statement.
@pytest.mark.parametrize(
    "part",
    [
        {"assembly": "compressor"},
        {"assembly": "whole-device", "device_kind": "fridge"},
        {"assembly": "whole-device", "device_kind": "freezer"},
        {"assembly": "whole-device", "device_kind": "air-conditioner"},
    ],
)
@pytest.mark.parametrize(
    ("known", "shown"),
    [
        ({}, {"refrigerant"}),
        ({"drained": False}, {"refrigerant"}),
        ({"drained": True}, {"refrigerant-statement"}),
    ],
)
def test_refrigerant(part: dict[str, Any], known: dict[str, Any], shown: set[str]) -> None:
    """What may hold a refrigerant is taken to hold it until the statement is there; then it is to be kept."""
    both = {"refrigerant", "refrigerant-statement"}
    assert cautions({**part, **known}) & both == shown
    costs = answer(TODAY, {**part, **known}) in ("compressors-undrained", "appliances-undrained")
    assert costs is (known.get("drained") is False)


@pytest.mark.parametrize(
    "part",
    [
        {"assembly": "heating-element"},
        {"assembly": "whole-device", "device_kind": "heater"},
        {"assembly": "whole-device", "device_kind": "iron"},
        {"assembly": "whole-device", "device_kind": "cooker"},
        {"form": "cable", "metal": "copper", "cable_kind": "lead-sheathed"},
        {"form": "cable", "metal": "copper", "cable_kind": "cord", "insulation": "lead-or-fabric"},
    ],
)
@pytest.mark.parametrize(
    ("known", "shown"), [({"made_year": 1999}, True), ({"made_year": 2000}, False), ({}, True)]
)
def test_asbestos_by_year(part: dict[str, Any], known: dict[str, int], shown: bool) -> None:
    """Old heaters, irons, ovens and cloth-covered wire may hold asbestos; those made from 2000 on do not."""
    assert ("asbestos" in cautions({**part, **known})) is shown


# The test for a battery of the rulebook itself: no mark, treat it as lithium (49 CFR 173.185, from memory).
@pytest.mark.parametrize(
    ("kind", "shown"),
    [
        ({"battery_type": "lithium"}, True),
        ({}, True),
        ({"battery_type": "nickel"}, False),
        ({"battery_type": "lead-acid"}, False),
        ({"battery_type": "household"}, False),
    ],
)
def test_a_battery_of_unknown_kind_is_taken_to_be_lithium(kind: dict[str, str], shown: bool) -> None:
    """Only a battery known to be of another kind is free of the caution for lithium."""
    assert ("lithium-cells" in cautions({"assembly": "battery", **kind})) is shown


# UK Clean Air Act 1993: burning insulation to win the metal. Burnt wire is out of Berry and Birch (seen).
@pytest.mark.parametrize(
    "part",
    [
        {"form": "cable", "metal": "copper", "cable_kind": "building"},
        {"form": "winding", "metal": "copper"},
        {"form": "wire", "metal": "copper", "surface": "burnt"},
    ],
)
def test_do_not_burn_insulation(part: dict[str, Any]) -> None:
    """With cable, windings and burnt wire stands the caution against burning; with bare wire it does not."""
    assert "no-burning" in cautions(part)
    assert "no-burning" not in cautions({"form": "wire", "metal": "copper", "surface": "bright"})
