"""Areas, densities and shares: what is read, exactly, and what is refused."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradewright.core.errors import UnitError
from gradewright.core.quantities import parse_area, parse_density, parse_share

Parse = Callable[[str], Decimal]


@pytest.mark.parametrize(
    ("parse", "text", "value"),
    [
        (parse_area, "10.1 cm2", "10.1"),
        (parse_area, "10.1cm2", "10.1"),
        (parse_area, "10.1 cm^2", "10.1"),
        (parse_area, "10.1 sq cm", "10.1"),
        (parse_area, "100 mm2", "1"),
        (parse_area, "0.01 m2", "100"),
        (parse_area, "1.5 in2", "9.6774"),
        (parse_area, "1.5 square in", "9.6774"),
        (parse_area, "1 ft2", "929.0304"),
        (parse_density, "8.9 g/cm3", "8.9"),
        (parse_density, "8.9 g/cc", "8.9"),
        (parse_density, "8.9 kg/l", "8.9"),
        (parse_density, "8900 kg/m3", "8.9"),
        (parse_density, "8.9 t/m3", "8.9"),
        (parse_density, "30 lb/ft3", "0.480553901219"),
        (parse_density, "30.0 lbs / ft^3", "0.480553901219"),
        (parse_density, "0.308 lb/in3", "8.525410650743"),
        (parse_share, "5 %", "0.05"),
        (parse_share, "5%", "0.05"),
        (parse_share, "0.5 percent", "0.005"),
        (parse_share, "12.50 %", "0.125"),
        (parse_share, "0 %", "0"),
        (parse_share, "100 %", "1"),
    ],
)
def test_a_quantity_is_read(parse: Parse, text: str, value: str) -> None:
    """Areas come in cm2, densities in g/cm3, shares as fractions of one."""
    assert parse(text) == Decimal(value)


@pytest.mark.parametrize(
    ("parse", "text", "says", "suggestions"),
    [
        (parse_area, "10", "has no unit", ("10 cm2", "10 mm2", "10 m2")),
        (parse_area, "10 cm", "'cm' is not a unit for an area", ("10 cm2",)),
        (parse_area, "10 cm\u00b2", "write '10 cm2'", ("10 cm2",)),
        (parse_area, "-1 cm2", "without a sign", ()),
        (parse_area, "1/2 in2", "cannot be read as an area", ()),
        (parse_density, "8.9", "has no unit", ("8.9 g/cm3", "8.9 kg/m3", "8.9 lb/ft3")),
        (parse_density, "8.9 g", "is not a unit for a density", ("8.9 g/cm3", "8.9 kg/m3", "8.9 lb/ft3")),
        (parse_density, "8,9 g/cm3", "has a comma", ("8.9 g/cm3",)),
        (parse_share, "0.05", "not a share in per cent", ("0.05 %", "5 %")),
        (parse_share, "5", "not a share in per cent", ("5 %",)),
        (parse_share, "5 ppm", "not a share in per cent", ("5 %",)),
        (parse_share, "101 %", "more than the whole", ()),
        (parse_share, "-5 %", "without a sign", ()),
        (parse_share, "1e1 %", "has an exponent", ()),
        (parse_share, "% 5", "cannot be read as a share", ()),
        (parse_share, "\u0665 %", r"the character '\u0665'", ()),
        (parse_share, "123456789012345678901 %", "more than 20 digits", ()),
        (parse_share, "", "cannot be read as a share", ()),
    ],
)
def test_a_doubtful_quantity_is_refused(
    parse: Parse, text: str, says: str, suggestions: tuple[str, ...]
) -> None:
    """What lacks its unit or is written loosely is refused, and the message says what to write."""
    with pytest.raises(UnitError) as refused:
        parse(text)
    assert says in refused.value.detail
    assert tuple(s for fault in refused.value.faults for s in fault.suggestions) == suggestions
    for suggestion in suggestions:
        parse(suggestion)


@pytest.mark.parametrize("parse", [parse_area, parse_density, parse_share])
def test_a_number_that_is_no_text_is_refused(parse: Callable[[object], Decimal]) -> None:
    """A float has lost its digits before it gets here, so it is refused."""
    with pytest.raises(UnitError, match="is not text"):
        parse(0.05)


@given(st.decimals(0, 100, places=6))
def test_a_share_is_a_hundredth_of_its_number(number: Decimal) -> None:
    """A share in per cent and its fraction are the same number, two places apart."""
    assert parse_share(f"{number:f} %") * 100 == number


@given(st.decimals(0, 10**6, places=3), st.decimals(0, 10**6, places=3))
def test_denser_is_more(one: Decimal, other: Decimal) -> None:
    """Rounding a density to twelve places never swaps two that are written in the same unit."""
    for unit in ("lb/ft3", "lb/in3", "kg/m3"):
        first, second = parse_density(f"{one:f} {unit}"), parse_density(f"{other:f} {unit}")
        assert (first < second) == (one < other)


@given(st.text(max_size=30) | st.from_regex(r"[0-9 ./a-z%^]{0,20}", fullmatch=True))
def test_any_text_is_a_quantity_or_refused(text: str) -> None:
    """No text makes the readers fail otherwise than with a message in plain characters."""
    for parse in (parse_area, parse_density, parse_share):
        try:
            outcome = parse(text)
        except UnitError as error:
            outcome, message = Decimal(0), error.detail
        else:
            message = ""
        assert outcome >= 0
        assert message.isascii()


def test_no_quantity_depends_on_the_context_of_the_thread() -> None:
    """With three digits of precision set for the thread, quantities are read as ever."""
    with localcontext() as context:
        context.prec = 3
        assert parse_density("0.308 lb/in3") == Decimal("8.525410650743")
        assert parse_area("1.2345 in2") == Decimal("7.9645002")
        assert parse_share("1.23456 %") == Decimal("0.0123456")
