"""What was marked down on lines of several bins: told with what it can be, and never as certain if it may not
have been.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.test_settlement import (
    EXPECTED,
    GRADES,
    LB,
    PRICES,
    a_bin,
    a_line,
    a_ticket,
    cases,
    lb,
    settled,
)

from gradewright.core.accepted import MarkedDown
from gradewright.core.between import Between
from gradewright.core.linked import linked, stands_for
from gradewright.core.settlement import Settlement, settle
from gradewright.core.ticket import TicketLine
from gradewright.core.valued import Terms

BRASS, COPPER, IRONY = a_bin("brass", "20"), a_bin("copper", "20"), a_bin("irony-brass", "20")


def pounds(found: Settlement) -> dict[tuple[int, str], tuple[Fraction, Fraction, Fraction]]:
    """By bin and grade the least of what was marked down, what it is reckoned as, and the most."""
    told = {}
    for one in found.marked_down:
        ends = one.between or Between(one.grams, one.grams)
        pound = Fraction(LB)
        told[one.bin, one.grade] = (ends.least / pound, one.grams / pound, ends.most / pound)
    return told


def shares(found: Settlement) -> dict[str, Fraction | None]:
    """The share of its price that each bin was marked down by."""
    return {one.grade: one.share for one in found.accepted}


def test_two_dearer_bins_on_one_line() -> None:
    """20 lb of brass and of copper are 30 lb of irony brass: of each it can be 10 to 20."""
    ticket = a_ticket(a_line("irony-brass", "30", "1.20"))
    found = settled(ticket, BRASS, COPPER, by_hand={0: (0, 1)})
    assert pounds(found) == {(0, "irony-brass"): (10, 15, 20), (1, "irony-brass"): (10, 15, 20)}
    assert all(one.certain for one in found.marked_down)
    assert shares(found) == {"brass": Fraction(3, 7), "copper": Fraction(23, 35)}


def test_a_bin_with_a_line_of_its_own() -> None:
    """15 lb of the brass are on its own line, and some of the 24 that are of both: 4 to 5."""
    lines = a_line("brass", "15", "2.10"), a_line("irony-brass", "24", "1.20")
    found = settled(a_ticket(*lines), BRASS, IRONY, by_hand={1: (0, 1)})
    assert pounds(found) == {(0, "irony-brass"): (4, Fraction("4.5"), 5)}
    (down,) = found.marked_down
    assert (down.lines, down.certain, down.shared) == ((1,), True, True)


def test_what_may_be_nothing_is_not_counted() -> None:
    """15 lb of irony brass can be all of the one bin or of the other: nobody knows how either was accepted.
    Its money is split all the same, and adds up.
    """
    found = settled(a_ticket(a_line("irony-brass", "15", "1.20")), BRASS, COPPER, by_hand={0: (0, 1)})
    half = (0, Fraction("7.5"), 15)
    assert pounds(found) == {(0, "irony-brass"): half, (1, "irony-brass"): half}
    assert [one.certain for one in found.marked_down] == [False, False]
    assert shares(found) == {"brass": None, "copper": None}
    assert found.effects.total == found.difference


def test_nothing_by_one_way_may_be_more_by_another() -> None:
    """11 lb of brass are on its own line, and 10 on one of brass and irony brass. Filled alike, the brass has
    none of these; it can have 9. What is no more than two scales differ by is not told.
    """
    lines = a_line("brass", "11", "2.10"), a_line("irony-brass", "10", "1.20")
    found = settled(a_ticket(*lines), BRASS, IRONY, by_hand={1: (0, 1)})
    assert pounds(found) == {(0, "irony-brass"): (0, 0, 9)}
    assert shares(found) == {"brass": None, "irony-brass": 0}
    lines = a_line("brass", "19.9", "2.10"), lines[1]
    found = settled(a_ticket(*lines), BRASS, IRONY, by_hand={1: (0, 1)})
    assert (pounds(found), shares(found)) == ({}, {"brass": 0, "irony-brass": 0})


def test_nobody_knows_which_of_two_grades_a_share_is_of() -> None:
    """35 lb of 40 on a line of irony brass and one of iron: of each bin it may be nothing of either line. Of
    39 lb that are iron but for one, each is iron by 18 lb at least: so much is told, and no share.
    """
    lines = a_line("irony-brass", "18", "1.20"), a_line("iron", "17", "0.08")
    both = {0: (0, 1), 1: (0, 1)}
    found = settled(a_ticket(*lines), BRASS, COPPER, by_hand=both)
    assert {one.certain for one in found.marked_down} == {False}
    assert shares(found) == {"brass": None, "copper": None}
    lines = a_line("irony-brass", "1", "1.20"), a_line("iron", "38", "0.08")
    found = settled(a_ticket(*lines), BRASS, COPPER, by_hand=both)
    sure = [one for one in found.marked_down if one.certain]
    assert [(one.bin, one.grade, one.shared) for one in sure] == [(0, "iron", False), (1, "iron", False)]
    assert pounds(found)[0, "iron"] == (18, 18, 20)


def test_what_was_deducted_is_no_more_than_any_line_loses() -> None:
    """A tenth of 10 lb was deducted on one of two lines, on the other nothing: of 20 lb least and most."""
    lines = a_line("irony-brass", "9", "1.20", deduction=lb("1")), a_line("irony-brass", "20", "1.20")
    found = settled(a_ticket(*lines), BRASS, COPPER, by_hand={0: (0, 1), 1: (0, 1)})
    assert pounds(found)[0, "irony-brass"] == (9, Fraction("14.5"), 20)


def test_lines_of_other_bins_are_not_told() -> None:
    """In a row: each bin is on the lines that it was said to be on."""
    lines = a_line("iron", "12", "0.08"), a_line("iron", "18", "0.08")
    found = settled(a_ticket(*lines), BRASS, COPPER, IRONY, by_hand={0: (0, 1), 1: (1, 2)})
    assert {one.bin: one.lines for one in found.marked_down} == {0: (0,), 1: (0, 1), 2: (1,)}


def test_earlier_methods_took_the_share_for_sure() -> None:
    """Of each bin what one way says, and nothing else."""
    ticket = a_ticket(a_line("irony-brass", "15", "1.20"))
    bins, hand = (BRASS, COPPER), {0: (0, 1)}
    grades = [line.grade for line in ticket.lines]
    groups, stands = linked(grades, bins, hand), stands_for(grades, bins, hand)
    found = settle(ticket, bins, groups, stands, EXPECTED, Terms(), shares_are_sure=True)
    grams = Fraction(15, 2) * Fraction(LB)
    assert found.marked_down == tuple(MarkedDown(place, "irony-brass", grams, (0,)) for place in (0, 1))
    assert shares(found) == {"brass": Fraction(3, 7), "copper": Fraction(23, 35)}


@settings(max_examples=200)
@given(st.lists(st.lists(st.integers(0, 3), min_size=4, max_size=4), min_size=1, max_size=5), st.data())
def test_the_truth_is_never_beyond_it(rows: list[list[int]], data: st.DataObject) -> None:
    """However bins were divided among lines, with some lost on the way: what of each was marked down is
    within what is told, and told as certain only if any was; what is not told was not.
    """
    lost = data.draw(st.lists(st.integers(0, 2), min_size=4, max_size=4))
    brought = [sum(row[place] for row in rows) + lost[place] for place in range(len(GRADES))]
    there = [place for place, weight in enumerate(brought) if weight]
    bins = [a_bin(GRADES[place], str(brought[place])) for place in there]
    on_ticket, by_hand = list[TicketLine](), {}
    truth: dict[tuple[int, str], int] = {}
    for row in rows:
        if not any(row):
            continue
        accepted = data.draw(st.sampled_from(GRADES))
        of = {there.index(place) for place in there if row[place]}
        by_hand[len(on_ticket)] = tuple(of | data.draw(st.sets(st.integers(0, len(bins) - 1), max_size=2)))
        on_ticket.append(a_line(accepted, str(sum(row)), PRICES[accepted]))
        for place in there:
            if Fraction(PRICES[accepted]) < Fraction(PRICES[GRADES[place]]) and row[place]:
                at = (there.index(place), accepted)
                truth[at] = truth.get(at, 0) + row[place]
    if not on_ticket:
        return
    found = settled(a_ticket(*on_ticket), *bins, by_hand=by_hand)
    told = pounds(found)
    assert set(truth) <= set(told)
    for at, (least, reckoned, most) in told.items():
        assert least <= truth.get(at, 0) <= most
        assert least <= reckoned <= most


@settings(max_examples=100)
@given(cases())
def test_whatever_the_ticket_it_holds_together(case: Any) -> None:
    """The share is within what it can be, also where weights and deductions are anything."""
    ticket, bins, by_hand, terms = case
    found = settled(ticket, *bins, by_hand=by_hand, terms=terms)
    for least, reckoned, most in pounds(found).values():
        assert 0 <= least <= reckoned <= most
    unsure = {bins[one.bin].grade for one in found.marked_down if not one.certain}
    assert {one.grade for one in found.accepted if one.grade in unsure and one.share is not None} == set()


@pytest.mark.parametrize("weight", ["19", "21"])
def test_a_bin_alone_is_as_it_was(weight: str) -> None:
    """No other bin is on its lines: there is one way."""
    found = settled(a_ticket(a_line("iron", weight, "0.08")), replace(BRASS), by_hand={0: (0,)})
    assert found.marked_down == (MarkedDown(0, "iron", Fraction(weight) * Fraction(LB), (0,)),)
