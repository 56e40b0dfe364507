"""Money: currencies with their minor units, and the few named ways of rounding to what can be paid.

An amount is worked out exactly, as a ratio of whole numbers, and rounded once per line to whole minor units;
a total is the sum of its lines, as on a scale ticket. Cash rounding is a yard's term, for the final total.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from decimal import Decimal
from enum import StrEnum

from gradewright.core.currencies import MINOR_UNITS, WITHOUT_MINOR_UNIT
from gradewright.core.decimals import EXACT, quoted
from gradewright.core.errors import CurrencyError, Fault


class Rounding(StrEnum):
    """How an amount between two payable ones becomes one of them."""

    HALF_EVEN = "half-even"
    """To the nearer; from the middle to the even one (ASTM E29; ISO 80000-1, Annex B, rule A)."""
    HALF_UP = "half-up"
    """To the nearer; from the middle away from zero (ISO 80000-1, Annex B, rule B)."""
    DOWN = "down"
    """Towards zero: what is left over is not paid."""


def _half_even(number: int, divisor: int) -> int:
    whole, rest = divmod(number, divisor)  # the rest is never below zero, also of a negative number
    rest += rest
    return whole + 1 if rest > divisor or (rest == divisor and whole & 1) else whole


def _half_up(number: int, divisor: int) -> int:
    whole = (2 * abs(number) + divisor) // (2 * divisor)
    return whole if number >= 0 else -whole


def _down(number: int, divisor: int) -> int:
    return number // divisor if number >= 0 else -(-number // divisor)


TO_WHOLE: Mapping[Rounding, Callable[[int, int], int]] = {
    Rounding.HALF_EVEN: _half_even,
    Rounding.HALF_UP: _half_up,
    Rounding.DOWN: _down,
}
"""How a ratio of two whole numbers, the second above zero, becomes a whole number."""

_SIGNS = {"$": "USD", "US$": "USD", "C$": "CAD", "CA$": "CAD", "A$": "AUD", "\N{EURO SIGN}": "EUR"}
_SIGNS |= {"\N{POUND SIGN}": "GBP", "\N{YEN SIGN}": "JPY"}


def currency(code: object) -> str:
    """Return `code` if it is an ISO 4217 code of a currency with a minor unit; else raise CurrencyError."""
    if isinstance(code, str) and code in MINOR_UNITS:
        return code
    if isinstance(code, str) and code in WITHOUT_MINOR_UNIT:
        detail = (
            f"{quoted(code)} is no money that a yard pays in: write the currency, for example 'USD' or 'EUR'."
        )
        raise CurrencyError(detail, faults=(Fault(detail),))
    helps = _similar(code.strip()) if isinstance(code, str) else ()
    instead = (
        f"did you mean {' or '.join(map(repr, helps))}?" if helps else "write one such as 'USD' or 'EUR'."
    )
    detail = f"{quoted(code)} is not the three-letter code of a currency in use (ISO 4217): {instead}"
    raise CurrencyError(detail, faults=(Fault(detail, (), helps),))


def minor_per_unit(currency: str) -> int:
    """Return how many minor units are one of `currency`: 100 for USD. Raises CurrencyError if unknown."""
    return int(10 ** MINOR_UNITS[_currency(currency)])


def minor_as_decimal(amount: int, currency: str) -> Decimal:
    """Return so many minor units of `currency` as an amount: 335 of USD is 3.35."""
    return Decimal(amount).scaleb(-MINOR_UNITS[_currency(currency)], EXACT)


def round_cash(amount: Decimal, increment: Decimal, rule: Rounding = Rounding.HALF_UP) -> Decimal:
    """Return `amount` rounded by `rule` to a multiple of `increment` (0.05 where there are no smaller coins).

    For the final total, after it was rounded to the minor unit, and only where it is paid in cash.
    Raises CurrencyError unless `increment` is above zero.
    """
    if not increment.is_finite() or increment <= 0:
        raise CurrencyError(
            f"{increment} is not a step for cash: write an amount above zero, for example '0.05'."
        )
    over, under = amount.as_integer_ratio()
    step, step_under = increment.as_integer_ratio()
    return EXACT.multiply(Decimal(TO_WHOLE[rule](over * step_under, under * step)), increment)


_currency = currency  # where a parameter bears the name


def _similar(code: str) -> tuple[str, ...]:
    if code.upper() in MINOR_UNITS:
        return (code.upper(),)
    if code in _SIGNS:
        return (_SIGNS[code],)
    wanted = code.upper()[:8]
    close = difflib.get_close_matches(wanted, MINOR_UNITS, n=20, cutoff=0.6)
    close.sort(key=lambda known: (sorted(known) != sorted(wanted), not known.startswith(wanted[:2]), known))
    return tuple(close[:3])
