"""What precious metal may come to, by an assay range and a buyer's terms: two ends, nothing in between."""

from __future__ import annotations

from dataclasses import fields
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradewright.core.errors import UnitError
from gradewright.core.recovery.assay import (
    Charges,
    Content,
    Ends,
    Recoverable,
    Terms,
    parse_content,
    published,
    recoverable,
)
from gradewright.core.recovery.measured import Range, exactly
from gradewright.core.recovery.published import PUBLISHED

TONNE = exactly(1_000_000)


def gold(low: int, high: int, **terms: Fraction) -> Content:
    return Content("gold", Fraction(low), Fraction(high), "own assay", Terms(Fraction(8000), **terms))


def test_a_tonne_by_hand() -> None:
    """200 to 300 g/t at 80.00 a gram, 95 % paid: 190 to 285 g, 15,200 to 22,800."""
    found = recoverable(TONNE, [gold(200, 300, payable=Fraction("0.95"))], Charges())
    assert found.metals[0].there == Ends(Fraction(200), Fraction(300))
    assert found.metals[0].paid_for == Ends(Fraction(190), Fraction(285))
    assert found.amount == Ends(Fraction(1_520_000), Fraction(2_280_000))


def test_the_larger_of_deduction_and_share_is_kept() -> None:
    """Of 30 g/t a deduction of 10 leaves 20; of 300 g/t the unpaid 5 % weigh more, and 285 are left."""
    terms = {"payable": Fraction("0.95"), "deduction": Fraction(10)}
    assert recoverable(TONNE, [gold(30, 300, **terms)], Charges()).metals[0].paid_for == Ends(20, 285)  # type: ignore[arg-type]


def test_less_than_the_deduction_is_nothing() -> None:
    """A content below the deduction is paid with nothing, and not charged for."""
    assert recoverable(TONNE, [gold(2, 4, deduction=Fraction(5))], Charges()).amount == Ends(0, 0)  # type: ignore[arg-type]


def test_charges_can_outweigh_the_metal() -> None:
    """Treatment for each kilogram and a sum for each lot are taken off: a poor lot costs its owner."""
    charges = Charges(treatment=Fraction("0.2"), once=Fraction(15_000))
    found = recoverable(exactly(10_000), [gold(10, 20)], charges)
    assert found.charges == Ends(17_000, 17_000)  # type: ignore[arg-type]
    assert found.amount == Ends(800 - 17_000, 1600 - 17_000)  # type: ignore[arg-type]


def test_a_lot_below_the_smallest() -> None:
    """A lot that may be lighter than the smallest that is taken is told so."""
    charges = Charges(smallest=Fraction(50_000))
    assert recoverable(
        Range(Fraction(49_990), Fraction(50_000), Fraction(50_010)), [gold(1, 2)], charges
    ).too_small
    assert not recoverable(exactly(50_000), [gold(1, 2)], charges).too_small


def test_there_is_never_one_figure() -> None:
    """Neither what is there nor what it comes to has a likely value that could be taken for a promise."""
    assert {field.name for field in fields(Ends)} == {"low", "high"}
    assert {field.name for field in fields(Recoverable)} == {"metals", "charges", "amount", "too_small"}


@given(
    st.tuples(st.integers(1, 500), st.integers(1, 500)).map(sorted),
    st.tuples(st.integers(1, 900), st.integers(1, 900)).map(sorted),
    st.integers(0, 12_000),
    st.integers(0, 300),
    st.integers(0, 60),
    st.fractions(0, 1, max_denominator=20),
    st.fractions(0, 1, max_denominator=20),
)
@settings(max_examples=60)
def test_no_true_lot_is_outside(
    kilos: list[int],
    content: list[int],
    refining: int,
    treatment: int,
    deduction: int,
    x: Fraction,
    y: Fraction,
) -> None:
    """Whatever the lot weighs and holds within the ranges, what it comes to lies between the two ends."""
    lot = Range(*(Fraction(1000 * kilo) for kilo in (kilos[0], kilos[0], kilos[1])))
    terms = {"refining": Fraction(refining), "deduction": Fraction(deduction), "payable": Fraction("0.9")}
    charges = Charges(Fraction(treatment, 1000), Fraction(500))
    found = recoverable(lot, [gold(content[0], content[1], **terms)], charges).amount
    mass = lot.low + (lot.high - lot.low) * x
    true = content[0] + (content[1] - content[0]) * y
    paid = max(min(true * Fraction("0.9"), true - deduction), Fraction(0)) * mass / 1_000_000
    assert found.low <= paid * (8000 - refining) - mass * charges.treatment - 500 <= found.high


@pytest.mark.parametrize(
    ("text", "in_all"),
    [
        ("250 g/t", "250"),
        ("250ppm", "250"),
        ("0.02 %", "200"),
        ("0.1 mg/kg", None),
        ("7 ozt/short ton", "240"),
        ("1 oz/lb", "62500"),
    ],
)
def test_contents_as_assayers_write_them(text: str, in_all: str | None) -> None:
    """Parts per million, percent, and any mass over a mass; 7 ozt/short ton are 240 g/t."""
    if in_all is None:
        with pytest.raises(UnitError, match="not a unit of mass"):
            parse_content(text)
    else:
        assert parse_content(text) == Fraction(in_all)


@pytest.mark.parametrize("text", ["250", "g/t", "-3 ppm", "250 g per t", "101 %", "1e3 ppm", "3 ppm g"])
def test_contents_that_are_none(text: str) -> None:
    """A number without a unit, a sign, an exponent, or more than all of it is refused with what to write."""
    with pytest.raises(UnitError):
        parse_content(text)


def test_published_ranges_name_their_sources() -> None:
    """Every range of a publication is wider than its figures and tells them with their source."""
    for kind, metals in PUBLISHED.items():
        for metal, found in metals.items():
            told = published(kind, metal)
            assert told is not None
            low, high, source = told
            assert low < min(found.figures) <= max(found.figures) < high
            assert found.source in source
    assert published("computer-boards", "platinum") is None
