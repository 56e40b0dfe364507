"""Work as the trade does it, in the newest version that ships: the steps that bring the most, for parts that
come out of devices. That these sequences are done is common practice; prices, weights and the order by what
they bring are made up here. What is best is told as trying every sequence tells it.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Any

import pytest
from tests.checks.shipped import grade_by_newest as grade_of
from tests.checks.shipped import newest
from tests.core.work import Paid, best, price_list, sequences

from gradewright.core.observations import Observed, read_observations
from gradewright.core.pricelist import PriceList
from gradewright.core.routes import Routes, routes
from gradewright.core.worthwhile import Lump, Worthwhile, worthwhile

# Dollars a kilogram, made up.
PRICES = {
    "copper-bright": "8.00", "copper-no1": "7.80", "copper-no2": "7.20", "copper-breakage": "2.50",
    "wire-60": "4.40", "wire-50": "3.60", "wire-cord-plug": "2.40", "wire-harness": "2.70",
    "brass-yellow": "4.50", "brass-red": "5.30", "brass-red-big": "4.90", "brass-with-iron": "2.20",
    "plug-ends": "1.00", "plug-pins": "4.20", "connectors-plain": "1.00", "connectors-gold": "20.00",
    "aluminium-sheet": "1.30", "aluminium-foil": "0.65", "aluminium-cast": "1.20",
    "aluminium-breakage": "0.50", "aluminium-irony": "0.25", "aluminium-radiators": "1.15",
    "aluminium-copper-radiators": "3.90", "aluminium-copper-radiators-ends": "3.30",
    "aluminium-turnings": "0.75", "light-iron": "0.20", "iron-with-foreign": "0.12",
    "steel-turnings": "0.15", "cast-iron": "0.27", "cast-iron-to-break": "0.22",
    "motors-copper": "0.85", "motors-with-iron": "0.50", "transformers-copper": "0.95", "relays": "1.10",
    "contacts-on-arms": "9.00", "silver-contacts": "300.00", "power-supplies": "0.60",
    "boards-low": "0.70", "boards-high": "8.00", "hard-disks": "1.20", "hard-disks-no-board": "0.70",
    "fans": "0.25", "capacitors-electrolytic": "0.25", "wheel-weights-mixed": "0.60",
    "lead-wheel-weights": "0.95", "zinc-old": "1.20", "appliances-whole": "0.16",
    "appliances-undrained": "-0.30", "small-electronics": "0.12", "small-electronics-battery": "-0.20",
    "batteries-lithium": "0.30", "batteries-nickel": "0.60", "residue": "-0.15", "plastics": "0.02",
}  # fmt: skip
CABLE = {"form": "cable", "metal": "copper"}
CORD = {**CABLE, "cable_kind": "cord"}
COIL = {"assembly": "radiator", "radiator_type": "aluminium-on-copper"}
TUBE = {"metal": "copper", "form": "tube"}
WEIGHTS = {"assembly": "wheel-weight", "metal": "mixed"}
BIG = {"metal": "brass", "form": "big-piece", "colour_when_filed": "red", "largest_dimension": "20 in"}
CORDLESS = {"assembly": "whole-device", "device_kind": "cordless-device", "battery_fitted": True}

CASES: dict[str, tuple[dict[str, Any], str, Sequence[str], str]] = {
    "a cord off an appliance": (
        {**CORD, "plug_attached": True, "copper_share": "55 %"},
        "wire-cord-plug", ["cut-plug-off", "strip-cord"], "copper-no2",
    ),
    "leads with their connectors": (
        {**CABLE, "cable_kind": "harness", "connectors_attached": True, "copper_share": "58 %"},
        "wire-harness", ["cut-connectors-off", "strip-leads"], "copper-no2",
    ),
    "leads with gold connectors": (
        {**CABLE, "cable_kind": "harness", "connectors_attached": True, "copper_share": "58 %",
         "contact_edge": "gold"},
        "wire-harness", ["cut-gold-connectors-off", "strip-leads"], "copper-no2",
    ),
    "house cable": (
        {**CABLE, "cable_kind": "building", "insulation": "double", "copper_share": "66 %"},
        "wire-60", ["strip-house-wire-60"], "copper-bright",
    ),
    "house cable that is tinned": (
        {**CABLE, "cable_kind": "building", "insulation": "double", "copper_share": "66 %",
         "surface": "tinned"},
        "wire-60", ["strip-old-house-wire"], "copper-no2",
    ),
    "a motor with its gearbox": (
        {"assembly": "geared-motor", "winding_metal": "copper"},
        "motors-with-iron", ["take-gearbox-off", "open-motor-copper"], "copper-no2",
    ),
    "a contactor": (
        {"assembly": "contactor"},
        "relays", ["open-contactor", "cut-contacts-off"], "silver-contacts",
    ),
    "a relay": ({"assembly": "relay"}, "relays", ["open-relay", "cut-contacts-off"], "silver-contacts"),
    "a supply in its box": (
        {"assembly": "power-supply"},
        "power-supplies", ["open-power-supply", "take-heavy-parts-off-board"], "boards-low",
    ),
    "a hard disk": (
        {"assembly": "hard-disk"},
        "hard-disks", ["take-board-off-hard-disk", "open-hard-disk"], "aluminium-cast",
    ),
    "a coil with its end plates": (
        {**COIL, "attached": "iron"},
        "aluminium-copper-radiators-ends", ["cut-iron-ends-off", "separate-fins-from-tube"], "copper-no1",
    ),
    "a tube with soldered fittings": (
        {**TUBE, "attached": "brass-or-copper", "surface": "soldered", "foreign_share": "12 %"},
        "copper-breakage", ["cut-fittings-off-tube", "cut-soldered-ends"], "copper-no1",
    ),
    "a tube in its foam": (
        {**TUBE, "attached": "plastic", "surface": "bare", "foreign_share": "7 %"},
        "copper-breakage", ["clear-copper-of-plastic"], "copper-no1",
    ),
    "a long red valve with an iron wheel": (
        {**BIG, "attached": "iron", "surface": "bare"},
        "brass-with-iron", ["clear-brass-of-iron", "cut-red-brass-to-size"], "brass-red",
    ),
    "a red valve on an iron frame": (
        {"form": "compound", "main_metal": "brass", "colour_when_filed": "red", "surface": "bare",
         "largest_dimension": "20 in", "foreign_share": "30 %"},
        "brass-with-iron", ["break-brass-free", "cut-red-brass-to-size"], "brass-red",
    ),
    "a brass tap with a plastic handle": (
        {"metal": "brass", "form": "casting", "attached": "plastic", "colour_when_filed": "yellow",
         "surface": "bare", "foreign_share": "6 %"},
        "brass-with-iron", ["clear-brass-of-plastic"], "brass-yellow",
    ),
    "plug ends": ({"assembly": "plug-end"}, "plug-ends", ["crack-plug-ends"], "plug-pins"),
    "a bucket of weights, most of them steel": (
        {**WEIGHTS, "iron_share": "55 %"},
        "iron-with-foreign", ["draw-steel-weights", "sort-lead-weights"], "lead-wheel-weights",
    ),
    "a freezer with its cord": (
        {"assembly": "whole-device", "device_kind": "freezer", "drained": False, "plug_attached": True},
        "appliances-undrained", ["cut-cord-off-appliance", "drain-cooling-appliance"], "appliances-whole",
    ),
    "a cordless drill": (
        {**CORDLESS, "battery_type": "nickel"},
        "small-electronics-battery", ["take-nickel-battery-out"], "small-electronics",
    ),
    "a toy of which the battery is not known": (
        CORDLESS, "small-electronics-battery", ["take-battery-out"], "small-electronics",
    ),
    "aluminium on iron": (
        {"form": "compound", "main_metal": "aluminium", "aluminium_share": "30 %"},
        "aluminium-irony", ["break-aluminium-free"], "aluminium-cast",
    ),
    "a heat sink with its regulators on": (
        {"metal": "aluminium", "form": "joined-fins", "attached": "other", "foreign_share": "15 %"},
        "aluminium-breakage", ["take-regulators-off-heat-sink"], "aluminium-sheet",
    ),
    "turnings with iron in them": (
        {"metal": "aluminium", "form": "turnings", "iron_share": "18 %"},
        "aluminium-irony", ["draw-iron-out-of-turnings"], "aluminium-turnings",
    ),
}  # fmt: skip
GRAMS, PIECES = Decimal(2000), 1


@cache
def prices() -> PriceList:
    """The prices above."""
    return price_list(newest().rulebook, {grade: {None: price} for grade, price in PRICES.items()})


def told(found: Routes, grade: str) -> tuple[Worthwhile, ...]:
    """What pays, at the prices above."""
    price = prices().price(grade, GRAMS)
    assert price is not None
    _, likely, _, under = price.scale
    now = (likely * int(GRAMS), under)
    lump = Lump(GRAMS, (int(GRAMS), 1), PIECES)
    return worthwhile(found, prices(), lambda _: Decimal(0), now=now, lump=lump)


def tried(part: Observed, grade: str) -> list[Paid]:
    """The same by trying every sequence."""
    found = list(sequences(newest().rulebook, part, grade_of, pieces=PIECES, grams=Fraction(GRAMS)))
    return best(found, grade, prices(), {}, GRAMS)


@pytest.mark.parametrize("case", CASES)
def test_the_work_that_brings_most_is_what_the_trade_does(case: str) -> None:
    """The steps that add the most in all are those that are done, and end where they are said to."""
    observations, before, steps, after = CASES[case]
    part = read_observations(newest().rulebook.attributes, observations)
    assert grade_of(part) == before
    found = told(routes(newest(), part, before), before)
    [most] = [each for each in found if each.best_in_all]
    assert ([step.id for step in most.preparations], most.route.grade) == (list(steps), after)
    in_all = max(tried(part, before), key=lambda each: each.gain)
    assert (list(in_all.done.ids), in_all.done.grade, in_all.gain) == (list(steps), after, most.gain)
    assert {tuple(step.id for step in each.preparations) for each in found} <= {
        each.done.ids for each in tried(part, before)
    }


def test_there_are_enough_of_them_in_steps() -> None:
    """A dozen of the cases take two steps and more."""
    assert sum(len(steps) > 1 for _, _, steps, _ in CASES.values()) >= 12
