"""How much is not known of a part: how hard its grade is to guess, and how far off its price would be.

Whole numbers throughout, so that every machine finds the same test best. Masses are how common each outcome
is, on any scale; both measures are in that scale, so that those of all answers to one test can be added up.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Context

Masses = Mapping[str | None, int]  # by grade; None is a part that no rule grades

PLACES = 20  # of the binary logarithm
TABLE_BITS = 10
_LN = Context(prec=20)
_STEPS = 1 << TABLE_BITS
_TWO = _LN.create_decimal(2).ln(_LN)
_TABLE = [
    int((_LN.divide(_LN.create_decimal(_STEPS + step), _STEPS).ln(_LN) / _TWO) * (1 << PLACES))
    for step in range(_STEPS + 1)
]


def log2(number: int) -> int:
    """The binary logarithm of a positive whole number, in 2**-20; off by less than 2 of these."""
    whole = number.bit_length() - 1
    if whole <= TABLE_BITS:
        return (whole << PLACES) + _TABLE[(number << (TABLE_BITS - whole)) - _STEPS]
    shift = whole - TABLE_BITS
    at = (number >> shift) - _STEPS
    rest = number & ((1 << shift) - 1)
    return (whole << PLACES) + _TABLE[at] + ((_TABLE[at + 1] - _TABLE[at]) * rest >> shift)


def folded(mass: int) -> int:
    """Mass times its logarithm: what entropies are sums of."""
    return mass * log2(mass) if mass else 0


def entropy(masses: Masses) -> int:
    """How hard the outcome is to guess: Shannon's entropy in 2**-20 bits, times the mass."""
    return folded(sum(masses.values())) - sum(map(folded, masses.values()))


def deviation(masses: Masses, prices: Mapping[str | None, int]) -> int:
    """The mean deviation from the mean price, times the mass; what has no price counts as paying nothing."""
    total = sum(masses.values())
    if not total:
        return 0
    price_of = prices.get
    mean = sum([mass * price_of(outcome, 0) for outcome, mass in masses.items()]) // total
    return sum([mass * abs(price_of(outcome, 0) - mean) for outcome, mass in masses.items()])
