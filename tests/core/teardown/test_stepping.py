"""Weights where prices step: against every plan there is, each weighed out at the prices of its weights."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.core.teardown import taking_apart as plain
from tests.core.teardown.taking_apart import best, fitting, followed, net, some_tiers, trees, weighed_out

from gradewright.core.teardown.margins import Does, Edge, margins
from gradewright.core.teardown.moves import weight_moves
from gradewright.core.teardown.shares import weighing_whole, whole_moves
from gradewright.core.teardown.tree import NONE, Node, Opening, Pay, Span, Tiers, Tree, plan
from gradewright.core.teardown.weights import HOW_OFTEN, ranges
from gradewright.core.teardown.weights import weighing as weighing_is_worth

HAIR = Fraction(1, 10**9)
many = settings(max_examples=400, deadline=None, derandomize=True)
rates = st.sampled_from([Fraction(0), Fraction(30), Fraction(60), Fraction(200)])


def weighing(tree: Tree, number: int, grams: Fraction) -> Tree:
    """The same device with another weight of one part, paid as in lots of what everything weighs then."""
    return plain.in_lots(plain.changed(tree, number, grams))


def as_good(tree: Tree, way: object, rate: Fraction) -> bool:
    """Whether a plan leaves as much as any other."""
    return net(weighed_out(tree, way), rate) == best(tree, rate)


@many
@given(tree=trees(most=6), tiers=some_tiers(), rate=rates, data=st.data())
def test_a_weight_moves_to_the_step_that_changes_the_plan(
    tree: Tree, tiers: Mapping[str, Tiers], rate: Fraction, data: st.DataObject
) -> None:
    """Up to the weight that is told the plan stays the best of all, at every step on the way and beside it,
    and there or a hair further it does not; what is done otherwise then is told.
    """
    number = data.draw(st.integers(0, len(tree.nodes) - 1))
    holds_up_to_what_is_told(plain.stepping(tree, tiers), number, rate)


@st.composite
def racks(draw: st.DrawFn) -> Tree:
    """Something with up to four parts, one maybe in another, where all of it has a price that can step."""
    halves = st.integers(1, 6).map(lambda n: Fraction(n, 2))
    names = st.sampled_from("abc")
    grams = draw(st.lists(halves, min_size=1, max_size=4))
    inside = [0] * len(grams)
    opens: dict[int, Opening] = {}
    for number in (0, 1) if len(grams) > 1 and draw(st.booleans()) else (0,):
        left = Pay(NONE, price=draw(names))
        opens[number] = Opening(Fraction(draw(st.integers(0, 2))), one_by_one=draw(st.booleans()), left=left)
    if 1 in opens:
        inside[-1] = 1
        grams[0] += grams[-1] + draw(halves)
    heavy = sum((one for one, around in zip(grams, inside, strict=True) if not around), draw(halves))
    parts = (
        Node(around, Span.exactly(one), Pay(NONE, price=draw(names)), opens.get(number), Fraction(lasts))
        for number, (one, around) in enumerate(zip(grams, inside, strict=True), 1)
        for lasts in [draw(st.integers(0, 2))]
    )
    return Tree((Node(None, Span.exactly(heavy), Pay(NONE, price=draw(names)), opens[0]), *parts))


@many
@given(tree=racks(), tiers=some_tiers(), rate=rates)
def test_each_weight_of_something_in_which_all_has_a_price(
    tree: Tree, tiers: Mapping[str, Tiers], rate: Fraction
) -> None:
    """The same of every weight where nothing is without a price, and what stays on is paid as what is left
    over.
    """
    tree = plain.stepping(tree, tiers)
    for number in range(len(tree.nodes)):
        holds_up_to_what_is_told(tree, number, rate)


def holds_up_to_what_is_told(tree: Tree, number: int, rate: Fraction) -> None:
    """Whether that is so of one weight."""
    found = plan(tree, rate)
    way = followed(tree, found)
    grams = tree.nodes[number].grams.likely
    told = weight_moves(margins(tree, found))[number]
    for move, sign in zip(told, (-1, 1), strict=True):
        end = (allowed(tree, number)[sign > 0] if move is None else move.by) * sign
        tried = [end * share for share in map(Fraction, ("1/7", "1/3", "1/2", "4/5", "999/1000"))]
        tried += [at * sign + beside for at in steps(tree, number) for beside in (-HAIR, Fraction(0), HAIR)]
        for far in tried:
            if 0 < far < end - (HAIR if move is not None and move.edge is Edge.BEYOND else 0):
                assert as_good(weighing(tree, number, grams + far * sign), way, rate)
        if move is None:
            assert as_good(weighing(tree, number, grams + end * sign), way, rate)
            continue
        at, beyond = (weighing(tree, number, grams + move.by + sign * more) for more in (0, HAIR))
        assert as_good(at, way, rate) is (move.edge is not Edge.FROM)
        if move.by == allowed(tree, number)[sign > 0]:  # the last weight that it may have
            assert move.edge is not Edge.BEYOND
            if move.edge is Edge.EVEN:
                continue
        there = at if move.edge is Edge.FROM else beyond
        assert not as_good(there, way, rate)
        after, (node, does) = plan(there, rate), move.then
        done = after.opened if does in {Does.OPEN, Does.SELL} else after.taken
        was = found.opened if does in {Does.OPEN, Does.SELL} else found.taken
        assert (was[node], done[node]) == ((False, True) if does in {Does.OPEN, Does.TAKE} else (True, False))


def allowed(tree: Tree, number: int) -> tuple[Fraction, Fraction]:
    """By how much a weight may be less and more: within what is in it, and what is around it."""
    nodes, inside = tree.nodes, tree.nodes[number].inside
    inner = sum((nodes[part].grams.likely for part in tree.parts[number]), Fraction(0))
    spare = Fraction(50)
    if inside is not None:
        parts = (nodes[part].grams.likely for part in tree.parts[inside])
        spare = nodes[inside].grams.likely - sum(parts, Fraction(0))
    return inner - nodes[number].grams.likely, spare


def steps(tree: Tree, number: int) -> list[Fraction]:
    """By how much more a weight is where any price may step."""
    nodes, grams, inside = tree.nodes, tree.nodes[number].grams.likely, tree.nodes[number].inside
    found = [tier.from_grams - grams for tier in nodes[number].tiers]
    for one, sign in ((number, 1), (inside, -1)):
        if one is not None and (opening := nodes[one].opening) is not None:
            parts = (nodes[part].grams.likely for part in tree.parts[one])
            left = nodes[one].grams.likely - sum(parts, Fraction(0))
            found += [sign * (tier.from_grams - left) for tier in opening.tiers]
    return found


@many
@given(tree=trees(most=6, ranged=True), tiers=some_tiers(), rate=rates)
def test_what_weighing_is_worth_beside_a_step(tree: Tree, tiers: Mapping[str, Tiers], rate: Fraction) -> None:
    """It is what the best plans at low, likely and high leave more than this plan does there, on average, all
    paid as in lots of what it weighs then.
    """
    tree = plain.stepping(tree, tiers)
    found = plan(tree, rate)
    way = followed(tree, found)
    for number, gain in weighing_is_worth(margins(tree, found)).items():
        expected = Fraction(0)
        for often, weight in zip(HOW_OFTEN, fitting(tree, number), strict=True):
            one = weighing(tree, number, weight)
            expected += often * (best(one, rate) - net(weighed_out(one, way), rate))
        assert gain == expected >= 0


@many
@given(
    shares=st.lists(st.tuples(st.integers(1, 20), st.sampled_from("abc")), min_size=1, max_size=4),
    tiers=some_tiers(),
    whole=st.sampled_from("abc"),
    minutes=st.integers(0, 40),
    cost=st.sampled_from([0, 0, 5, -5]),
    rate=rates,
)
def test_a_device_whose_parts_are_shares_of_it_beside_a_step(
    shares: list[tuple[int, str]],
    tiers: Mapping[str, Tiers],
    whole: str,
    minutes: int,
    cost: int,
    rate: Fraction,
) -> None:
    """Up to the weight that is told the plan stays the best, with all parts as much heavier and each priced
    by its weight, and there or a hair further it does not; knowing the weight is worth what the best plans
    leave more on average.
    """

    def weighing_times(times: Fraction) -> Tree:
        """Its shares are tenths of a gram, what is left over is paid as well."""
        span = Span(5 * times, 10 * times, 30 * times)
        opening = Opening(Fraction(minutes), left=Pay(NONE, price="c"), cost=Fraction(cost))
        root = Node(None, span, Pay(NONE, price=whole), opening)
        parts = (
            Node(0, Span.exactly(Fraction(share, 10) * times), Pay(NONE, price=name))
            for share, name in shares
        )
        return plain.stepping(Tree((root, *parts)), tiers)

    tree = weighing_times(Fraction(1))
    found = plan(tree, rate)
    way = followed(tree, found)
    breaks = {tier.from_grams / node.grams.likely for node in tree.nodes for tier in node.tiers}
    left = 10 - sum((node.grams.likely for node in tree.nodes[1:]), Fraction(0))
    breaks |= {tier.from_grams / left for tier in tiers["c"] if left > 0}
    for move, sign in zip(whole_moves(tree, found), (-1, 1), strict=True):
        end = Fraction(-1 if sign < 0 else 1000) if move is None else move.by / 10
        tried = {1 + end * share for share in map(Fraction, ("1/7", "1/3", "1/2", "4/5", "999/1000"))}
        tried |= {at + beside for at in breaks for beside in (-HAIR, Fraction(0), HAIR)}
        ends = HAIR if move is not None and move.edge is Edge.BEYOND else Fraction(0)
        for times in tried:
            if 0 < (times - 1) * sign < end * sign - ends and times > 0:
                assert as_good(weighing_times(times), way, rate)
        if move is not None:
            at, beyond = (weighing_times(1 + end + sign * more) for more in (0, HAIR))
            assert as_good(at, way, rate) is (move.edge is not Edge.FROM)
            assert not as_good(at if move.edge is Edge.FROM else beyond, way, rate)
    expected = Fraction(0)
    for often, times in zip(HOW_OFTEN, map(Fraction, ("0.5", "1", "3")), strict=True):
        other = weighing_times(times)
        expected += often * (best(other, rate) - net(weighed_out(other, way), rate))
    assert weighing_whole(tree, found) == expected


@many
@given(tree=trees(most=6, ranged=True), tiers=some_tiers(), rate=rates, data=st.data())
def test_no_weights_lead_beyond_the_range_beside_a_step(
    tree: Tree, tiers: Mapping[str, Tiers], rate: Fraction, data: st.DataObject
) -> None:
    """Whatever the weights turn out to be, all at once and nothing below nothing left over, the plan comes to
    no less and no more; where one weight alone is not known, the ends that are told are truly reached, or as
    nearly as one likes.
    """
    tree = plain.stepping(tree, tiers)
    assume(fits(tree))
    found = plan(tree, rate)
    way = followed(tree, found)
    told = ranges(tree, found)
    assert told.weights.low <= told.weights.likely == found.worth.paid <= told.weights.high
    turned_out = tree
    for number, node in enumerate(tree.nodes):
        low, likely, high = fitting(turned_out, number)
        drawn = data.draw(
            st.sampled_from([low, likely, high, (low + high) / 2, *within(node.tiers, low, high)])
        )
        if low <= drawn <= high:
            turned_out = plain.changed(turned_out, number, drawn)
    paid, _ = weighed_out(plain.in_lots(turned_out), way)
    assert told.weights.low <= paid <= told.weights.high


def fits(tree: Tree) -> bool:
    """Whether no part is heavier, likely, than what it is in has room for."""
    for number, node in enumerate(tree.nodes):
        left = Fraction(0)
        if node.opening is not None and node.opening.left_grams is not None:
            left = node.opening.left_grams.likely
        if sum((tree.nodes[part].grams.likely for part in tree.parts[number]), left) > node.grams.likely:
            return False
    return True


def within(tiers: Tiers, low: Fraction, high: Fraction) -> list[Fraction]:
    """The weights between two at which a price steps, and a hair below them."""
    found = [tier.from_grams + beside for tier in tiers for beside in (-HAIR, Fraction(0))]
    return [one for one in found if low <= one <= high]


@many
@given(tree=trees(most=6, ranged=True), tiers=some_tiers(), rate=rates, data=st.data())
def test_the_ends_of_one_weight_are_reached_beside_a_step(
    tree: Tree, tiers: Mapping[str, Tiers], rate: Fraction, data: st.DataObject
) -> None:
    """Where one weight alone is not known, what the plan comes to at most and at least is what it comes to at
    one of its ends or at a step, there or a hair before it.
    """
    number = data.draw(st.integers(0, len(tree.nodes) - 1))
    exact = [
        node if one == number else plain.replaced(node, grams=Span.exactly(node.grams.likely))
        for one, node in enumerate(tree.nodes)
    ]
    tree = plain.stepping(Tree(tuple(exact)), tiers)
    assume(fits(tree))
    found = plan(tree, rate)
    way = followed(tree, found)
    low, likely, high = fitting(tree, number)
    grams = tree.nodes[number].grams.likely
    at_step = [grams + by + beside for by in steps(tree, number) for beside in (-HAIR, Fraction(0), HAIR)]
    tried = [low, likely, high, *(one for one in at_step if low <= one <= high)]
    paid = [weighed_out(weighing(tree, number, one), way)[0] for one in tried]
    told = ranges(tree, found).weights
    assert abs(told.low - min(paid)) < HAIR * 100
    assert abs(told.high - max(paid)) < HAIR * 100
