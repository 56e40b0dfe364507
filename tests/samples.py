"""A rulebook small enough to know by heart, for tests that need one and not the one that ships."""

from __future__ import annotations

import copy
from typing import Any

from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.document import from_yaml, read

TEXT = """
version: "2020.1"
effective_from: 2020-01-01
title: "A small rulebook"
summary: "The first."
families:
  copper: {name: "Copper"}
  ferrous: {name: "Ferrous"}
limits:
  heavy_steel_thickness: {value: 6.35 mm, means: "thinnest heavy steel", source: "made for tests"}
attributes:
  metal:
    kind: choice
    asks: "What metal is it?"
    choices: {copper: "red when filed", steel: "grey, sticks to a magnet"}
    test: "file a corner"
    minutes: 0.5
    beware: "plating"
  sticks_to_magnet: {kind: yes_no, asks: "Magnetic?", test: "try one", minutes: 0.1, beware: "plating"}
  thickness: {kind: length, asks: "How thick?", test: "calliper", minutes: 0.3, beware: "taper"}
  steel_screws: {kind: yes_no, asks: "Any steel screws?", test: "look", minutes: 0.2, beware: "inserts"}
  foreign_share: {kind: share, asks: "How much else?", test: "scale", minutes: 2, beware: "hidden foam"}
grades:
  copper-no1: {name: "Copper No. 1", family: copper, aliases: ["number one"], describes: "Clean."}
  copper-no2:
    name: "Copper No. 2"
    family: copper
    aliases: ["Birch"]
    describes: "Soldered."
    priced_as: {grade: copper-no1, factor: "0.9"}
  copper-residue:
    name: "Copper-bearing residue"
    family: copper
    describes: "With iron."
    priced_as: {grade: copper-no2, factor: "0.5"}
  steel-heavy: {name: "Heavy steel", family: ferrous, describes: "Thick."}
  light-iron: {name: "Light iron", family: ferrous, aliases: ["tin", "shred"], describes: "Thin."}
  screws: {name: "Steel screws", family: ferrous, describes: "Loose.", by_name_only: true}
impossible:
  - id: magnetic-copper
    when: {metal: copper, sticks_to_magnet: true}
    because: "Plated steel."
    source: "common practice"
rules:
  - id: copper-with-screws
    grade: copper-residue
    when: {metal: copper, steel_screws: true}
    because: "A screw left in takes it down."
    source: "common practice"
    confidence: common-practice
  - id: clean-copper
    grade: copper-no1
    when: {metal: copper, steel_screws: false}
    because: "Clean copper."
    source: "made for tests"
    confidence: published
  - id: thick-steel
    grade: steel-heavy
    when: {metal: steel, thickness: {at_least: heavy_steel_thickness}}
    because: "Thick enough."
    source: "made for tests"
    confidence: published
  - id: thin-steel
    grade: light-iron
    when: {metal: steel, thickness: {below: heavy_steel_thickness}}
    because: "Too thin."
    source: "made for tests"
    confidence: published
preparations:
  back-out-screws:
    name: "Back out the steel screws"
    when: {metal: copper, steel_screws: true}
    changes: {steel_screws: false}
    minutes: 3
    per: piece
    sheds: {grade: screws, share: 10 %}
    how: "A driver."
    cautions: [sharp]
cautions:
  sharp:
    name: "Sharp edges"
    when: [{metal: steel}]
    unless: [{thickness: {at_least: 20 mm}}]
    says: "Wear gloves."
    source: "common practice"
  dust:
    name: "Dust"
    when: [{foreign_share: {above: 50 %}}]
    grades: [copper-residue]
    says: "Wear a mask."
    source: "common practice"
pricing:
  stale_after: 120
  half_life: 30
  evidence: {ticket: 1, written-list: 0.8, sign: 0.8, told: 0.5}
  thin_below: 3
  thin_margin: 10 %
examples:
  - {part: {metal: steel, thickness: 6.35 mm}, grade: steel-heavy, note: "on the line"}
  - {part: {metal: steel, thickness: 6.34 mm}, grade: light-iron, note: "below it"}
  - {part: {metal: copper}, candidates: [copper-residue, copper-no1], note: "screws?"}
  - {part: {metal: copper, sticks_to_magnet: true}, contradiction: magnetic-copper, note: "plated"}
  - {part: {sticks_to_magnet: true, thickness: 1 mm}, grade: light-iron, note: "a magnet is enough"}
"""


def document(**changes: Any) -> dict[str, Any]:
    """The small rulebook as a document, with some of its top-level keys replaced."""
    return {**copy.deepcopy(from_yaml(TEXT)), **changes}


def rulebook() -> Rulebook:
    """The small rulebook."""
    return read(document())
