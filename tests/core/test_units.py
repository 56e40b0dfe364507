"""Masses: what is read, exactly; what is refused, and with which help; what people are shown."""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradewright.core import units
from gradewright.core.errors import UnitError
from gradewright.core.units import MASS_UNITS, Mass, mass_unit, parse_mass, show_mass

SYMBOLS = st.sampled_from(sorted(MASS_UNITS))
NUMBERS = st.decimals(0, 10**9, places=4).map(lambda number: format(number, "f"))


def refusal(text: object) -> UnitError:
    with pytest.raises(UnitError) as refused:
        parse_mass(text)  # type: ignore[arg-type]
    return refused.value


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("850 g", "850"),
        ("1.2kg", "1200"),
        ("1.35 KG", "1350"),
        ("3 kilos", "3000"),
        ("2 t", "2000000"),
        ("2 metric tons", "2000000"),
        ("1 MT", "1000000"),
        ("3 lbs", "1360.77711"),
        ("3 pounds", "1360.77711"),
        ("3#", "1360.77711"),
        ("0.3 lb", "136.077711"),
        ("1/2 lb", "226.796185"),
        ("1 1/2 lb", "680.388555"),
        ("1-1/2 lb", "680.388555"),
        ("2 lb 3 oz", "992.233309375"),
        ("2lb3oz", "992.233309375"),
        ("2 lbs. 3 ozs.", "992.233309375"),
        ("2 lb 3 1/2 oz", "1006.4080709375"),
        ("27 lb 6 oz", "12417.09112875"),
        ("3 ozt", "93.3104304"),
        ("3 troy ounces", "93.3104304"),
        ("3 oz t", "93.3104304"),
        ("5 dwt 3 gr", "7.97026593"),
        ("1 ozt 2 dwt 3 gr", "34.40822121"),
        ("1 gross ton 1 long cwt 1 lb", "1067302.84661"),
        ("1 long ton", "1016046.9088"),
        ("1 net ton", "907184.74"),
        ("2 short-tons", "1814369.48"),
        ("0 kg", "0"),
        ("  12 kg  ", "12000"),
        ("12   kg", "12000"),
        ("0012 kg", "12000"),
    ],
)
def test_a_mass_is_read_exactly(text: str, grams: str) -> None:
    """Numbers, fractions and mixed notation come to the exact grams, and keep how they were given."""
    assert parse_mass(text) == Mass(Decimal(grams), text)


