"""Money: amounts in one currency, and the few named ways of rounding them.

An amount is worked out exactly, rounded once per line by `round_money`, and a total is the sum of its lines,
as on a scale ticket. Cash rounding is a yard's term and is done to the final total only.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from enum import StrEnum

from gradewright.core.currencies import MINOR_UNITS, WITHOUT_MINOR_UNIT
from gradewright.core.decimals import EXACT, ROUNDING, plain, quoted
from gradewright.core.errors import CurrencyError, Fault

__all__ = [
    "MINOR_UNITS",
    "Money",
    "Rounding",
    "amount_for",
    "currency",
    "round_cash",
    "round_money",
    "rounding_to",
    "total",
]


class Rounding(StrEnum):
    """How an amount between two payable ones becomes one of them."""

    HALF_EVEN = "half-even"
    """To the nearer; from the middle to the even one (ASTM E29; ISO 80000-1, Annex B, rule A)."""
    HALF_UP = "half-up"
    """To the nearer; from the middle away from zero (ISO 80000-1, Annex B, rule B)."""
    DOWN = "down"
    """Towards zero: what is left over is not paid."""


_MODES = {
    Rounding.HALF_EVEN: ROUND_HALF_EVEN,
    Rounding.HALF_UP: ROUND_HALF_UP,
    Rounding.DOWN: ROUND_DOWN,
}
_STEPS = {code: Decimal(1).scaleb(-digits, EXACT) for code, digits in MINOR_UNITS.items()}
_SIGNS = {"$": "USD", "US$": "USD", "C$": "CAD", "CA$": "CAD", "A$": "AUD", "\N{EURO SIGN}": "EUR"}
_SIGNS |= {"\N{POUND SIGN}": "GBP", "\N{YEN SIGN}": "JPY"}


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in one currency; adds and compares with money of the same currency only (CurrencyError)."""

    amount: Decimal
    currency: str

    def __post_init__(self) -> None:
        amount: object = self.amount
        if not isinstance(amount, Decimal) or not amount.is_finite():
            raise CurrencyError(f"{amount!r} is not an exact amount: give a finite Decimal.")
        if self.currency not in _STEPS:
            currency(self.currency)

    def __add__(self, other: Money) -> Money:
        return Money(EXACT.add(self.amount, self._same(other)), self.currency)

    def __sub__(self, other: Money) -> Money:
        return Money(EXACT.subtract(self.amount, self._same(other)), self.currency)

    def __neg__(self) -> Money:
        return Money(EXACT.minus(self.amount), self.currency)

    def __lt__(self, other: Money) -> bool:
        return self.amount < self._same(other)

    def __le__(self, other: Money) -> bool:
        return self.amount <= self._same(other)

    def __gt__(self, other: Money) -> bool:
        return self.amount > self._same(other)

    def __ge__(self, other: Money) -> bool:
        return self.amount >= self._same(other)

    def __str__(self) -> str:
        return f"{plain(self.amount)} {self.currency}"

    def rounded(self, rule: Rounding = Rounding.HALF_EVEN) -> Money:
        """Return the amount rounded to what the currency can pay."""
        return Money(round_money(self.amount, self.currency, rule), self.currency)

    def _same(self, other: Money) -> Decimal:
        if not isinstance(other, Money):
            raise TypeError(f"money goes with money, not with {type(other).__name__}")
        if other.currency != self.currency:
            raise CurrencyError(
                f"{self} and {other} are in two currencies: nothing is converted here, so put each "
                "currency into a valuation of its own."
            )
        return other.amount


def total(lines: Iterable[Money], currency: str) -> Money:
    """Return the sum of `lines`, which are all in `currency`; nothing in the currency for no lines."""
    result = Money(round_money(Decimal(0), currency), currency)
    for line in lines:
        result += line
    return result


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


def round_money(amount: Decimal, currency: str, rule: Rounding = Rounding.HALF_EVEN) -> Decimal:
    """Return `amount` rounded by `rule` to the minor unit of `currency`.

    Raises CurrencyError if there is no such currency.
    """
    step, mode = rounding_to(currency, rule)
    rounded = amount.quantize(step, mode, ROUNDING)
    return rounded if rounded else rounded.copy_abs()


def rounding_to(currency: str, rule: Rounding) -> tuple[Decimal, str]:
    """Return the minor unit of `currency` and the name that `decimal` has for `rule`.

    Raises CurrencyError if there is no such currency.
    """
    step = _STEPS.get(currency)
    return (_STEPS[_currency(currency)] if step is None else step), _MODES[rule]


def round_cash(amount: Decimal, increment: Decimal, rule: Rounding = Rounding.HALF_UP) -> Decimal:
    """Return `amount` rounded by `rule` to a multiple of `increment` (0.05 where there are no smaller coins).

    For the final total, after it was rounded to the minor unit, and only where it is paid in cash.
    Raises CurrencyError unless `increment` is above zero.
    """
    if not increment.is_finite() or increment <= 0:
        raise CurrencyError(
            f"{increment} is not a step for cash: write an amount above zero, for example '0.05'."
        )
    # Whole steps and a rest, not a quotient: a division without end could hide which side of a tie it was.
    steps = EXACT.divide_int(amount.copy_abs(), increment)
    doubled_rest = EXACT.multiply(EXACT.remainder(amount.copy_abs(), increment), Decimal(2))
    past_middle = doubled_rest > increment
    on_middle = doubled_rest == increment
    odd = EXACT.remainder(steps, Decimal(2)) == 1
    if rule is not Rounding.DOWN and (past_middle or (on_middle and (rule is Rounding.HALF_UP or odd))):
        steps = EXACT.add(steps, Decimal(1))
    rounded = EXACT.multiply(steps, increment)
    return rounded.copy_sign(amount) if rounded else rounded


def amount_for(price: Decimal, per_grams: Decimal, grams: Decimal) -> Decimal:
    """Return what `grams` come to at `price` for each `per_grams`. Not rounded: see `round_money`."""
    # Rounding the result gives what rounding the exact quotient would give, by every rule. The product is
    # exact (EXACT refuses anything else), so only the division loses digits, at most half of the 100th: a
    # relative error below 5e-100. Write price * grams = N / 10^s and per_grams = Q / 10^c with whole N and Q.
    # The quotient and an amount halfway between two payable ones, T / (2 * 10^e), differ, if at all, by at
    # least 1 / (Q * 10^max(s - c, e + 1)); relative to the quotient that is 1 / (N * 10^(c + e + 1)) or more.
    # A price has 20 digits at most, times 20 of a factor; a mass 31 (MAX_PRODUCT_DIGITS), times 7 of a count:
    # N < 10^78. With c at most 8 (the grain) and e at most 4 the gap is above 1e-91, far wider than 5e-100.
    return ROUNDING.divide(EXACT.multiply(price, grams), per_grams)


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
