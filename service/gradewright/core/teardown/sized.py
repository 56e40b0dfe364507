"""What the parts of a device come to as whole numbers of one size each: money, grams and minutes.

Exact fractions are slow: each sum of two looks for their common divisor. A tree's figures are brought to
whole numbers once, of as small a piece of a minor unit, of a gram and of a minute as all of them need, and
everything about its plans is worked out in these. What is told is made a fraction again at the end.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gradewright.core.teardown.tree import Node, Opening, Pay, Tier, Tiers

MINUTES_AN_HOUR = 60
CENTS_OF_CENTS = 10**4  # rates an hour have six places of the currency at most


@dataclass(frozen=True, slots=True)
class Sized:
    """By number: `grams` of each node; `whole`, what it comes to as it is; `each`, more with each gram;
    `bare`, what opening it comes to without what comes out of it and without its `opening` minutes (None:
    it does not open); `each_left`, more with each gram that is left over. In the one around it: `carries`,
    what taking it off takes from what is left over there, in `minutes`, and `stays`, what it comes to where
    it stays on (None: it may not).

    So many pieces make a minor unit: `money`; a gram: `gram`; a minute: `minute`. A price of a gram counts
    for one piece of a gram.
    """

    money: int
    gram: int
    minute: int
    grams: list[int]
    whole: list[int]
    each: list[int]
    bare: list[int | None]
    opening: list[int]
    each_left: list[int]
    minutes: list[int]
    carries: list[int]
    stays: list[int | None]

    def changed(self, nodes: Sequence[Node], parts: Sequence[Sequence[int]], numbers: Iterable[int]) -> Sized:
        """The same where what is paid for the nodes of these numbers, as they are or for what is left over
        of them, is that of `nodes`.
        """
        new = [nodes[number] for number in numbers]
        size = lcm(self.money, _money(new, self.gram, self.minute))
        by = size // self.money

        def column(figures: list[int]) -> list[int]:
            return [figure * by for figure in figures] if by != 1 else figures.copy()

        def open_column(figures: list[int | None]) -> list[int | None]:
            return [None if one is None else one * by for one in figures] if by != 1 else figures.copy()

        found = Sized(
            size,
            self.gram,
            self.minute,
            self.grams,
            column(self.whole),
            column(self.each),
            open_column(self.bare),
            self.opening,
            column(self.each_left),
            self.minutes,
            column(self.carries),
            open_column(self.stays),
        )
        pays = _Pays(size, self.gram)
        for number, node in zip(numbers, new, strict=True):
            _pay(found, number, node, pays)
            if node.opening is not None:
                for part in parts[number]:
                    _edge(found, part, nodes[part], node, number)
        return found


class _Pays:
    """What is paid, as whole numbers: for each piece of a gram, and whatever it weighs."""

    def __init__(self, money: int, gram: int) -> None:
        self.money, self.a_gram = money, money // gram
        self._known: dict[int, tuple[int, int]] = {}

    def of(self, pay: Pay | None) -> tuple[int, int]:
        if pay is None:
            return 0, 0
        found = self._known.get(id(pay))
        if found is None:
            found = whole(pay.each_gram.likely, self.a_gram), whole(pay.fixed.likely, self.money)
            self._known[id(pay)] = found
        return found


def sized(nodes: Sequence[Node]) -> Sized:
    """The figures of these nodes."""
    openings = [node.opening for node in nodes if node.opening is not None]
    spans = {id(node.grams): node.grams for node in nodes}
    spans |= {id(one.left_grams): one.left_grams for one in openings if one.left_grams is not None}
    gram = lcm(
        *{end.denominator for span in spans.values() for end in span},
        *{tier.from_grams.denominator for tier in _tiers(nodes)},
    )
    minute = lcm(
        *{node.minutes.denominator for node in nodes}, *{opening.minutes.denominator for opening in openings}
    )
    money, count = _money(nodes, gram, minute), len(nodes)
    found = Sized(
        money,
        gram,
        minute,
        [whole(node.grams.likely, gram) for node in nodes],
        [0] * count,
        [0] * count,
        [None] * count,
        [0] * count,
        [0] * count,
        [0] * count,
        [0] * count,
        [None] * count,
    )
    pays = _Pays(money, gram)
    for number, node in enumerate(nodes):
        _pay(found, number, node, pays)
        if node.opening is not None:
            found.opening[number] = whole(node.opening.minutes, minute)
        if node.inside is not None:
            around = nodes[node.inside]
            if around.opening is not None:
                _edge(found, number, node, around, node.inside)
                if around.opening.one_by_one:
                    found.minutes[number] = whole(node.minutes, minute)
    return found


def _pay(found: Sized, number: int, node: Node, pays: _Pays) -> None:
    """What a node comes to as it is, and what is left over of it."""
    each, fixed = pays.of(node.whole)
    found.each[number] = each
    found.whole[number] = fixed + each * found.grams[number]
    opening = node.opening
    if opening is not None:
        each, fixed = pays.of(opening.left)
        left = opening.left_grams
        grams = found.grams[number] if left is None else whole(left.likely, found.gram)
        found.each_left[number] = each
        found.bare[number] = fixed + each * grams - whole(opening.cost, found.money)


def _edge(found: Sized, number: int, node: Node, around: Node, inside: int) -> None:
    """How a node counts in the one around it."""
    opening = around.opening
    if opening is None:
        return
    rests, worth = opening.left_grams is None, found.each_left[inside] * found.grams[number]
    found.carries[number] = -worth if rests else 0
    if opening.one_by_one and not node.must:
        found.stays[number] = 0 if rests else worth


def _money(nodes: Sequence[Node], gram: int, minute: int) -> int:
    """How many pieces of a minor unit there have to be: so many that a rate an hour is whole numbers too."""
    paid = _pays(nodes)
    return lcm(
        *{pay.each_gram.likely.denominator * gram for pay in paid},
        *{pay.fixed.likely.denominator for pay in paid},
        *{node.opening.cost.denominator for node in nodes if node.opening is not None},
        gram,
        MINUTES_AN_HOUR * minute * CENTS_OF_CENTS,
    )


def whole(figure: Fraction, size: int) -> int:
    """A figure in pieces of which so many are one."""
    return figure.numerator * (size // figure.denominator)


class Column:
    """What is paid at the low, the likely or the high price, as whole numbers: `money` pieces are a minor
    unit, and a price of a gram counts for one piece of a gram.
    """

    def __init__(self, nodes: Sequence[Node], price: int, gram: int) -> None:
        pays = _pays(nodes)
        self.money = lcm(
            gram,
            *{pay.each_gram[price].denominator * gram for pay in pays},
            *{pay.fixed[price].denominator for pay in pays},
            *{node.opening.cost.denominator for node in nodes if node.opening is not None},
        )
        self._known = {
            id(pay): (whole(pay.each_gram[price], self.money // gram), whole(pay.fixed[price], self.money))
            for pay in pays
        }

    def of(self, pay: Pay | None) -> tuple[int, int]:
        """For each piece of a gram, and whatever it weighs."""
        return (0, 0) if pay is None else self._known[id(pay)]

    def cost(self, opening: Opening) -> int:
        """What is used up by an opening."""
        return whole(opening.cost, self.money)


def _pays(nodes: Sequence[Node]) -> list[Pay]:
    """All that is paid, each once."""
    pays = {id(node.whole): node.whole for node in nodes}
    pays |= {id(node.opening.left): node.opening.left for node in nodes if node.opening is not None}
    pays |= {id(tier.pay): tier.pay for tier in _tiers(nodes)}
    return [pay for pay in pays.values() if pay is not None]


def _tiers(nodes: Sequence[Node]) -> list[Tier]:
    """All tiers of what is paid, those of each grade once."""
    found: dict[int, Tiers] = {id(node.tiers): node.tiers for node in nodes if node.tiers}
    for node in nodes:
        if node.opening is not None and node.opening.tiers:
            found[id(node.opening.tiers)] = node.opening.tiers
    return [tier for tiers in found.values() for tier in tiers]
