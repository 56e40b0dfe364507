"""Lengths in millimetres: what is read, exactly, and what is refused."""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradewright.core.errors import UnitError
from gradewright.core.lengths import parse_length


def refusal(text: object) -> UnitError:
    with pytest.raises(UnitError) as refused:
        parse_length(text)  # type: ignore[arg-type]
    return refused.value


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("6.35 mm", "6.35"),
        ("6.35mm", "6.35"),
        ("6.35 MM", "6.35"),
        ("2 cm", "20"),
        ("1.5 m", "1500"),
        ("1 m 20 cm", "1200"),
        ("3 metres", "3000"),
        ("1 km", "1000000"),
        ("1.5 kilometres", "1500000"),
        ("1 km 20 m", "1020000"),
        ("1 in", "25.4"),
        ("1 inch", "25.4"),
        ("1/4 in", "6.35"),
        ('1/4"', "6.35"),
        ('0.25"', "6.35"),
        ("1-1/4 in", "31.75"),
        ("1 1/4 in", "31.75"),
        ("1/64 in", "0.396875"),
        ("2 ft", "609.6"),
        ("2 feet", "609.6"),
        ("5'", "1524"),
        ("5' 6\"", "1676.4"),
        ("5'6\"", "1676.4"),
        ("5 ft 6 1/2 in", "1689.1"),
        ("1/3 ft", "101.6"),
        ("16 AWG", "1.290846"),
        ("16AWG", "1.290846"),
        ("AWG 16", "1.290846"),
        ("awg16", "1.290846"),
        (" 16 AWG ", "1.290846"),
        ("36 AWG", "0.127"),
        ("0 AWG", "8.251463"),
        ("1/0 AWG", "8.251463"),
        ("00 AWG", "9.265833"),
        ("2/0 AWG", "9.265833"),
        ("000 AWG", "10.404902"),
        ("AWG 3/0", "10.404902"),
        ("0000 AWG", "11.684"),
        ("4/0 AWG", "11.684"),
    ],
)
def test_a_length_is_read_exactly(text: str, mm: str) -> None:
    """Metric, inches and feet, fractions, marks and wire gauges come to millimetres."""
    assert parse_length(text) == Decimal(mm)


@pytest.mark.parametrize(
    ("text", "says", "suggestions"),
    [
        ("12", "has no unit", ("12 mm", "12 in")),
        ("-1/4 in", "has a sign", ("1/4 in",)),
        ("3 inchs", "did you mean 'in'", ("3 in",)),
        ("3 yards", "write one of mm, cm, m, km, in, ft, AWG", ()),
        ("4 x 3 in", "'x' is not a unit of length", ()),
        ("1\u00bd in", "write '1 1/2 in'", ("1 1/2 in",)),
        ("6\u2033", "write '6\"'", ('6"',)),
        ("1/3 in", "no exact decimal value", ("0.333 in",)),
        ("5 m 2 in", "mixes m with in", ()),
        ("6 in 5 ft", "write the larger unit first", ()),
        ("5 mil", "does not say", ()),
        ("5/0 AWG", "is not a wire gauge", ()),
        ("00000 AWG", "is not a wire gauge", ()),
        ("57 AWG", "is not a wire gauge", ()),
        ("16.5 AWG", "is not a wire gauge", ()),
        ("AWG", "cannot be read as a length", ()),
        ("1e3 mm", "has an exponent", ()),
        ("1_000 mm", "has an underscore", ("1000 mm",)),
        ("\u0661 mm", r"the character '\u0661'", ()),
        ("6.35 mm\x00", r"the character '\x00'", ()),
        ("", "is empty", ()),
        (6.35, "is not text", ()),
    ],
)
def test_a_doubtful_length_is_refused(text: object, says: str, suggestions: tuple[str, ...]) -> None:
    """What is no length, or could be two, is refused, and the message says what to write."""
    error = refusal(text)
    assert says in error.detail
    assert tuple(s for fault in error.faults for s in fault.suggestions) == suggestions
    for suggestion in suggestions:
        parse_length(suggestion)


@pytest.mark.parametrize(
    "text", ["16 gauge", "gauge 16", "16 ga", "16ga", "ga 16", "Gage 16", "16 ga.", "16-gauge", "18 SWG"]
)
def test_a_sheet_gauge_is_refused_with_the_reason(text: str) -> None:
    """A gauge number without its metal is refused; the wire gauge of that number is offered."""
    error = refusal(text)
    assert "another thickness for every metal" in error.detail
    number = "18" if "18" in text else "16"
    assert error.faults[0].suggestions == (f"{number} AWG",)
    assert parse_length(f"{number} AWG") > 0


def test_thicker_wire_has_a_lower_gauge() -> None:
    """From 4/0 to 56 every gauge is thinner than the one before, by the thirty-ninth root of 92."""
    gauges = ["4/0", "3/0", "2/0", *map(str, range(57))]
    diameters = [parse_length(f"{gauge} AWG") for gauge in gauges]
    for thick, thin in pairwise(diameters):
        assert abs(thick / thin - Decimal("1.1229322")) < Decimal("0.0001")


@given(st.integers(0, 999), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_inches_in_fractions_are_exact(whole: int, over: int, under: int) -> None:
    """Inches with halves to sixty-fourths are 25.4 mm times their exact value, however they are joined."""
    over %= under
    exact = (whole + Fraction(over, under)) * Fraction("25.4")
    assert Fraction(parse_length(f"{whole} {over}/{under} in")) == exact
    assert Fraction(parse_length(f"{whole}-{over}/{under} in")) == exact
    assert Fraction(parse_length(f'{whole} {over}/{under}"')) == exact


@given(st.decimals(0, 10**6, places=3), st.decimals(0, 10**6, places=3))
def test_longer_is_more(one: Decimal, other: Decimal) -> None:
    """Of two lengths in one unit the one with the larger number is the longer."""
    for unit in ("mm", "in", "ft"):
        assert (parse_length(f"{one} {unit}") < parse_length(f"{other} {unit}")) == (one < other)


@given(st.text(max_size=30) | st.from_regex(r"[0-9 ./a-z&\"'-]{0,20}", fullmatch=True))
def test_any_text_is_a_length_or_refused(text: str) -> None:
    """No text makes the reader fail otherwise than with a message in plain characters."""
    try:
        length = parse_length(text)
    except UnitError as error:
        message, length = error.detail, Decimal(0)
    else:
        message = ""
    assert length >= 0
    assert message.isascii()


def test_no_length_depends_on_the_context_of_the_thread() -> None:
    """With three digits of precision set for the thread, lengths are read as ever."""
    with localcontext() as context:
        context.prec = 3
        assert parse_length("1/64 in") == Decimal("0.396875")
        assert parse_length("1.23456 in") == Decimal("31.357824")
