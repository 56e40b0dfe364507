"""A device worked out: the best plan at the caller's rate, all rates, what would change it, weighing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.concerns import Concerning
from gradewright.core.teardown.margins import margins
from gradewright.core.teardown.moves import Moves, weight_moves, whole_moves
from gradewright.core.teardown.prices import price_moves
from gradewright.core.teardown.rates import Rates, rates
from gradewright.core.teardown.tree import Plan, Tree, plan
from gradewright.core.teardown.weights import Ranges, ranges, weighing, weighing_whole
from gradewright.teardowns.pricing import Pricing


@dataclass(frozen=True, slots=True)
class Worked:
    """All that is told of one device; money in minor units. `weighing`: by number, what it would be worth.

    `kind`: what concerns a device of a kind, where all parts are shares of its weight. `method`: how it is
    told.
    """

    pricing: Pricing
    tree: Tree
    plan: Plan
    rates: Rates
    ranges: Ranges
    weights: tuple[Moves, ...]
    prices: Mapping[str, Moves]
    weighing: Mapping[int, Fraction]
    kind: Concerning | None
    method: str


def work_out(pricing: Pricing, hour_rate: Decimal, kind: Concerning | None, method: str) -> Worked:
    """The answer's figures at so much an hour in the currency."""
    tree = pricing.tree()
    best = plan(tree, Fraction(hour_rate) * pricing.minor)
    around = margins(tree, best)
    weights, knowing = weight_moves(around), weighing(around)
    if kind is not None:
        weights = (whole_moves(tree, best), *weights[1:])
        knowing |= {0: weighing_whole(tree, best)} if 0 in knowing else {}
    return Worked(
        pricing,
        tree,
        best,
        rates(tree),
        ranges(tree, best),
        weights,
        price_moves(tree, best),
        knowing,
        kind,
        method,
    )
