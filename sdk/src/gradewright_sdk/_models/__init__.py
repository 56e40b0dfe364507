"""Typed results, one module a subject. Frozen; numbers are Decimal, amounts Money, days date, instants
aware.
"""

from __future__ import annotations

from ._common import Result, Spread, Whole, read_list, read_whole
from ._gradings import Candidate, Grading, HouseLimit, NextTest, TraceStep, UnitPrice
from ._places import (
    HouseRule,
    HouseRules,
    HouseRulesAdded,
    Label,
    PostedPrice,
    Posting,
    Readiness,
    Region,
    Yard,
)
from ._prices import Basis, Kin, Point, Price, PriceList, Series, Tier, Unpriced
from ._rulebooks import Attribute, Caution, Family, Grade, Rule, Rulebook, RulebookSummary
from ._valuations import (
    PartPrice,
    Pile,
    Pins,
    Raise,
    Totals,
    Valuation,
    ValuedCandidate,
    ValuedPart,
    Weight,
    read_valuation,
)

__all__ = [
    "Attribute",
    "Basis",
    "Candidate",
    "Caution",
    "Family",
    "Grade",
    "Grading",
    "HouseLimit",
    "HouseRule",
    "HouseRules",
    "HouseRulesAdded",
    "Kin",
    "Label",
    "NextTest",
    "PartPrice",
    "Pile",
    "Pins",
    "Point",
    "PostedPrice",
    "Posting",
    "Price",
    "PriceList",
    "Raise",
    "Readiness",
    "Region",
    "Result",
    "Rule",
    "Rulebook",
    "RulebookSummary",
    "Series",
    "Spread",
    "Tier",
    "Totals",
    "TraceStep",
    "UnitPrice",
    "Unpriced",
    "Valuation",
    "ValuedCandidate",
    "ValuedPart",
    "Weight",
    "Whole",
    "Yard",
    "read_list",
    "read_valuation",
    "read_whole",
]
