"""A device worked out: the best plan at the caller's rate, all rates, what would change it, weighing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.teardown import Plan, Tree, plan
from gradewright.core.teardown_margins import margins
from gradewright.core.teardown_moves import Moves, weight_moves
from gradewright.core.teardown_prices import price_moves
from gradewright.core.teardown_rates import Rates, rates
from gradewright.core.teardown_weights import Ranges, ranges, weighing
from gradewright.teardowns.pricing import Pricing


@dataclass(frozen=True, slots=True)
class Worked:
    """All that is told of one device; money in minor units. `weighing`: by number, what it would be worth."""

    pricing: Pricing
    tree: Tree
    plan: Plan
    rates: Rates
    ranges: Ranges
    weights: tuple[Moves, ...]
    prices: Mapping[str, Moves]
    weighing: Mapping[int, Fraction]


def work_out(pricing: Pricing, hour_rate: Decimal) -> Worked:
    """The answer's figures at so much an hour in the currency."""
    tree = pricing.tree()
    best = plan(tree, Fraction(hour_rate) * pricing.minor)
    around = margins(tree, best)
    return Worked(
        pricing,
        tree,
        best,
        rates(tree),
        ranges(tree, best),
        weight_moves(around),
        price_moves(tree, best),
        weighing(around),
    )
