"""Minor units of currencies against ISO 4217, and where another common table differs."""

from __future__ import annotations

from decimal import Decimal

import pytest
from iso4217 import Currency
from tests.core.amounts import rounded

from gradewright.core.errors import CurrencyError
from gradewright.core.money import MINOR_UNITS, currency

PAYABLE = sorted((entry.code, entry.exponent) for entry in Currency if entry.exponent is not None)
NOT_PAYABLE = sorted(entry.code for entry in Currency if entry.exponent is None)

# Unicode CLDR (as of babel 2.18) gives these fewer decimals than ISO 4217 does; ISO holds here.
CLDR_DIFFERS = ["AFN", "ALL", "IQD", "IRR", "KPW", "LAK", "LBP", "MGA", "MMK", "RSD", "SOS", "SYP", "YER"]


@pytest.mark.parametrize(("code", "digits"), PAYABLE)
def test_a_currency_has_the_decimals_of_the_standard(code: str, digits: int) -> None:
    """Money in every active currency is rounded to the decimals that the published list gives it."""
    assert currency(code) == code
    assert rounded(Decimal("7.77777"), code) == round(Decimal("7.77777"), digits)
    assert MINOR_UNITS[code] == digits


@pytest.mark.parametrize("code", NOT_PAYABLE)
def test_a_code_without_minor_unit_is_no_money(code: str) -> None:
    """Gold, drawing rights and test codes are on the list, but nothing is priced in them."""
    with pytest.raises(CurrencyError, match="no money that a yard pays in"):
        currency(code)


@pytest.mark.parametrize("code", CLDR_DIFFERS)
def test_iso_holds_where_cldr_differs(code: str) -> None:
    """CLDR shows whole units of these thirteen; amounts keep the standard's two or three decimals."""
    assert rounded(Decimal("1.2346"), code) == Decimal("1.235" if code == "IQD" else "1.23")
