"""A device worked out: the best plan at the caller's rate, all rates, what would change it, weighing."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from gradewright.core.composition import TOLERATED
from gradewright.core.concerns import Concerning
from gradewright.core.rulebook import Caution
from gradewright.core.teardown.margins import margins
from gradewright.core.teardown.moves import Moves, weight_moves
from gradewright.core.teardown.prices import price_moves
from gradewright.core.teardown.rates import Rates, rates
from gradewright.core.teardown.shares import weighing_whole, whole_moves
from gradewright.core.teardown.tree import Plan, Tree, left_over, plan
from gradewright.core.teardown.unnamed import unnamed_moves
from gradewright.core.teardown.weights import Ranges, ranges, weighing
from gradewright.teardowns.choices import choices
from gradewright.teardowns.doubts import BEYOND, Doubts, doubts
from gradewright.teardowns.pricing import NOTHING_LEFT, Pricing

SILENT = frozenset({"1", "2"})
"""The methods that told nothing of what would be left over of a part that is sold whole."""
SCALES_DIFFER = TOLERATED - 1
"""The share of a weight that is no more than what two scales make of it."""


class Heeded(NamedTuple):
    """What can hurt someone: what is certain, also in the caller's own words, and what may yet apply. As it
    is told: `ids` of both, the caller's words as they are, and `possible_ids`.
    """

    certain: tuple[Caution | str, ...]
    possible: tuple[Caution, ...]
    ids: list[str]
    possible_ids: list[str]


@dataclass(frozen=True, slots=True)
class Worked:
    """All that is told of one device; money in minor units. `weighing`: by number, what it would be worth.

    `kind`: what concerns a device of a kind, where all parts are shares of its weight; `unshared`: what is
    in one in a share that nobody knows, and why. `unnamed`: the parts of which something is left over that
    nobody named, and `moves`, in minor units a gram, how much that may bring or cost until the plan changes.
    `doubts`: where it rests on what nobody knows. `left`: by number the grams that are left over, in pieces
    as the tree has them; `choices`: what is done with each. `heeds`: what can hurt someone, as far as it was
    looked at: see `nodes.heeded`. `method`: how it is told.
    """

    pricing: Pricing
    tree: Tree
    plan: Plan
    rates: Rates
    ranges: Ranges
    weights: Sequence[Moves]
    prices: Mapping[str, Moves]
    weighing: Mapping[int, Fraction]
    kind: Concerning | None
    unshared: Mapping[str, str]
    unnamed: Collection[int]
    moves: Moves
    doubts: Doubts
    left: Sequence[int]
    choices: Sequence[str]
    heeds: dict[Any, Heeded]
    method: str


def work_out(
    pricing: Pricing, hour_rate: Decimal, kind: Concerning | None, unshared: Mapping[str, str], method: str
) -> Worked:
    """The answer's figures at so much an hour in the currency."""
    tree = pricing.tree
    best = plan(tree, Fraction(hour_rate) * pricing.minor)
    around = margins(tree, best)
    within = method not in BEYOND
    weights, knowing = weight_moves(around), weighing(around, within=within)
    if kind is not None:
        weights = [whole_moves(tree, best), *weights[1:]]
        knowing |= {0: weighing_whole(tree, best)} if 0 in knowing else {}
    left = left_over(tree, best.taken)
    unnamed = () if method in SILENT else _unnamed(pricing, tree, left)
    return Worked(
        pricing,
        tree,
        best,
        rates(tree),
        ranges(tree, best, within=within),
        weights,
        price_moves(tree, best),
        knowing,
        kind,
        unshared,
        unnamed,
        unnamed_moves(tree, best, unnamed),
        doubts(pricing, tree, best, method),
        left,
        choices(tree, best),
        {},
        method,
    )


def left_grams(worked: Worked, number: int) -> Fraction:
    """What is left over of a part by the plan, with what stays on it."""
    return Fraction(worked.left[number], worked.tree.sized.gram)


def _unnamed(pricing: Pricing, tree: Tree, left: Sequence[int]) -> frozenset[int]:
    """The parts of which something is left over, more than scales differ by, and nobody said what it is."""
    grams = tree.sized.grams
    return frozenset(
        number
        for number, offer in enumerate(pricing.offers)
        if offer.left is not None
        and offer.left.unpriced == NOTHING_LEFT
        and left[number] > grams[number] * SCALES_DIFFER
    )
