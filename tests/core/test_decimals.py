"""Numbers: read strictly, written plainly, and never rounded unless it is asked for."""

from __future__ import annotations

from datetime import date
from decimal import Decimal, Inexact, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradewright.core.consensus import quote
from gradewright.core.decimals import EXACT, parse_decimal, plain, trimmed
from gradewright.core.errors import UnitError
from gradewright.core.observations import Attribute, Kind
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Pricing
from gradewright.core.sightings import Sighting

ONE = Decimal(1)


@pytest.mark.parametrize(
    ("text", "number"), [("3.35", "3.35"), ("-3.35", "-3.35"), ("0", "0"), ("007", "7"), ("3.50", "3.50")]
)
def test_a_number_is_read_with_the_digits_it_has(text: str, number: str) -> None:
    """Digits, a point and a minus sign make a number, and its last zeros are kept."""
    assert str(parse_decimal(text)) == number


def test_minus_nothing_is_nothing() -> None:
    """There is one zero: "-0.00" is read as 0.00."""
    assert str(parse_decimal("-0.00")) == "0.00"


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "+3", "3.", ".3", "1_000", "1,000", "1e3", "1E-3", "NaN", "Infinity", "-", "0x10", " 3",
        "3 ", "3\n", "\u0663", "\uff13", "3\x00", "3 kg", "--3", "1.2.3", "123456789012345678901",
        "0.12345678901234567890", 3, 3.5, True, None, b"3", Decimal(3),
    ],
)  # fmt: skip
def test_anything_else_is_refused(text: object) -> None:
    """Exponents, signs of grouping, other scripts, too many digits and what is no text are refused."""
    with pytest.raises(UnitError, match=r"write|round it"):
        parse_decimal(text)


@pytest.mark.parametrize(
    ("number", "as_given", "shortest"),
    [
        ("3.50", "3.50", "3.5"),
        ("1E+3", "1000", "1000"),
        ("1E-7", "0.0000001", "0.0000001"),
        ("-0.00", "0.00", "0"),
        ("100", "100", "100"),
        ("100.00", "100.00", "100"),
        ("-2.50", "-2.50", "-2.5"),
    ],
)
def test_a_number_is_written_without_exponent(number: str, as_given: str, shortest: str) -> None:
    """`plain` keeps the zeros that were given, `trimmed` drops them; neither writes an exponent."""
    assert plain(Decimal(number)) == as_given
    assert trimmed(Decimal(number)) == shortest


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity"])
def test_what_has_no_digits_is_not_written(number: str) -> None:
    """Infinity and "not a number" are never written as if they were amounts."""
    with pytest.raises(UnitError, match="not a number that can be written"):
        plain(Decimal(number))


@given(st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**10), max_value=10**10, places=9))
def test_what_is_written_is_read_back(number: Decimal) -> None:
    """Writing and reading gives the same number with the same digits."""
    assert plain(parse_decimal(plain(number))) == plain(number)
    assert parse_decimal(trimmed(number)) == number


def test_exact_arithmetic_refuses_to_round() -> None:
    """A result that does not fit the exact context is an error, not a rounded number."""
    with pytest.raises(Inexact):
        EXACT.divide(Decimal(1), Decimal(3))
    with pytest.raises(Inexact):
        EXACT.add(Decimal("1e60"), Decimal("1e-60"))


def test_reading_does_not_depend_on_the_context_of_the_thread() -> None:
    """With three digits of precision set for the thread, numbers keep all of theirs."""
    with localcontext() as context:
        context.prec = 3
        assert plain(parse_decimal("-12345.67890")) == "-12345.67890"


def test_nothing_in_the_core_takes_the_context_of_the_thread() -> None:
    """With three digits set for the thread, shares are shown, margins and margins added as ever."""
    share = Attribute("copper_share", Kind.SHARE, asks="", test="", minutes=ONE, beware="")
    pricing = Pricing(120, 30, {"sign": ONE}, thin_below=3, thin_margin=Decimal("0.1234"))
    seen = [Sighting(1, 1, "low-quay", "wren", date(2026, 5, 4), "sign", Rate(Decimal("3.00"), ONE))]
    with localcontext() as context:
        context.prec = 3
        shown = share.show(Decimal("0.12345"))
        found = quote(seen, date(2026, 5, 4), Decimal(0), pricing)
    assert shown == "12.345 %"
    assert found is not None
    assert (found.low.price, found.high.price) == (Decimal("2.6298"), Decimal("3.3702"))
