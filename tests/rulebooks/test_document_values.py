"""Values of a rulebook document are held to their kinds and units, and read exactly."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from tests.rulebooks.changing import Change, at, changed, faults_of
from tests.samples import document

from gradewright.core.rulebook import Shed
from gradewright.rulebooks.document import read

WRONG_VALUES = [
    pytest.param(
        at("limits", "heavy_steel_thickness", "value", value="6.35 kg"),
        ("limits", "heavy_steel_thickness", "value"),
        id="a limit of length in kilograms",
    ),
    pytest.param(
        at("limits", "heavy_steel_thickness", "value", value="6.35"),
        ("limits", "heavy_steel_thickness", "value"),
        id="a limit without a unit",
    ),
    pytest.param(
        at("rules", 2, "when", "thickness", value={"at_least": "3 lb"}),
        ("rules", 2, "when", "thickness", "at_least"),
        id="a bound in pounds",
    ),
    pytest.param(
        at("rules", 2, "when", "thickness", value="thick"),
        ("rules", 2, "when", "thickness"),
        id="a word for a length",
    ),
    pytest.param(
        at("rules", 0, "when", "foreign_share", value={"above": "0.05"}),
        ("rules", 0, "when", "foreign_share", "above"),
        id="a share without its sign",
    ),
    pytest.param(
        at("examples", 0, "part", "thickness", value="6.35 kg"),
        ("examples", 0, "part", "thickness"),
        id="an example in kilograms",
    ),
    pytest.param(
        at("examples", 0, "part", "thickness", value="-1 mm"),
        ("examples", 0, "part", "thickness"),
        id="below zero",
    ),
    pytest.param(
        at("rules", 0, "when", "steel_screws", value="yes"),
        ("rules", 0, "when", "steel_screws"),
        id="yes in quotes",
    ),
    pytest.param(
        at("rules", 0, "when", "metal", value=["copper", "coper"]),
        ("rules", 0, "when", "metal"),
        id="no such choice",
    ),
    pytest.param(
        at("rules", 0, "when", "metal", value={"at_least": "copper"}),
        ("rules", 0, "when", "metal"),
        id="a range of choices",
    ),
    pytest.param(
        at("rules", 0, "when", "steel_screws", value={"above": False}),
        ("rules", 0, "when", "steel_screws"),
        id="more than no",
    ),
    pytest.param(
        at("preparations", "back-out-screws", "changes", "steel_screws", value="none"),
        ("preparations", "back-out-screws", "changes", "steel_screws"),
        id="a change to what it cannot be",
    ),
]


@pytest.mark.parametrize(("change", "place"), WRONG_VALUES)
def test_a_value_that_the_attribute_does_not_take(change: Change, place: tuple[str | int, ...]) -> None:
    """A value of another kind, or without its unit, is a fault at its place."""
    found = faults_of(changed(change))
    assert place in [fault.at for fault in found]
    assert {fault.at[0] for fault in found} <= {place[0], "limits"}


def of_two_kinds(value: str, kind: str) -> dict[str, Any]:
    """The small rulebook with one limit for a thickness, and for something of another kind in two places."""
    source = document()
    source["attributes"]["made"] = {**source["attributes"]["thickness"], "kind": kind}
    source["limits"]["line"] = {"value": value, "means": "x", "source": "x"}
    source["rules"][2]["when"]["thickness"] = {"at_least": "line"}
    source["rules"][1]["when"]["made"] = {"below": "line"}
    source["cautions"]["sharp"]["unless"] = [{"made": {"at_least": "line"}}, {"thickness": {"above": "line"}}]
    return source


KINDS = {
    "share": ("5 %", "a share"),
    "area": ("10 cm2", "an area"),
    "density": ("8.9 g/cm3", "a density"),
    "year": ("1980", "a year"),
    "date": ("2005-08-13", "a date"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_a_limit_is_of_one_kind(kind: str) -> None:
    """Each use of a limit on something of another kind than its first use is a fault where it stands,
    whatever its value reads as; what is measured alike may share one."""
    for value in ("0.5 mm", KINDS[kind][0]):
        told = {fault.at: fault.detail for fault in faults_of(of_two_kinds(value, kind))}
        thickness, sharp = ("rules", 2, "when", "thickness", "at_least"), ("cautions", "sharp", "unless")
        wrong = {thickness, (*sharp, 1, "thickness", "above")}
        assert told.keys() - {("limits", "line", "value")} == wrong
        assert (
            f"line is {KINDS[kind][1]} elsewhere (rule clean-copper, when made below), and thickness is a "
            "length: make two limits"
        ) in told[thickness]
    assert read(of_two_kinds("0.5 mm", "length")).limits["line"].value == Decimal("0.5")


def test_a_bound_on_what_has_no_order_says_nothing_of_a_limit() -> None:
    """It is a fault of its own, and the limit is still what it is where it is used rightly."""
    source = changed(at("rules", 0, "when", "metal", value={"at_least": "heavy_steel_thickness"}))
    assert [fault.at for fault in faults_of(source)] == [("rules", 0, "when", "metal")]


def test_values_are_read_exactly() -> None:
    """Limits, factors and shares are exact decimals in the kind's own unit."""
    book = read(document())
    assert book.limits["heavy_steel_thickness"].value == Decimal("6.35")
    assert book.grades["copper-no2"].kin_factor == Decimal("0.9")
    assert book.preparations["back-out-screws"].sheds == (Shed("screws", Decimal("0.1")),)
    assert book.pricing.thin_margin == Decimal("0.1")
