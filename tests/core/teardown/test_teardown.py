"""Whole or apart: held against every plan there is, at any rate, and against a linear programme."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import LinearConstraint, linprog, milp
from tests.core.teardown import taking_apart as plain
from tests.core.teardown.taking_apart import (
    best,
    fitting,
    followed,
    net,
    plans,
    rates_to_try,
    replaced,
    trees,
    weighed_out,
)

from gradewright.core.teardown.margins import Does, margins
from gradewright.core.teardown.moves import weight_moves
from gradewright.core.teardown.prices import price_moves
from gradewright.core.teardown.rates import pays, rates
from gradewright.core.teardown.shares import weighing_whole, whole_moves
from gradewright.core.teardown.tree import (
    Node,
    Opening,
    Pay,
    Plan,
    Span,
    Tree,
    left_between,
    left_over,
    plan,
)
from gradewright.core.teardown.unnamed import unnamed_moves
from gradewright.core.teardown.weights import HOW_OFTEN, ranges, weighing

few = settings(max_examples=40, deadline=None, derandomize=True)


@few
@given(tree=trees(), rate=rates_to_try())
def test_no_plan_leaves_more(tree: Tree, rate: Fraction) -> None:
    """The plan leaves as much as the best of all plans, and what it says of its money and time is so."""
    found = plan(tree, rate)
    told = weighed_out(tree, followed(tree, found))
    assert told == tuple(found.worth)
    assert net(told, rate) == best(tree, rate)


@few
@given(tree=trees(), rate=rates_to_try())
def test_of_two_plans_alike_the_one_of_less_work(tree: Tree, rate: Fraction) -> None:
    """No other plan that leaves as much takes less time."""
    found = plan(tree, rate)
    ways = [weighed_out(tree, way) for way in plans(tree)]
    assert found.worth.minutes == min(
        minutes for paid, minutes in ways if net((paid, minutes), rate) == net(found.worth, rate)
    )


@few
@given(tree=trees())
def test_every_rate_at_once_is_every_rate_by_itself(tree: Tree) -> None:
    """At each break, just below it and just above, the schedule tells the money and the minutes of the best
    plan there, and each opening pays exactly up to the rate that is told for it.
    """
    found = rates(tree)
    breaks = [step.rate for step in found.steps]
    assert breaks == sorted(set(breaks))
    tries = sorted({*breaks, *(b + Fraction(1, 997) for b in breaks), Fraction(1, 7)})
    tries += [max(Fraction(0), b - Fraction(1, 997)) for b in breaks]
    for rate in tries:
        step = [one for one in found.steps if one.rate <= rate][-1]
        at = plan(tree, rate)
        assert (step.paid, step.minutes) == tuple(at.worth)
        assert net(at.worth, rate) == best(tree, rate)
        for number in range(len(tree.nodes)):
            if at.apart(number) is not None:
                assert at.opened[number] == pays(found.opening[number], rate)
            assert at.taken[number] == pays(found.taking[number], rate)


def opens(found: Plan, number: int) -> bool:
    """Whether a plan opens a node."""
    return found.reached[number] and found.opened[number]


@few
@given(tree=trees())
def test_the_schedule_tells_what_stops(tree: Tree) -> None:
    """What is opened just below a break and no longer at it is what the break names, or inside of that."""
    found = rates(tree)
    for before, step in zip(found.steps, found.steps[1:], strict=False):
        low, high = plan(tree, (before.rate + step.rate) / 2), plan(tree, step.rate)
        numbers = range(len(tree.nodes))
        stopped = {n for n in numbers if opens(low, n) and not opens(high, n)}
        named = set(step.stops_opening)
        assert named <= stopped
        off = set(step.stops_taking)
        for number in stopped - named:
            at, inner = number, []
            while at is not None:
                inner.append(at)
                at = tree.nodes[at].inside
            assert named & set(inner[1:]) or off & set(inner)


def by_programme(tree: Tree, rate: Fraction) -> float:
    """The best net worth by a mixed-integer programme: one variable for each node sold, opened, left on."""
    count = len(tree.nodes)
    sold, opened, stays = range(count), range(count, 2 * count), range(2 * count, 3 * count)
    gain = numpy.zeros(3 * count)
    rows, low, high = [], [], []
    upper = numpy.ones(3 * count)
    for number, node in enumerate(tree.nodes):
        gain[sold[number]] += float(tree.whole(number))
        around = None if node.inside is None else tree.nodes[node.inside].opening
        if node.opening is None:
            upper[opened[number]] = 0
        else:
            left = node.opening.left
            gain[opened[number]] -= float(node.opening.cost + node.opening.minutes * rate / 60)
            if left is not None:
                grams = node.grams if node.opening.left_grams is None else node.opening.left_grams
                gain[opened[number]] += float(left.of(grams.likely))
        row = numpy.zeros(3 * count)
        row[[sold[number], opened[number], stays[number]]] = 1
        if around is None:
            upper[stays[number]] = 0
            rows, low, high = [*rows, row], [*low, 1], [*high, 1]
            continue
        row[opened[node.inside or 0]] = -1
        rows, low, high = [*rows, row], [*low, 0], [*high, 0]
        each = float(around.left.each_gram.likely * node.grams.likely) if around.left is not None else 0.0
        if around.one_by_one and not node.must:
            gain[stays[number]] += each if around.left_grams is not None else 0
        else:
            upper[stays[number]] = 0
        out = [sold[number], opened[number]]
        gain[out] -= each if around.left_grams is None else 0
        gain[out] -= float(node.minutes * rate / 60) if around.one_by_one else 0
    found = milp(
        -gain,
        constraints=LinearConstraint(numpy.array(rows), low, high),
        integrality=numpy.ones(3 * count),
        bounds=(0, upper),
    )
    assert found.status == 0
    return float(-found.fun)


def grown(seed: int, count: int) -> Tree:
    """A tree of so many nodes, by chance."""
    random = Random(seed)
    inside = [None, *(random.randrange(max(0, number - 12), number) for number in range(1, count))]
    weights = [Fraction(random.randint(1, 400), 4) for _ in range(count)]
    for number in range(count - 1, 0, -1):
        weights[inside[number] or 0] += weights[number]
    prices = [("a", Fraction(31, 7)), ("b", Fraction(2)), ("c", Fraction(-1, 3)), ("d", Fraction(11, 3))]
    assembled = [("c", Fraction(-1, 3)), ("e", Fraction(3, 2)), ("b", Fraction(2))]  # so that many are opened

    def pay(known: list[tuple[str, Fraction]] = prices) -> Pay | None:
        if random.random() < 0.15:
            return None
        name, each = random.choice(known)
        return Pay(Span.exactly(each), price=name)

    def opening() -> Opening:
        weighed = Span.exactly(Fraction(random.randint(0, 40), 4)) if random.random() < 0.5 else None
        cost = Fraction(random.choice((0, 0, 9, 40, -5)))
        return Opening(
            Fraction(random.randint(0, 30), 2), random.random() < 0.5, pay(), left_grams=weighed, cost=cost
        )

    has_parts = set(inside)
    return Tree(
        tuple(
            Node(
                inside[number],
                Span.exactly(weights[number]),
                pay(assembled if number in has_parts else prices),
                opening() if number in has_parts else None,
                Fraction(random.randint(0, 20), 4),
                random.random() < 0.2,
            )
            for number in range(count)
        )
    )


@pytest.mark.parametrize("seed", range(6))
def test_a_linear_programme_finds_nothing_better(seed: int) -> None:
    """On trees of 150 nodes, too many for trying every plan, a solver of programmes comes to the same."""
    tree = grown(seed, 150)
    openings = [node.opening for node in tree.nodes if node.opening is not None]
    assert any(one.one_by_one and one.left_grams is not None and one.left is not None for one in openings)
    assert any(one.cost for one in openings)
    for rate in (Fraction(0), Fraction(900), Fraction(4000)):
        assert float(plan(tree, rate).worth.net(rate)) == pytest.approx(by_programme(tree, rate), rel=1e-7)


def is_best(tree: Tree, way: object, rate: Fraction) -> bool:
    """Whether a plan leaves as much as any other."""
    return net(weighed_out(tree, way), rate) == best(tree, rate)


@few
@given(tree=trees(most=6), rate=rates_to_try(), data=st.data())
def test_a_weight_moves_so_far_and_no_further(tree: Tree, rate: Fraction, data: st.DataObject) -> None:
    """Up to the weight that is told the plan stays the best of all, and a hair further it does not."""
    found = plan(tree, rate)
    way = followed(tree, found)
    number = data.draw(st.integers(0, len(tree.nodes) - 1))
    grams = tree.nodes[number].grams.likely
    moves = weight_moves(margins(tree, found))[number]
    for move, sign in zip(moves, (-1, 1), strict=True):
        far = move.by if move is not None else Fraction(sign * 50)
        if move is None:  # as far as the weights inside and around allow
            inner = sum((tree.nodes[part].grams.likely for part in tree.parts[number]), Fraction(0))
            around = tree.nodes[number].inside
            spare = Fraction(50)
            if around is not None:
                spare = tree.nodes[around].grams.likely - sum(
                    (tree.nodes[part].grams.likely for part in tree.parts[around]), Fraction(0)
                )
            far = inner - grams if sign < 0 else spare
        for share in (Fraction(1, 3), Fraction(999, 1000), Fraction(1)):
            assert is_best(plain.changed(tree, number, grams + far * share), way, rate)
        if move is not None:
            beyond = far + sign * Fraction(1, 10**6)
            assert not is_best(plain.changed(tree, number, grams + beyond), way, rate)


@few
@given(
    shares=st.lists(st.tuples(st.integers(0, 20), st.integers(-2, 9)), min_size=1, max_size=4),
    whole=st.integers(0, 6),
    minutes=st.integers(0, 40),
    rate=rates_to_try(),
)
def test_a_device_whose_parts_are_shares_of_it(
    shares: list[tuple[int, int]], whole: int, minutes: int, rate: Fraction
) -> None:
    """Up to the weight that is told the plan stays the best, all parts weighing as much more or less, and a
    hair further it does not; knowing that weight is worth what the best plans leave more on average.
    """

    def weighing_times(times: Fraction) -> Tree:
        grams = [Span.exactly(share * times) for share, _ in shares]
        span = Span(50 * times, 100 * times, 300 * times)
        root = Node(None, span, Pay(Span.exactly(whole)), Opening(Fraction(minutes)))
        parts = (Node(0, g, Pay(Span.exactly(pay))) for g, (_, pay) in zip(grams, shares, strict=True))
        return Tree((root, *parts))

    tree = weighing_times(Fraction(1))
    found = plan(tree, rate)
    way = followed(tree, found)
    for move, sign in zip(whole_moves(tree, found), (-1, 1), strict=True):
        far = move.by / 100 if move is not None else Fraction(-1 if sign < 0 else 10**4)
        for part in (Fraction(1, 3), Fraction(1)):
            assert is_best(weighing_times(1 + far * part), way, rate)
        if move is not None:
            assert not is_best(weighing_times(1 + far + sign * Fraction(1, 10**6)), way, rate)
    expected = Fraction(0)
    for often, times in zip(HOW_OFTEN, map(Fraction, ("0.5", "1", "3")), strict=True):
        other = weighing_times(times)
        expected += often * (best(other, rate) - net(weighed_out(other, way), rate))
    assert weighing_whole(tree, found) == expected


@few
@given(tree=trees(most=6), rate=rates_to_try())
def test_a_price_moves_so_far_and_no_further(tree: Tree, rate: Fraction) -> None:
    """Up to the price that is told the plan stays the best of all, and a hair further it does not."""
    found = plan(tree, rate)
    way = followed(tree, found)
    for price, moves in price_moves(tree, found).items():
        for move, sign in zip(moves, (-1, 1), strict=True):
            far = move.by if move is not None else Fraction(-1 if sign < 0 else 1000)
            for share in (Fraction(1, 3), Fraction(1)):
                assert is_best(plain.repriced(tree, price, 1 + far * share), way, rate)
            if move is not None:
                beyond = 1 + far + sign * Fraction(1, 10**6)
                assert not is_best(plain.repriced(tree, price, beyond), way, rate)


@few
@given(tree=trees(most=6), rate=rates_to_try())
def test_what_is_done_otherwise_is_told(tree: Tree, rate: Fraction) -> None:
    """With a price or a weight just past where it changes the plan, the node that is named is dealt with as
    is told, and was not before.
    """
    found = plan(tree, rate)
    hair = Fraction(1, 10**9)
    moved = [
        (move.then, plain.repriced(tree, price, 1 + move.by + sign * hair))
        for price, moves in price_moves(tree, found).items()
        for move, sign in zip(moves, (-1, 1), strict=True)
        if move is not None
    ]
    moved += [
        (move.then, plain.changed(tree, number, tree.nodes[number].grams.likely + move.by + sign * hair))
        for number, moves in enumerate(weight_moves(margins(tree, found)))
        for move, sign in zip(moves, (-1, 1), strict=True)
        if move is not None
    ]
    for (node, does), other in moved:
        after = plan(other, rate)
        if does in {Does.OPEN, Does.SELL}:
            expected = does is Does.OPEN
            assert (after.opened[node], found.opened[node]) == (expected, not expected)
        else:
            expected = does is Does.TAKE
            assert (after.taken[node], found.taken[node]) == (expected, not expected)


@few
@given(tree=trees(most=6, ranged=True), rate=rates_to_try())
def test_what_weighing_is_worth(tree: Tree, rate: Fraction) -> None:
    """It is what the best plans at low, likely and high leave more than this plan does there, on average; at
    the lightest and the heaviest that it can be where the others are as is likely. Once it was at those that
    were said, whether or not the others left room for that.
    """
    found = plan(tree, rate)
    way = followed(tree, found)
    around = margins(tree, found)
    ranged = {n for n, node in enumerate(tree.nodes) if node.grams.low != node.grams.high}
    for within, told in ((True, weighing(around)), (False, weighing(around, within=False))):
        assert set(told) == ranged
        for number, gain in told.items():
            expected = Fraction(0)
            spans = fitting(tree, number) if within else tree.nodes[number].grams
            for often, weight in zip(HOW_OFTEN, spans, strict=True):
                one = plain.changed(tree, number, weight)
                expected += often * (best(one, rate) - net(weighed_out(one, way), rate))
            assert gain == expected >= 0


@few
@given(tree=trees(most=6, ranged=True), rate=rates_to_try(), data=st.data())
def test_no_weights_lead_beyond_the_range(tree: Tree, rate: Fraction, data: st.DataObject) -> None:
    """Whatever the weights turn out to be within what was said, each for itself, the plan comes to no less
    and no more.
    """
    found = plan(tree, rate)
    way = followed(tree, found)
    told = ranges(tree, found, within=False)
    assert told.weights.likely == told.both.likely == found.worth.paid
    turned_out = tree
    for number, node in enumerate(tree.nodes):
        turned_out = plain.changed(turned_out, number, data.draw(st.sampled_from(list(node.grams))))
    paid, _ = weighed_out(turned_out, way)
    assert told.weights.low <= paid <= told.weights.high


@settings(max_examples=300, deadline=None, derandomize=True)
@given(tree=trees(most=7, ranged=True), rate=rates_to_try(), lefts=st.booleans())
def test_how_far_weights_lead_that_can_all_be_so(tree: Tree, rate: Fraction, lefts: bool) -> None:
    """Low and high are those of a linear programme over all weights of which none is less than what is in it,
    also where only what is left over has a range; what is left over is never less than nothing.
    """
    if lefts:
        exact = (replaced(node, grams=Span.exactly(node.grams.likely)) for node in tree.nodes)
        tree = Tree(tuple(map(with_a_range_left, exact)))
    found = plan(tree, rate)
    told = ranges(tree, found).weights
    by_solver = [ranged_by_programme(tree, found, sign) for sign in (-1, 1)]
    if None not in by_solver:  # of some of these trees no weights are so at once
        assert [float(told.low), float(told.high)] == pytest.approx(by_solver, abs=1e-6)
    for number, pieces in enumerate(left_over(tree, found.taken)):
        grams = Fraction(pieces, tree.sized.gram)
        assert grams == plain.left_over(tree, found, number)
        left = left_between(tree, found, number, grams)
        assert left.low <= left.likely == grams <= left.high


def with_a_range_left(node: Node) -> Node:
    """A node of which something is left over that was weighed from low to high, where it was weighed."""
    opening = node.opening
    if opening is None or opening.left_grams is None:
        return node
    weighed = Span(opening.left_grams.likely / 2, opening.left_grams.likely, opening.left_grams.likely * 2)
    return replaced(node, opening=replace(opening, left_grams=weighed))


def ranged_by_programme(tree: Tree, found: Plan, sign: int) -> float | None:
    """The least (-1) or most (1) that a plan comes to, over the weights of nodes and of what was weighed of
    what is left over; None where there are no such weights.
    """
    count, always = len(tree.nodes), Fraction(0)
    pays, rows, bounds = numpy.zeros(2 * count), [], []
    bounds = [(float(node.grams.low), float(node.grams.high)) for node in tree.nodes]
    for number, node in enumerate(tree.nodes):
        opening = node.opening
        weighed = None if opening is None else opening.left_grams
        bounds.append((0.0, 0.0) if weighed is None else (float(weighed.low), float(weighed.high)))
        row = numpy.zeros(2 * count)
        row[[*tree.parts[number], count + number]], row[number] = 1, -1
        rows.append(row)
        if not found.reached[number]:
            continue
        if opening is None or not found.opened[number]:
            pays[number] += 0 if node.whole is None else float(node.whole.each_gram.likely)
            always += 0 if node.whole is None else node.whole.fixed.likely
            continue
        always += opening.fixed
        each = float(opening.each_gram_left)
        pays[number if weighed is None else count + number] += each
        for part in tree.parts[number]:
            if found.taken[part] is (weighed is None):
                pays[part] += -each if weighed is None else each
    solved = linprog(-sign * pays, A_ub=numpy.array(rows), b_ub=numpy.zeros(count), bounds=bounds)
    return None if solved.status else float(-sign * solved.fun + float(always))


def test_a_chain_of_ten_thousand_parts() -> None:
    """A part in a part in a part, ten thousand deep, is planned at one rate and at all of them: opened as
    deep as pays most, less the time to get there.
    """
    count = 10_000
    prices = [number * number % 97 for number in range(count)]
    prices[6_000], prices[-1] = 4_000, 6_000
    deep = Tree(
        tuple(
            Node(
                number - 1 if number else None,
                Span.exactly(count - number),
                Pay(fixed=Span.exactly(paid)),
                Opening(Fraction(1)) if number < count - 1 else None,
            )
            for number, paid in enumerate(prices)
        )
    )
    found = rates(deep)
    for rate in map(Fraction, (0, 30, 31, 600)):
        at = plan(deep, rate)
        # Whatever is sold last, all around it was opened: so many minutes, and that one price.
        best = max(paid - depth * rate / 60 for depth, paid in enumerate(prices))
        assert at.worth.net(rate) == best
        depth = min(n for n, paid in enumerate(prices) if paid - n * rate / 60 == best)
        assert tuple(at.worth) == (prices[depth], depth)
        step = [one for one in found.steps if one.rate <= rate][-1]
        assert (step.paid, step.minutes) == (prices[depth], depth)
    assert len(weight_moves(margins(deep, at))) == count


def test_nobody_opens_for_nothing() -> None:
    """Where opening comes to just as much, the part is sold whole, whatever an hour is worth."""
    tree = Tree(
        (
            Node(None, Span.exactly(2), Pay(fixed=Span.exactly(6)), Opening()),
            Node(0, Span.exactly(2), Pay(fixed=Span.exactly(6))),
        )
    )
    assert not plan(tree, Fraction(0)).opened[0]
    assert rates(tree).opening[0] == 0


CHECKS = (
    test_no_plan_leaves_more,
    test_of_two_plans_alike_the_one_of_less_work,
    test_a_price_moves_so_far_and_no_further,
    test_what_is_done_otherwise_is_told,
    test_what_weighing_is_worth,
)


@pytest.mark.campaign
@settings(max_examples=3000, deadline=None)
@given(tree=trees(most=7, ranged=True), rate=rates_to_try())
def test_all_of_it_over_a_long_run(tree: Tree, rate: Fraction) -> None:
    """The same holds for many more trees."""
    for check in CHECKS:
        check.hypothesis.inner_test(tree=tree, rate=rate)  # type: ignore[attr-defined]


@few
@given(tree=trees(most=6), rate=rates_to_try(), data=st.data())
def test_what_is_left_may_bring_so_much_and_no_more(tree: Tree, rate: Fraction, data: st.DataObject) -> None:
    """Where what is left of some nodes brings a hair less than is told, or costs a hair less, the plan is as
    good as any; a hair beyond that another one is better, and where nothing is told none ever is.
    """
    opens = [number for number, node in enumerate(tree.nodes) if node.opening is not None]
    unnamed = [number for number in opens if data.draw(st.booleans())]
    tree = bringing(tree, unnamed, None)
    found = plan(tree, rate)
    moves = unnamed_moves(tree, found, unnamed)
    way = followed(tree, found)
    assert is_best(bringing(tree, unnamed, Fraction(0)), way, rate)
    for sign, move in ((-1, moves.less), (1, moves.more)):
        if move is None:
            assert is_best(bringing(tree, unnamed, Fraction(sign * 10**9)), way, rate)
            continue
        assert move.by * sign >= 0
        assert is_best(bringing(tree, unnamed, move.by * Fraction(999, 1000)), way, rate)
        beyond = bringing(tree, unnamed, move.by + Fraction(sign, 10**9))
        assert not is_best(beyond, way, rate)


def bringing(tree: Tree, unnamed: list[int], each_gram: Fraction | None) -> Tree:
    """The same tree where what is left of some nodes brings so much a gram; None: nobody said what it is."""
    nodes = list(tree.nodes)
    for number in unnamed:
        opening = nodes[number].opening
        assert opening is not None
        left = None if each_gram is None else Pay(Span.exactly(each_gram))
        nodes[number] = replaced(nodes[number], opening=replace(opening, left=left))
    return Tree(tuple(nodes))
