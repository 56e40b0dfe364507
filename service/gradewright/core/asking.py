"""What to find out next about a part that is not decided yet.

Of the attributes that are not known, the one whose answer narrows the spread of price between the grades
still possible by the most per minute of testing. Every distinguishable answer that the part can still
give counts alike.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from decimal import Decimal

from gradewright.core.decision import Axis
from gradewright.core.grading import Grader, Reading
from gradewright.core.observations import Attribute

Worth = Mapping[str, Decimal]
NOTHING = Decimal(0)
SOONEST = Decimal("0.05")  # minutes: looking is never free, so that two free looks can be compared


def next_test(grader: Grader, reading: Reading, worth: Worth, skip: Collection[str] = ()) -> Attribute | None:
    """The attribute to look at next, or None if none can change the outcome.

    `worth` has a price per kilogram for the grades that have one; without any, the number of grades is
    narrowed. `skip` names what nobody can tell about this part.
    """
    now = _spread(grader, reading.possible, reading.known, worth)
    best: tuple[tuple[Decimal, Decimal], Attribute] | None = None
    for axis in _open_axes(grader, reading):
        if axis.attribute.name in skip:
            continue
        left = _expected(grader, reading, axis, worth)
        if left is None:
            continue
        minutes = max(axis.attribute.minutes, SOONEST)
        gain = ((now[0] - left[0]) / minutes, (now[1] - left[1]) / minutes)
        if best is None or gain > best[0]:
            best = (gain, axis.attribute)
    return best[1] if best is not None else None


def _open_axes(grader: Grader, reading: Reading) -> list[Axis]:
    """The unknown attributes that tell at least two of the possible rules apart, in the document's order."""
    index = grader.index
    rules = reading.possible & (index.rule_bits | index.impossible_bits)
    return [
        axis
        for axis in index.axes.values()
        if not reading.known & axis.bit and len({rules & mask for mask in axis.masks}) > 1
    ]


def _expected(grader: Grader, reading: Reading, axis: Axis, worth: Worth) -> tuple[Decimal, Decimal] | None:
    """The mean spread left over the answers that `axis` can give; None if it can give only one."""
    known = reading.known | axis.bit
    branches = [reading.possible & mask for mask in axis.masks]
    branches = [branch for branch in branches if grader.completions.can_be(branch, known)]
    if len(set(branches)) < 2:
        return None
    spreads = [_spread(grader, branch, known, worth) for branch in branches]
    count = len(spreads)
    return sum((s[0] for s in spreads), NOTHING) / count, sum((s[1] for s in spreads), NOTHING) / count


def _spread(grader: Grader, possible: int, known: int, worth: Worth) -> tuple[Decimal, Decimal]:
    """The spread of price, and the number of grades less one, among what may still be reached."""
    index, completions = grader.index, grader.completions
    ends = completions.ends_of(possible & index.rule_bits, index.settled(known))
    prices = [worth.get(grade, NOTHING) if grade is not None else NOTHING for grade in ends]
    return max(prices) - min(prices), Decimal(len(ends) - 1)