@pytest.mark.parametrize(
    ("text", "says", "suggestions"),
    [
        ("12", "has no unit", ("12 kg", "12 lb")),
        ("2 lb 3", "a number without a unit, 3", ("3 kg", "3 lb")),
        ("", "is empty", ()),
        ("   ", "is empty", ()),
        ("-3 kg", "has a sign", ("3 kg",)),
        ("+3 kg", "has a sign", ("3 kg",)),
        ("1,000 lb", "has a comma", ("1000 lb", "1.000 lb")),
        ("1,5 kg", "has a comma", ("1.5 kg",)),
        ("2 lb, 3 oz", "has a comma", ("2 lb 3 oz",)),
        ("1_000 g", "has an underscore", ("1000 g",)),
        ("1e3 kg", "has an exponent", ()),
        ("1E+3 kg", "has an exponent", ()),
        (".5 kg", "a point without a digit on each side", ()),
        ("5. kg", "a point without a digit on each side", ()),
        ("1.2.3 kg", "cannot be read as a mass", ()),
        ("nan kg", "cannot be read as a mass", ()),
        ("infinity kg", "cannot be read as a mass", ()),
        ("kg 3", "cannot be read as a mass", ()),
        ("5 kg/m3", "cannot be read as a mass", ()),
        ("\u0663 kg", r"the character '\u0663'", ()),
        ("\uff13 kg", r"the character '\uff13'", ()),
        ("3 kg\x00", r"the character '\x00'", ()),
        ("3\tkg", r"the character '\t'", ("3 kg",)),
        ("3 kg\n", r"the character '\n'", ("3 kg",)),
        ("1\u00bd lb", "write '1 1/2 lb'", ("1 1/2 lb",)),
        ("3 \u212ag", r"the character '\u212a'", ()),
        ("3 kilogrms", "did you mean 'kg'?", ("3 kg",)),
        ("3 punds", "did you mean 'lb'?", ("3 lb",)),
        ("2 lb 3 ouncs", "did you mean 'oz'", ("2 lb 3 oz",)),
        ("3 stone", "write one of g, kg, t, gr", ()),
        ("1/3 lb", "no exact decimal value", ("0.333 lb",)),
        ("1/0 lb", "is no fraction", ()),
        ("1/65536 lb", "is no fraction", ()),
        ("1 3/2 lb", "a fraction of one or more after a whole number", ()),
        ("2.5 lb 3 oz", "a broken number before the last one", ()),
        ("1/2 lb 3 oz", "a broken number before the last one", ()),
        ("3 oz 2 lb", "write the larger unit first", ()),
        ("2 lb 3 lb", "each unit once", ()),
        ("2 lb 3 g", "mixes lb with g", ()),
        ("2 lb 3 dwt", "mixes lb with dwt", ()),
        ("1 gross ton 1 short cwt", "mixes gross ton with short cwt", ()),
        ("3 T", "does not say which ton", ("3 short ton", "3 gross ton", "3 t")),
        ("123456789012345678901 kg", "more than 20 digits", ()),
        ("12345678901234567890 gross ton 0.1234567890123456789 gr", "more digits than can be measured", ()),
        ("1" * 100 + " kg", "is too long", ()),
        (3.5, "is not text", ()),
        (None, "is not text", ()),
        (True, "is not text", ()),
    ],
)
def test_a_doubtful_mass_is_refused_with_what_to_write(
    text: object, says: str, suggestions: tuple[str, ...]
) -> None:
    """What is no mass, or could be two, is refused; what the message suggests can be used as is."""
    error = refusal(text)
    assert says in error.detail
    assert "write" in error.detail or "did you mean" in error.detail or "round it" in error.detail
    assert error.detail.isascii()
    assert tuple(s for fault in error.faults for s in fault.suggestions) == suggestions
    for suggestion in suggestions:
        parse_mass(suggestion)


def test_a_bare_ton_says_all_three_tons() -> None:
    """The message about "ton" names the three tons and their sizes, ready to be written."""
    assert refusal("3 ton").detail == (
        "'3 ton' does not say which ton: write '3 short ton' (2000 lb), "
        "'3 gross ton' (2240 lb) or '3 t' (1000 kg)."
    )


@pytest.mark.parametrize("symbol", sorted(MASS_UNITS))
def test_every_name_of_a_unit_is_understood(symbol: str) -> None:
    """Symbol, name and aliases of a unit name it and no other; upper case changes nothing but for "T"."""
    unit = MASS_UNITS[symbol]
    for name in (symbol, unit.name, *unit.aliases):
        assert mass_unit(name) is unit
        assert parse_mass(f"7 {name}").grams == 7 * unit.grams
        if name != "t":
            assert mass_unit(name.upper()) is unit
            assert parse_mass(f"7 {name.upper()}").grams == 7 * unit.grams


@pytest.mark.parametrize(
    "text", ["ton", "Tons", "T", "cwt", "", "stone", "kgg g", "\u212ag", None, 3, ["kg"]]
)
def test_a_name_that_is_no_unit_is_refused(text: object) -> None:
    """A unit that is unknown, means several, or is no text is refused, and the message says what to write."""
    with pytest.raises(UnitError, match=r"write|did you mean"):
        mass_unit(text)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("0.3 lb", "0.136 kg (4.8 oz)"),
        ("27 lb 6 oz", "12.42 kg (27 lb 6 oz)"),
        ("2 lb 3 oz", "0.992 kg (2 lb 3 oz)"),
        ("850 g", "0.85 kg (1 lb 14 oz)"),
        ("1.35 kg", "1.35 kg (2 lb 15.6 oz)"),
        ("16 oz", "0.454 kg (1 lb)"),
        ("15.96 oz", "0.452 kg (1 lb)"),
        ("9 lb 15.97 oz", "4.535 kg (10 lb)"),
        ("1599.6 oz", "45.35 kg (100 lb)"),
        ("1 t", "1000 kg (2205 lb)"),
        ("25 t", "25000 kg (55116 lb)"),
        ("1 ozt", "31.1 g (1.1 oz)"),
        ("5 g", "5 g (0.176 oz)"),
        ("0.143 g", "0.143 g (0.005 oz)"),
        ("99.96 g", "100 g (3.53 oz)"),
        ("0 g", "0 g (0 oz)"),
        ("0.0004 g", "under 0.001 g (under 0.001 oz)"),
    ],
)
def test_a_mass_is_shown_in_both_notations(text: str, shown: str) -> None:
    """People see kilograms or grams, and pounds and ounces; something is never shown as nothing."""
    assert show_mass(parse_mass(text).grams) == shown


