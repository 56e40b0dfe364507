"""What was accepted as a cheaper grade, in words: how much of it, or from what to what it can be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal, Inexact
from fractions import Fraction
from typing import Any

from gradewright.core.accepted import MarkedDown
from gradewright.core.decimals import EXACT, plain
from gradewright.core.units import show_mass
from gradewright.settlements.expected import KILOGRAM, Expected
from gradewright.settlements.moving import names
from gradewright.settlements.words import named_lines

FROM_TO_UNTOLD = frozenset({"3", "4", "5"})
"""The methods that told of no mark-down from what to what it can be."""


def of_down(down: MarkedDown, expected: Expected) -> str:
    """That some of a bin was accepted as a cheaper grade, or may have been."""
    upper, lower = names(expected, down.bin), expected.version.rulebook.grades[down.grade].name
    lines, between = named_lines(down.lines), down.between
    if between is None:
        return f"{_shown(down.grams)} of {upper} was accepted as {lower}: it is in {lines}."
    least, most = _shown(between.least), _shown(between.most)
    says = (
        f"Between {least} and {most} of {upper} was accepted as {lower}: it is in {lines}, with others."
        if down.certain
        else f"Up to {most} of {upper} may have been accepted as {lower}, or nothing: {lines} may be of "
        "other bins alone."
    )
    if not down.shared:
        return says
    weight = _shown(down.grams) if down.grams else "nothing"
    return f"{says} It is reckoned as {weight}, by which the bins there are off alike."


def of_unsure(unsure: Sequence[MarkedDown], expected: Expected) -> Iterator[str]:
    """That of some bins nobody knows whether anything was marked down; how much it may be is told of each."""
    bins = dict.fromkeys(down.bin for down in unsure)
    if bins:
        lines = named_lines(sorted({line for down in unsure for line in down.lines}))
        of = f"Whether any of {names(expected, *bins)} was accepted as a cheaper grade"
        yield f"{of} cannot be told: {lines} may be of other bins alone."


def as_told(down: MarkedDown, expected: Expected, method: str) -> dict[str, Any]:
    """The same as plain values."""
    told = {
        "bin": expected.bins[down.bin].bin.grade,
        "accepted_as": down.grade,
        "lines": [line + 1 for line in down.lines],
        "weight": weight_of(in_grams(down.grams)),
        "says": of_down(down, expected),
    }
    if method in FROM_TO_UNTOLD:
        return told
    ends = (None, None) if down.between is None else (down.between.least, down.between.most)
    least, most = (None if end is None else weight_of(in_grams(end)) for end in ends)
    return {**told, "least": least, "most": most}


def weight_of(grams: Decimal) -> dict[str, str]:
    """A weight, exactly in kilograms and for people."""
    return {"kg": plain(EXACT.divide(grams, KILOGRAM)), "shown": show_mass(grams)}


def in_grams(grams: Fraction) -> Decimal:
    """Grams that are a sum of weights, which are decimals; a share of one to the milligram where it has no
    end.
    """
    try:
        return EXACT.divide(Decimal(grams.numerator), Decimal(grams.denominator))
    except Inexact:
        return EXACT.divide(Decimal(round(grams * 1000)), Decimal(1000))


def _shown(grams: Fraction) -> str:
    return show_mass(in_grams(grams))
