"""Taking apart, looked at so plainly that it is plainly right: every plan there is, each weighed out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from itertools import product
from typing import Any

from hypothesis import strategies as st

from gradewright.core.teardown.tree import Node, Opening, Pay, Plan, Span, Tier, Tiers, Tree

Done = dict[int, Any]
"""A plan: for each node in hand "whole", or for each part inside whether it is taken off, and its plan."""

PRICES = {"a": Fraction(3), "b": Fraction(7, 2), "c": Fraction(-1)}


def plans(tree: Tree, number: int = 0) -> Iterator[Any]:
    """Every way to deal with a node: None for selling it as it is, else each part with its way or "stays"."""
    yield None
    opening = tree.nodes[number].opening
    if opening is None:
        return
    ways = []
    for part in tree.parts[number]:
        found: list[Any] = list(plans(tree, part))
        if opening.one_by_one and not tree.nodes[part].must:
            found.append("stays")
        ways.append(found)
    for chosen in product(*ways):
        yield dict(zip(tree.parts[number], chosen, strict=True))


def followed(tree: Tree, found: Plan, number: int = 0) -> Any:
    """A plan of the core, in the form of these."""
    if not found.opened[number]:
        return None
    return {
        part: followed(tree, found, part) if found.taken[part] else "stays" for part in tree.parts[number]
    }


def weighed_out(tree: Tree, way: Any, number: int = 0) -> tuple[Fraction, Fraction]:
    """What a way comes to, and its minutes, by weighing what is left over."""
    node = tree.nodes[number]
    grams = node.grams.likely
    if way is None or node.opening is None:
        return Fraction(0) if node.whole is None else node.whole.of(grams), Fraction(0)
    opening = node.opening
    paid, minutes = -opening.cost, opening.minutes
    left = grams if opening.left_grams is None else opening.left_grams.likely
    for part, inner in way.items():
        weight = tree.nodes[part].grams.likely
        if inner == "stays":
            left += Fraction(0) if opening.left_grams is None else weight
            continue
        left -= weight if opening.left_grams is None else Fraction(0)
        more, time = weighed_out(tree, inner, part)
        paid += more
        minutes += time + (tree.nodes[part].minutes if opening.one_by_one else 0)
    if opening.left is not None:
        paid += opening.left.of(left)
    return paid, minutes


def left_over(tree: Tree, found: Plan, number: int) -> Fraction:
    """The grams that are left over of a node by a plan, with what stays on it."""
    node, parts = tree.nodes[number], tree.parts[number]
    left = None if node.opening is None else node.opening.left_grams
    if left is not None:
        return left.likely + sum(tree.nodes[part].grams.likely for part in parts if not found.taken[part])
    return node.grams.likely - sum(tree.nodes[part].grams.likely for part in parts if found.taken[part])


def net(worth: tuple[Fraction, Fraction], rate: Fraction) -> Fraction:
    """What is left after the time is paid."""
    return worth[0] - worth[1] * rate / 60


def best(tree: Tree, rate: Fraction) -> Fraction:
    """What the best of all plans leaves."""
    return max(net(weighed_out(tree, way), rate) for way in plans(tree))


def changed(tree: Tree, number: int, grams: Fraction) -> Tree:
    """The same tree with another weight of one node."""
    nodes = list(tree.nodes)
    nodes[number] = replaced(nodes[number], grams=Span.exactly(grams))
    return Tree(tuple(nodes))


def fitting(tree: Tree, number: int) -> Span:
    """The weights of a node that leave it no lighter than what is in it, nor that around it."""

    def room(at: int, grams: Fraction) -> Fraction:
        """What a node weighs more than all that is in it and was weighed, where one node weighs so much."""
        opening = tree.nodes[at].opening
        left = Fraction(0) if opening is None or opening.left_grams is None else opening.left_grams.likely
        weights = [grams if one == number else node.grams.likely for one, node in enumerate(tree.nodes)]
        return weights[at] - sum((weights[part] for part in tree.parts[at]), left)

    low, likely, high = tree.nodes[number].grams
    around = tree.nodes[number].inside
    low = min(likely, low - min(Fraction(0), room(number, low)))
    if around is not None:
        high = max(likely, high + min(Fraction(0), room(around, high)))
    return Span(low, likely, high)


def in_lots(tree: Tree) -> Tree:
    """The same tree where all that has tiers is paid as in a lot of its weight: a part as heavy as it is,
    what is left over as heavy as it is once all parts are off.
    """
    nodes = []
    for number, node in enumerate(tree.nodes):
        grams, opening = node.grams.likely, node.opening
        whole = paid_in(node.tiers, grams) if node.tiers else node.whole
        if opening is not None and opening.tiers:
            left = grams - sum((tree.nodes[part].grams.likely for part in tree.parts[number]), Fraction(0))
            left = left if opening.left_grams is None else opening.left_grams.likely
            opening = replace(opening, left=paid_in(opening.tiers, left))
        nodes.append(replaced(node, whole=whole, opening=opening))
    return Tree(tuple(nodes))


def paid_in(tiers: Tiers, grams: Fraction) -> Pay | None:
    """What is paid in a lot of so much."""
    return [tier.pay for tier in tiers if tier.from_grams <= max(grams, Fraction(0))][-1]


def stepping(tree: Tree, tiers: Mapping[str, Tiers]) -> Tree:
    """The same tree where the prices of these names step."""

    def of(pay: Pay | None) -> Tiers:
        return () if pay is None or pay.price is None else tiers.get(pay.price, ())

    nodes = []
    for node in tree.nodes:
        opening = node.opening
        if opening is not None:
            opening = replace(opening, tiers=of(opening.left))
        nodes.append(replaced(node, tiers=of(node.whole), opening=opening))
    return in_lots(Tree(tuple(nodes)))


def some_tiers() -> st.SearchStrategy[dict[str, Tiers]]:
    """Prices that step, up or down or to nothing, at weights that parts have and at others."""
    steps = st.dictionaries(st.integers(1, 12).map(lambda n: Fraction(n, 2)), paid_for("a"), max_size=3)

    def made(name: str, first: Pay | None, found: dict[Fraction, Pay | None]) -> Tiers:
        return tuple(Tier(*one) for one in [(Fraction(0), first), *sorted(found.items())])

    return st.fixed_dictionaries(
        {name: st.builds(made, st.just(name), paid_for(name), steps) for name in PRICES}
    )


def paid_for(name: str) -> st.SearchStrategy[Pay | None]:
    """A price by the gram, or none at all."""
    prices = st.integers(-4, 16).map(lambda n: Pay(Span.exactly(Fraction(n, 2)), price=name))
    return st.one_of(prices, prices, prices, st.none())


def repriced(tree: Tree, price: str, factor: Fraction) -> Tree:
    """The same tree with one price times a factor."""

    def moved(pay: Pay | None) -> Pay | None:
        if pay is None or pay.price != price:
            return pay
        return Pay(Span(*(one * factor for one in pay.each_gram)), pay.fixed, pay.price)

    nodes = []
    for node in tree.nodes:
        opening = node.opening
        if opening is not None:
            opening = Opening(
                opening.minutes, opening.one_by_one, moved(opening.left), opening.left_grams, opening.cost
            )
        nodes.append(replaced(node, whole=moved(node.whole), opening=opening))
    return Tree(tuple(nodes))


def replaced(node: Node, **fields: Any) -> Node:
    """A node with other fields."""
    names = ("inside", "grams", "whole", "opening", "minutes", "must", "tiers")
    return Node(**{name: fields.get(name, getattr(node, name)) for name in names})


def _pays() -> st.SearchStrategy[Pay | None]:
    by_weight = st.sampled_from(sorted(PRICES)).map(lambda name: Pay(Span.exactly(PRICES[name]), price=name))
    at_once = st.integers(-20, 60).map(lambda amount: Pay(fixed=Span.exactly(amount)))
    return st.one_of(by_weight, by_weight, at_once, st.none())


def _openings() -> st.SearchStrategy[Opening]:
    left = st.one_of(st.none(), st.integers(0, 4).map(lambda n: Span.exactly(Fraction(n, 2))))
    return st.builds(
        Opening,
        minutes=st.integers(0, 6).map(Fraction),
        one_by_one=st.booleans(),
        left=_pays(),
        left_grams=left,
        cost=st.sampled_from([Fraction(0), Fraction(2), Fraction(-3)]),
    )


@st.composite
def trees(draw: st.DrawFn, most: int = 8, ranged: bool = False) -> Tree:
    """Trees of some nodes, of every shape; weights are what comes out and some more."""
    count = draw(st.integers(1, most))
    inside = [None, *(draw(st.integers(0, number - 1)) for number in range(1, count))]
    has_parts = set(inside)
    weights = [Fraction(draw(st.integers(0, 8)), 2) for _ in range(count)]
    for number in range(count - 1, 0, -1):
        weights[inside[number] or 0] += weights[number]
    nodes = []
    for number in range(count):
        span = Span.exactly(weights[number])
        if ranged and draw(st.booleans()):
            span = Span(weights[number] / 2, weights[number], weights[number] * 2)
        nodes.append(
            Node(
                inside[number],
                span,
                draw(_pays()),
                draw(_openings()) if number in has_parts or draw(st.integers(0, 5)) == 0 else None,
                draw(st.integers(0, 5).map(Fraction)),
                draw(st.sampled_from([False, False, True])),
            )
        )
    return Tree(tuple(nodes))


def rates_to_try() -> st.SearchStrategy[Fraction]:
    """Rates an hour, zero among them."""
    return st.integers(0, 600).map(lambda n: Fraction(n, 2))
