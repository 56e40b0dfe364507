"""Grading where one measure lies between two values."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.checks.shipped import on

from gradewright.core.errors import Refused
from gradewright.core.grading import Contradiction, Graded, Undecided
from gradewright.core.spanning import graded_between, possible_values

GRADER = on("2027-06-01")
CORD = {"form": "cable", "metal": "copper", "cable_kind": "cord", "plug_attached": False}
shares = st.integers(0, 1000).map(lambda n: Decimal(n) / 1000)


def grades(low: str, high: str) -> object:
    outcome = graded_between(GRADER, CORD, "copper_share", Decimal(low), Decimal(high)).outcome
    return outcome.grade if isinstance(outcome, Graded) else set(getattr(outcome, "candidates", ()))


def test_within_one_band() -> None:
    """A share within one band for certain has that band's grade; the limit itself is in the band."""
    assert grades("0.51", "0.59") == "wire-50"
    assert grades("0.60", "0.69") == "wire-60"


def test_across_a_limit() -> None:
    """A share on both sides of a limit leaves both bands, however little of it is beyond."""
    assert grades("0.58", "0.60") == {"wire-50", "wire-60"}
    assert grades("0.38", "0.52") == {"wire-30", "wire-40", "wire-50"}


@given(shares, shares, shares)
@settings(max_examples=40)
def test_every_value_in_between_is_answered(a: Decimal, b: Decimal, c: Decimal) -> None:
    """The grade of any share in the range is among those of the range, and each of those is of some share."""
    low, middle, high = sorted((a, b, c))
    spanned = graded_between(GRADER, CORD, "copper_share", low, high)
    inside = GRADER.grade({**CORD, "copper_share": middle})
    assert isinstance(inside, Graded)
    assert any(span.low <= middle <= span.high and span.outcome == inside for span in spanned.spans)
    told = spanned.outcome
    assert inside.grade in (
        told.candidates if isinstance(told, Undecided) else {getattr(told, "grade", None)}
    )


def test_what_cannot_be_is_left_out() -> None:
    """Of a brass casting from 7.9 to 8.2 g/cm3 only what is from 8 on can be; below 8 nothing can."""
    part = {"metal": "brass", "form": "casting", "colour_when_filed": "yellow", "attached": "nothing"}
    found = graded_between(GRADER, part, "density", Decimal("7.9"), Decimal("8.2"))
    assert isinstance(found.spans[0].outcome, Contradiction)
    assert not isinstance(found.outcome, Contradiction)
    none = graded_between(GRADER, part, "density", Decimal("7.0"), Decimal("7.9"))
    assert isinstance(none.outcome, Contradiction)


def test_it_may_be_nothing_that_the_rulebook_knows() -> None:
    """Yellow turnings are brass, or of a metal of which nobody buys any: what may be without a grade at one
    density may be so in the range. Known to be brass they have the one grade.
    """
    seen = {"form": "turnings", "colour_when_filed": "yellow"}
    found = graded_between(GRADER, seen, "density", Decimal("8.4"), Decimal("8.6")).outcome
    assert found == Undecided(("brass-turnings",), True)
    brass = graded_between(GRADER, {**seen, "metal": "brass"}, "density", Decimal("8.4"), Decimal("8.6"))
    assert isinstance(brass.outcome, Graded)


def test_metals_that_a_density_leaves() -> None:
    """Between 8.4 and 8.6 g/cm3 it may be copper, brass, bronze and more, but neither steel nor aluminium."""
    found = possible_values(GRADER, {}, "density", Decimal("8.4"), Decimal("8.6"), "metal")
    assert {"copper", "brass", "bronze", "nickel-silver", "solder", "mixed"} <= set(found)
    assert not {"steel", "aluminium", "zinc", "lead", "silver"} & set(found)
    magnetic = possible_values(
        GRADER, {"sticks_to_magnet": True}, "density", Decimal("7.8"), Decimal("7.9"), "metal"
    )
    assert "steel" in magnetic
    assert "brass" not in magnetic


def test_a_rulebook_without_the_attribute() -> None:
    """A version that knows no such measure is told by its name, and nothing is guessed."""
    with pytest.raises(Refused, match="has no attribute mass_of_the_moon"):
        graded_between(GRADER, {}, "mass_of_the_moon", Decimal(1), Decimal(2))
