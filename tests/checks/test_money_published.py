"""Rounding against published rules: ASTM E29, ISO 80000-1 Annex B, and Canada's rounding of cash."""

from __future__ import annotations

from decimal import Decimal

import pytest
from tests.core.amounts import rounded

from gradewright.core.money import Rounding, round_cash

EVEN, UP, DOWN = Rounding.HALF_EVEN, Rounding.HALF_UP, Rounding.DOWN
FIVE_CENTS = Decimal("0.05")


# ASTM E29 rounding method and ISO 80000-1 B, rule A: a tie goes to the even digit; rule B: to the larger.
@pytest.mark.parametrize(
    ("amount", "code", "rule", "expected"),
    [
        ("2.5", "JPY", EVEN, "2"),
        ("3.5", "JPY", EVEN, "4"),
        ("2.5", "JPY", UP, "3"),
        ("-2.5", "JPY", EVEN, "-2"),
        ("-2.5", "JPY", UP, "-3"),
        ("2.9", "JPY", DOWN, "2"),
        ("-2.9", "JPY", DOWN, "-2"),
        ("0.125", "USD", EVEN, "0.12"),
        ("0.125", "USD", UP, "0.13"),
        ("0.135", "USD", EVEN, "0.14"),
        ("2.675", "USD", EVEN, "2.68"),
        ("1.005", "USD", EVEN, "1.00"),
        ("1.005", "USD", UP, "1.01"),
        ("1.0050000000000000001", "USD", EVEN, "1.01"),
        ("1.0049999999999999999", "USD", UP, "1.00"),
        ("1.0005", "KWD", EVEN, "1.000"),
        ("1.0005", "KWD", UP, "1.001"),
        ("0.00005", "CLF", UP, "0.0001"),
    ],
)
def test_a_rounding_vector(amount: str, code: str, rule: Rounding, expected: str) -> None:
    """The published vectors of rounding to even, away from zero and towards zero come out as printed."""
    assert str(rounded(Decimal(amount), code, rule)) == expected


@pytest.mark.parametrize(
    ("amount", "exact", "binary"), [("2.675", "2.68", 2.67), ("1.115", "1.12", 1.11), ("0.285", "0.28", 0.28)]
)
def test_binary_floats_round_otherwise(amount: str, exact: str, binary: float) -> None:
    """A float cannot hold 2.675 and rounds it down; the decimal amount goes to the even cent."""
    assert round(float(amount), 2) == binary
    assert rounded(Decimal(amount), "USD") == Decimal(exact)


# Canada, since 2013: a total ending in 1, 2 or 6, 7 goes down, in 3, 4 or 8, 9 up, to the next five cents.
@pytest.mark.parametrize(
    ("price", "paid"),
    [
        ("4.90", "4.90"),
        ("4.91", "4.90"),
        ("4.92", "4.90"),
        ("4.93", "4.95"),
        ("4.94", "4.95"),
        ("4.95", "4.95"),
        ("4.96", "4.95"),
        ("4.97", "4.95"),
        ("4.98", "5.00"),
        ("4.99", "5.00"),
        ("5.97", "5.95"),
        ("5.98", "6.00"),
    ],
)
def test_canadian_cash(price: str, paid: str) -> None:
    """Every last digit of a total is rounded to five cents as the government's table says."""
    assert str(round_cash(Decimal(price), FIVE_CENTS)) == paid


@pytest.mark.parametrize(
    ("prices", "tax", "card", "cash"),
    [(("1.83", "2.86"), "1.05", "4.92", "4.90"), (("689.93",), "1.12", "772.72", "772.70")],
)
def test_canadian_examples_with_tax(prices: tuple[str, ...], tax: str, card: str, cash: str) -> None:
    """The government's two examples: tax on the sum, the total to the cent by card, to five cents in cash."""
    owed = rounded(sum(map(Decimal, prices)) * Decimal(tax), "CAD")
    assert owed == Decimal(card)
    assert round_cash(owed, FIVE_CENTS) == Decimal(cash)


def test_only_the_final_total_is_rounded_for_cash() -> None:
    """Rounding each line to five cents would take six cents from three lines of 1.02; the total loses one."""
    lines = [Decimal("1.02")] * 3
    assert round_cash(sum(lines, Decimal(0)), FIVE_CENTS) == Decimal("3.05")
    assert sum(round_cash(line, FIVE_CENTS) for line in lines) == Decimal("3.00")


# Cash steps of Unicode CLDR: CHF and CAD 0.05, DKK 0.50, SEK, NOK, HUF and CZK whole units.
@pytest.mark.parametrize(
    ("amount", "step", "paid"),
    [
        ("17.32", "0.05", "17.30"),
        ("17.33", "0.05", "17.35"),
        ("17.24", "0.50", "17.00"),
        ("17.25", "0.50", "17.50"),
        ("17.49", "1", "17"),
        ("17.50", "1", "18"),
    ],
)
def test_cash_steps_of_other_currencies(amount: str, step: str, paid: str) -> None:
    """Steps of 0.05, 0.50 and 1 are reached from both sides; halfway goes up unless a yard says otherwise."""
    assert round_cash(Decimal(amount), Decimal(step)) == Decimal(paid)
