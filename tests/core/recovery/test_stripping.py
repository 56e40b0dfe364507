"""As it is or stripped: gain, earnings per hour, and the minutes at which it breaks even."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradewright.core.recovery.measured import Range, exactly
from gradewright.core.recovery.stripping import (
    Band,
    NoPrice,
    Stripping,
    Work,
    minutes_by_length,
    stripping,
)

KILOGRAM = Fraction(1000)
# Cents for each gram: wire of 60 % brings 4.00 a kg (3.80 to 4.20), of 50 % 3.00, copper 8.00 (7.80 to 8.20).
PRICES = {
    "wire-60": Range(Fraction("0.38"), Fraction("0.40"), Fraction("0.42")),
    "wire-50": Range(Fraction("0.29"), Fraction("0.30"), Fraction("0.31")),
    "copper": Range(Fraction("0.78"), Fraction("0.80"), Fraction("0.82")),
}
SHARE = Range(Fraction("0.58"), Fraction("0.61"), Fraction("0.64"))
BANDS = (
    Band(Fraction("0.58"), Fraction("0.60"), "wire-50"),
    Band(Fraction("0.60"), Fraction("0.64"), "wire-60"),
)


def price(grade: str, grams: Fraction) -> Range | None:
    return PRICES.get(grade)


def stripped(minutes: int = 60, **costs: Fraction) -> Stripping:
    work = Work(10 * KILOGRAM, Fraction(minutes), **costs)
    found = stripping(work, SHARE, BANDS, "wire-60", "copper", price)
    assert isinstance(found, Stripping)
    return found


def test_the_likely_gain_by_hand() -> None:
    """10 kg of 61 %: 40.00 as it is, 6.1 kg of copper at 8.00 are 48.80, so 8.80 more, 8.80 an hour."""
    found = stripped()
    assert (found.as_is.likely, found.stripped.likely, found.gain.likely) == (4000, 4880, 880)
    assert found.per_hour is not None
    assert found.per_hour.likely == 880
    assert found.copper.likely == 6100


def test_the_ends_are_those_of_every_term() -> None:
    """The lowest gain is of the band and share where it is lowest: 6.0 kg at 7.80 less 42.00 as it is."""
    found = stripped()
    assert found.gain.low == 6000 * Fraction("0.78") - 4200
    assert found.gain.high == max(
        6400 * Fraction("0.82") - 3800, 6000 * Fraction("0.82") - 10_000 * Fraction("0.29")
    )
    assert (found.as_is.low, found.as_is.high) == (2900, 4200)


def test_what_the_insulation_costs_goes_off_what_stripping_adds() -> None:
    """Of 10 kg of 61 % 3.9 kg are insulation: at 0.30 a kg and 5.00 for the haul 6.17 off, of the 8.80."""
    found = stripped(disposal=Fraction("0.03"), once=Fraction(500))
    assert found.insulation == Range(Fraction(3600), Fraction(3900), Fraction(4200))
    assert found.disposal == Range(Fraction(608), Fraction(617), Fraction(626))
    assert (found.as_is, found.stripped) == (stripped().as_is, stripped().stripped)
    assert found.gain.likely == 880 - 617
    assert found.per_hour is not None
    assert found.per_hour.likely == 263
    even = found.breaks_even(Fraction(526))
    assert even is not None
    assert even.likely == 30
    # Both ends are at 60 % as before, where it is the one grade or the other, and 4.0 kg are insulation.
    assert (found.gain.low, found.gain.high) == (stripped().gain.low - 620, stripped().gain.high - 620)


def test_the_minutes_at_which_it_breaks_even() -> None:
    """At the minutes that break even, an hour of stripping adds just the hour's rate."""
    for rate in (Fraction(500), Fraction(1800)):
        even = stripped().breaks_even(rate)
        assert even is not None
        found = stripping(Work(10 * KILOGRAM, even.likely), SHARE, BANDS, "wire-60", "copper", price)
        assert isinstance(found, Stripping)
        assert found.per_hour is not None
        assert found.per_hour.likely == rate


def test_a_rate_of_zero_and_no_time() -> None:
    """At a rate of zero no number of minutes breaks even; work that takes no time has no hourly earnings."""
    assert stripped().breaks_even(Fraction(0)) is None
    assert stripped(0).per_hour is None


def test_work_that_loses_never_breaks_even() -> None:
    """Where copper brings less than the cable, the minutes are none, and not fewer."""
    share = exactly(Fraction("0.3"))
    bands = (Band(share.low, share.high, "wire-60"),)
    found = stripping(Work(KILOGRAM, Fraction(1)), share, bands, "wire-60", "copper", price)
    assert isinstance(found, Stripping)
    assert found.gain.likely < 0
    assert found.breaks_even(Fraction(100)) == exactly(0)


@pytest.mark.parametrize("missing", ["wire-50", "wire-60", "copper"])
def test_a_missing_price_is_named(missing: str) -> None:
    """Without a price for a grade that it may be, nothing is worked out, and the grade is told."""
    known = {grade: paid for grade, paid in PRICES.items() if grade != missing}
    found = stripping(
        Work(KILOGRAM, Fraction(1)), SHARE, BANDS, "wire-60", "copper", lambda grade, _: known.get(grade)
    )
    assert found == NoPrice(missing)


def test_from_weights_are_looked_up_for_the_copper_alone() -> None:
    """The pile that counts for copper is the stripped one: 6.1 kg of it, not the 10 kg of cable."""
    asked: list[tuple[str, Fraction]] = []

    def noted(grade: str, grams: Fraction) -> Range | None:
        asked.append((grade, grams))
        return PRICES[grade]

    stripping(Work(10 * KILOGRAM, Fraction(1)), SHARE, BANDS, "wire-60", "copper", noted)
    assert {grams for grade, grams in asked if grade == "copper"} == {5800, 6000, 6100, 6400}
    assert {grams for grade, grams in asked if grade != "copper"} == {10_000}


def test_minutes_by_length() -> None:
    """Half a minute for each metre of a cable of 50 g/m: 10 kg are 200 m, so 100 minutes."""
    assert minutes_by_length(10 * KILOGRAM, Decimal("0.5"), exactly(50)) == 100


parts = st.fractions(0, 1, max_denominator=50)


@given(parts, parts, parts, st.sampled_from([Fraction(0), Fraction("0.03"), Fraction(2)]))
@settings(max_examples=60)
def test_no_true_gain_is_outside(x: Fraction, y: Fraction, z: Fraction, cost: Fraction) -> None:
    """Whatever share, prices and disposal turn out to be, what stripping adds lies between the ends."""

    def between(span: Range, at: Fraction) -> Fraction:
        return span.low + (span.high - span.low) * at

    share = between(SHARE, x)
    wire = next(band.grade for band in BANDS if share < band.high or band is BANDS[-1])
    as_is, copper = 10_000 * between(PRICES[wire], y), share * 10_000 * between(PRICES["copper"], z)
    found, rid_of = stripped(disposal=cost), (1 - share) * 10_000 * cost
    assert found.as_is.low <= as_is <= found.as_is.high
    assert found.disposal.low <= rid_of <= found.disposal.high
    assert found.stripped.low <= copper <= found.stripped.high
    assert found.gain.low <= copper - as_is - rid_of <= found.gain.high
