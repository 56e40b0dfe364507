"""Money: an exact amount in one currency. It adds up and compares within that currency, never across."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Context, Decimal, Inexact
from functools import total_ordering

from ._exceptions import MixedCurrencies

# Wide enough for any sum or product of amounts; what would not fit raises instead of being rounded.
EXACT = Context(prec=1000, traps=[Inexact])


@total_ordering
@dataclass(frozen=True, slots=True)
class Money:
    """An amount in a currency (ISO 4217, three capital letters); exact, and not rounded by any operation
    here.

    Adding, subtracting and ordering two currencies raises MixedCurrencies; comparing them with == is False.
    Floats are refused: 3.35 as a float is not three dollars thirty-five.
    """

    amount: Decimal
    currency: str

    def __post_init__(self) -> None:
        if not isinstance(self.amount, Decimal):
            raise TypeError(f"a Money amount is a Decimal, such as Decimal('3.35'), not {self.amount!r}")
        if not self.amount.is_finite():
            raise ValueError(f"a Money amount is a finite number, not {self.amount}")
        if not (
            len(self.currency) == 3
            and self.currency.isascii()
            and self.currency.isalpha()
            and self.currency.isupper()
        ):
            raise ValueError(f"a currency is three capital letters such as USD, not {self.currency!r}")

    @classmethod
    def total(cls, amounts: Iterable[Money], currency: str) -> Money:
        """The sum of `amounts`, zero if there are none; all of them have to be in `currency`."""
        total = cls(Decimal(0), currency)
        for amount in amounts:
            total = total + amount
        return total

    def _same(self, other: Money, doing: str) -> None:
        if other.currency != self.currency:
            raise MixedCurrencies(
                f"cannot {doing} {self.currency} and {other.currency}: Gradewright converts no currencies. "
                "Keep one total for each currency."
            )

    def __add__(self, other: object) -> Money:
        if not isinstance(other, Money):
            return NotImplemented
        self._same(other, "add")
        return Money(EXACT.add(self.amount, other.amount), self.currency)

    def __sub__(self, other: object) -> Money:
        if not isinstance(other, Money):
            return NotImplemented
        self._same(other, "subtract")
        return Money(EXACT.subtract(self.amount, other.amount), self.currency)

    def __neg__(self) -> Money:
        return Money(self.amount.copy_negate(), self.currency)

    def __mul__(self, times: object) -> Money:
        if isinstance(times, bool) or not isinstance(times, int | Decimal):
            return NotImplemented
        return Money(EXACT.multiply(self.amount, times), self.currency)

    __rmul__ = __mul__

    def __lt__(self, other: object) -> bool:
        if not isinstance(other, Money):
            return NotImplemented
        self._same(other, "compare")
        return self.amount < other.amount

    def __bool__(self) -> bool:
        return self.amount != 0

    def __str__(self) -> str:
        return f"{self.amount:f} {self.currency}"
