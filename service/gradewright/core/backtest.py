"""How well prices would have been predicted: each hidden, and worked out from what was known the day before.

For each case the error is |predicted - paid| / |paid|; what is told is the median over the cases, and how
often the price that was paid lay between low and high (both ends count). All methods are measured on the
same cases: those for which each of them has a prediction.

How sure that share is, is told by Wilson's score interval for a share of n cases (E. B. Wilson 1927, Journal
of the American Statistical Association 22, 209-212), which holds the true share 95 times of 100:

    (p + z^2/2n -+ z sqrt(p(1 - p)/n + z^2/4n^2)) / (1 + z^2/n)

It takes each case for one of its own. Boards that hardly change are seen again and again, so that it is the
least by which the share may be off.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from statistics import median

from gradewright.core.consensus import Quote
from gradewright.core.decimals import EXACT, ROUNDING
from gradewright.core.rates import Rate

LAST, CONSENSUS, BENCHMARKED = "last-posted", "consensus", "consensus-with-benchmark"
METHODS = (LAST, CONSENSUS, BENCHMARKED)
PER = Decimal(1000)
STEP = Decimal("0.0001")
ZERO, ONE, TWO, FOUR = Decimal(0), Decimal(1), Decimal(2), Decimal(4)
Z = Decimal("1.959964")  # the normal distribution has 95 % of its mass between -z and z
Interval = tuple[Decimal, Decimal]


@dataclass(frozen=True, slots=True)
class Case:
    """A price that somebody saw at a yard on a day, and what was predicted: None where nothing was known."""

    grade: str
    yard: str
    on: date
    paid: Rate
    last: Rate | None
    consensus: Quote | None
    benchmarked: Quote | None


@dataclass(frozen=True, slots=True)
class Measured:
    """One method on some cases: the median error as a share of what was paid, the share of cases that lay
    between low and high, and between what that may lie (`sure`); None for a method that gives no low and
    high. All to four places."""

    method: str
    error: Decimal
    within: Decimal | None
    sure: Interval | None


@dataclass(frozen=True, slots=True)
class Figures:
    """All methods on the same cases."""

    cases: int
    methods: tuple[Measured, ...]


def comparable(cases: Iterable[Case]) -> list[Case]:
    """The cases that every method can be measured on; a price of nothing has no error relative to it."""
    return [
        case
        for case in cases
        if None not in (case.last, case.consensus, case.benchmarked) and case.paid.price != 0
    ]


def measure(cases: Sequence[Case]) -> Figures | None:
    """What comes out for some comparable cases; None without any."""
    if not cases:
        return None
    last = [_error(case.last, case.paid) for case in cases if case.last is not None]
    found = [Measured(LAST, _rounded(median(last)), None, None)]
    for method, name in ((CONSENSUS, "consensus"), (BENCHMARKED, "benchmarked")):
        quotes = [(getattr(case, name), case.paid) for case in cases]
        errors = [_error(quote.likely, paid) for quote, paid in quotes]
        inside = sum(_within(quote, paid) for quote, paid in quotes)
        share = ROUNDING.divide(Decimal(inside), Decimal(len(quotes)))
        sure = interval(inside, len(quotes))
        found.append(Measured(method, _rounded(median(errors)), _rounded(share), sure))
    return Figures(len(cases), tuple(found))


def interval(inside: int, cases: int) -> Interval:
    """Between what the share of cases that lie inside may truly be, to four places; of one case or more."""
    n, square = Decimal(cases), EXACT.multiply(Z, Z)
    p = ROUNDING.divide(Decimal(inside), n)
    middle = ROUNDING.add(p, ROUNDING.divide(square, EXACT.multiply(TWO, n)))
    varies = ROUNDING.divide(ROUNDING.multiply(p, ROUNDING.subtract(ONE, p)), n)
    reach = ROUNDING.add(varies, ROUNDING.divide(square, EXACT.multiply(FOUR, EXACT.multiply(n, n))))
    off = ROUNDING.multiply(Z, ROUNDING.sqrt(reach))
    whole = ROUNDING.add(ONE, ROUNDING.divide(square, n))
    least, most = (
        ROUNDING.divide(end, whole) for end in (ROUNDING.subtract(middle, off), ROUNDING.add(middle, off))
    )
    return _rounded(max(least, ZERO)), _rounded(min(most, ONE))


def _error(predicted: Rate, paid: Rate) -> Decimal:
    truth = paid.per(PER)
    return ROUNDING.divide(abs(EXACT.subtract(_short(predicted), _short(paid))), abs(truth))


def _short(rate: Rate) -> Decimal:
    """A rate per kilogram to twelve places, so that differences are exact."""
    return rate.per(PER).quantize(Decimal("1E-12"), context=ROUNDING)


def _within(quote: Quote, paid: Rate) -> bool:
    return _short(quote.low) <= _short(paid) <= _short(quote.high)


def _rounded(share: Decimal) -> Decimal:
    return share.quantize(STEP, context=ROUNDING)
