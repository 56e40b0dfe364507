"""The treadmill's parts as the interface takes them, and what each is meant to be."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from typing import Any

from gradewright.core.rulebook import Rulebook
from gradewright.demo.scenario import TREADMILL

INTENDED: Mapping[str, tuple[str, str | None]] = {
    "drive motor": ("graded", "motors-copper"),
    "flywheel": ("graded", "cast-iron"),
    "incline motor with gearbox": ("graded", "motors-with-iron"),
    "controller board": ("graded", "boards-low"),
    "heat sink with its screws": ("graded", "aluminium-breakage"),
    "filter capacitors": ("graded", "capacitors-electrolytic"),
    "choke": ("undecided", None),
    "mains cord with its plug": ("graded", "wire-cord-plug"),
    "wiring harness with connectors": ("graded", "wire-harness"),
    "display board": ("named", "boards-low"),
    "frame of square tube": ("graded", "light-iron"),
    "motor mounting plate": ("graded", "steel-heavy"),
    "rollers": ("graded", "steel-heavy-no2"),
    "side rails": ("graded", "aluminium-extrusion-painted"),
    "pulse grips": ("graded", "stainless-18-8"),
    "bearings": ("named", "steel-heavy"),
    "screws and bolts": ("graded", "light-iron"),
    "deck": ("graded", "wood"),
    "running belt": ("graded", "residue"),
    "plastic covers": ("graded", "plastics"),
}
"""The outcome and the grade of every part, in the order of the file."""

RAISED = {
    "drive motor": "open-motor-copper",
    "incline motor with gearbox": "take-gearbox-off",
    "heat sink with its screws": "back-out-steel-screws",
    "mains cord with its plug": "cut-plug-off",
    "wiring harness with connectors": "cut-connectors-off",
}
"""The work that would raise a part."""

FIXED = ("name", "count", "weight", "weight_each", "grade")
YES_NO = {"yes": True, "no": False}


def treadmill(rulebook: Rulebook) -> list[dict[str, Any]]:
    """The parts in the file, typed by the rulebook's attributes; read apart from the client's reader."""
    with TREADMILL.open(encoding="utf-8", newline="") as file:
        return [_part(row, rulebook) for row in csv.DictReader(file)]


def _part(row: dict[str, str], rulebook: Rulebook) -> dict[str, Any]:
    cells = {name: cell for name, cell in row.items() if cell}
    part: dict[str, Any] = {name: cells[name] for name in FIXED if name in cells}
    if "count" in part:
        part["count"] = int(part["count"])
    observed = {
        name: YES_NO[cell] if rulebook.attributes[name].kind == "yes_no" else cell
        for name, cell in cells.items()
        if name not in FIXED
    }
    return {**part, "observed": observed} if observed else part