def test_a_difference_of_masses_can_be_shown() -> None:
    """A missing weight is shown with its sign in both notations."""
    assert show_mass(-parse_mass("2 lb 3 oz").grams) == "-0.992 kg (-2 lb 3 oz)"


@given(NUMBERS, SYMBOLS, st.sampled_from(["", " "]))
def test_a_mass_is_its_number_times_its_unit(number: str, symbol: str, space: str) -> None:
    """Whatever the number and the unit, the grams are their exact product."""
    assert Fraction(parse_mass(f"{number}{space}{symbol}").grams) == Fraction(number) * Fraction(
        MASS_UNITS[symbol].grams
    )


@given(NUMBERS, SYMBOLS)
def test_the_quick_way_and_the_careful_way_agree(number: str, symbol: str) -> None:
    """Spaces at the ends send a mass the careful way, which finds the same grams."""
    assert parse_mass(f" {number} {symbol} ").grams == parse_mass(f"{number} {symbol}").grams


@given(st.integers(0, 10**6), st.integers(0, 10**6), NUMBERS)
def test_mixed_notation_adds_up(tons: int, pounds: int, ounces: str) -> None:
    """A mass in several units is the sum of its terms."""
    terms = (f"{tons} short ton", f"{pounds} lb", f"{ounces} oz")
    assert parse_mass(" ".join(terms)).grams == sum(parse_mass(term).grams for term in terms)


@given(st.integers(0, 9999), st.integers(1, 9999), SYMBOLS)
def test_a_fraction_is_exact_or_refused(over: int, under: int, symbol: str) -> None:
    """A fraction is read as its exact value, or, if that has no end as a decimal of a gram, refused."""
    exact = Fraction(over, under) * Fraction(MASS_UNITS[symbol].grams)
    rest = exact.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    if rest == 1:
        assert Fraction(parse_mass(f"{over}/{under} {symbol}").grams) == exact
    else:
        assert "no exact decimal value" in refusal(f"{over}/{under} {symbol}").detail


@given(st.text(max_size=30) | st.from_regex(r"[0-9 ./a-z#\"'-]{0,20}", fullmatch=True))
def test_any_text_is_a_mass_or_refused(text: str) -> None:
    """No text makes the reader fail otherwise, and what is read has ASCII characters and a digit in it."""
    try:
        mass = parse_mass(text)
    except UnitError as error:
        mass, message = None, error.detail
    else:
        message = ""
    assert message.isascii()
    if mass is not None:
        assert mass.grams >= 0
        assert text.isascii()
        assert any(character.isdigit() for character in text)


@given(st.decimals("2.8349523125", 10**8, places=6))
def test_what_is_shown_is_within_half_a_per_cent(grams: Decimal) -> None:
    """Read back, both notations are within half a per cent of the mass, from a tenth of an ounce on."""
    metric, customary = show_mass(grams).rstrip(")").split(" (")
    for shown in (metric, customary):
        assert abs(Fraction(parse_mass(shown).grams) / Fraction(grams) - 1) <= Fraction(5, 1000)


def test_no_result_depends_on_the_context_of_the_thread() -> None:
    """With three digits of precision set for the thread, masses are read and shown as ever."""
    with localcontext() as context:
        context.prec = 3
        assert parse_mass("27.375 lb").grams == Decimal("12417.09112875")
        assert parse_mass("27 lb 6 oz").grams == Decimal("12417.09112875")
        assert show_mass(Decimal("12417.09112875")) == "12.42 kg (27 lb 6 oz)"


def test_everything_promised_can_be_imported_from_here() -> None:
    """The names in `__all__` exist, so that callers need one import for all measures."""
    assert all(hasattr(units, name) for name in units.__all__)
