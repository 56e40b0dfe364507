"""One author whose price is the likely one, and all others who say otherwise: whose word stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal

from gradewright.core.decimals import EXACT
from gradewright.core.rates import Rate, by_price
from gradewright.core.rulebook import Holding
from gradewright.core.sightings import ONE, Sighting


def not_alone(
    counted: Sequence[Sighting],
    low: Rate,
    likely: Rate,
    high: Rate,
    enough_yards: int,
    stands: Callable[[Sequence[Sighting], Sequence[Sighting]], bool] | None,
) -> tuple[Rate, Rate, Rate]:
    """The same three, unless one author alone has moved the likely price out of what all others say.

    The likely price is somebody's claim. Where others speak of enough yards, and none of them pays so much
    or so little, the nearest of theirs stands instead. `stands`: whether it does not, of what the one says
    and of what the others do.
    """
    names = {s.author for s in counted if s.rate == likely}
    if len(names) != 1:
        return low, likely, high
    mine, others = ([s for s in counted if (s.author in names) is side] for side in (True, False))
    if len({s.yard for s in others}) < enough_yards:
        return low, likely, high
    if stands is not None and stands(mine, others):
        return low, likely, high
    rates = sorted((s.rate for s in others), key=by_price)
    nearest = min(max(likely, rates[0], key=by_price), rates[-1], key=by_price)
    return min(low, nearest, key=by_price), nearest, max(high, nearest, key=by_price)


def one_against_one(
    mine: Sequence[Sighting],
    others: Sequence[Sighting],
    waiting: Sequence[Sighting],
    rules: Holding,
    standing: Mapping[str, Decimal],
) -> bool:
    """Whether the price of one member stays where only one other says otherwise: word against word.

    Where the prices of others wait, those of them are believed with whom more of these agree. Else it is who
    weighs more; of two who weigh the same, who alone of them speaks of enough yards.
    """
    (one,), names = {s.author for s in mine}, {s.author for s in others}
    if len(names) > 1:
        return False
    (other,) = names
    apart = [s for s in waiting if s.author not in {one, other}]
    ours, theirs = (
        {s.author for s in apart if any(_agree(s.rate, said.rate, rules.agrees_within) for said in side)}
        for side in (mine, others)
    )
    if len(ours) != len(theirs):
        return len(ours) > len(theirs)
    here, there = standing.get(one, ONE), standing.get(other, ONE)
    if here != there:
        return here > there
    our_yards, their_yards = (len({s.yard for s in side}) for side in (mine, others))
    return not our_yards < rules.enough_yards <= their_yards


def _agree(one: Rate, other: Rate, within: Decimal) -> bool:
    """Whether two rates differ by no more than the share of the larger one."""
    prices = EXACT.multiply(one.price, other.per_grams), EXACT.multiply(other.price, one.per_grams)
    most = max(map(abs, prices))
    return abs(EXACT.subtract(*prices)) <= EXACT.multiply(within, most)
