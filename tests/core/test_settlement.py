"""A ticket held against what was expected: each part of the difference, and that they add up."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradewright.core.effects import Effects
from gradewright.core.linked import Bin, linked, stands_for
from gradewright.core.money import TO_WHOLE, Rounding
from gradewright.core.rates import Rate
from gradewright.core.settlement import Settlement, settle
from gradewright.core.ticket import Charge, Flaw, Ticket, TicketLine
from gradewright.core.units import MASS_UNITS
from gradewright.core.valued import Terms

LB = MASS_UNITS["lb"].grams
GRADES = ("brass", "irony-brass", "copper", "iron")
HALF_EVEN = Terms()
PRICES = {"brass": "2.10", "irony-brass": "1.20", "copper": "3.50", "iron": "0.08"}
EXPECTED = {grade: Rate(Decimal(price), LB) for grade, price in PRICES.items()}


def lb(weight: str) -> Decimal:
    """So many pounds in grams."""
    return Decimal(weight) * LB


def a_bin(grade: str, weight: str, amount: int | None = None) -> Bin:
    """A bin at its expected price per pound; its amount worked out here unless given."""
    rate = EXPECTED[grade]
    exact = Fraction(weight) * Fraction(rate.price) * 100
    worth = TO_WHOLE[Rounding.HALF_EVEN](exact.numerator, exact.denominator)
    return Bin(grade, grade, lb(weight), rate, worth if amount is None else amount)


def a_line(grade: str | None, net: str, price: str, **more: Any) -> TicketLine:
    """A line whose amount is right by its own figures unless given."""
    exact = Fraction(net) * Fraction(price) * 100
    right = TO_WHOLE[Rounding.HALF_EVEN](exact.numerator, exact.denominator)
    fields = {"amount": right, "grade": grade, **more}
    return TicketLine(grade or "?", lb(net), Rate(Decimal(price), LB), **fields)


def a_ticket(*lines: TicketLine, **more: Any) -> Ticket:
    """A ticket whose total is right unless given."""
    charged = sum(charge.amount for charge in more.get("charges", ()))
    total = sum(line.amount for line in lines) - charged
    return Ticket("USD", lines, **{"total": total, **more})


def settled(
    ticket: Ticket,
    *bins: Bin,
    by_hand: dict[int, tuple[int, ...]] | None = None,
    terms: Terms = HALF_EVEN,
    average: bool = False,
) -> Settlement:
    """The settlement, with all expected prices known."""
    grades, hand = [line.grade for line in ticket.lines], by_hand or {}
    groups, stands = linked(grades, bins, hand), stands_for(grades, bins, hand)
    return settle(ticket, bins, groups, stands, EXPECTED, terms, average=average)


BINS = (a_bin("brass", "10"), a_bin("copper", "4"))
AS_EXPECTED = (a_line("brass", "10", "2.10"), a_line("copper", "4", "3.50"))


def test_a_ticket_that_is_as_expected_has_no_difference() -> None:
    """Nothing is different, no part is anything, and there is no flaw."""
    found = settled(a_ticket(*AS_EXPECTED), *BINS)
    assert (found.paid, found.expected, found.effects, found.flaws) == (3500, 3500, Effects(), ())


def test_an_example_worked_by_hand() -> None:
    """Brass of 10 lb at 2.10 is weighed as 9.5 lb, 0.5 lb taken off, accepted as irony brass, paid at 1.10.

    Weight (9.5 - 10) x 2.10 = -1.05; deductions -0.5 x 2.10 = -1.05; grade 9 x (1.20 - 2.10) = -8.10; price
    9 x (1.10 - 1.20) = -0.90. Paid are 9 x 1.10 = 9.90 less a charge of 2.00; 21.00 - 7.90 = 13.10, with two
    cents rounded down in cash to 7.88 where it should have been 7.90.
    """
    line = a_line("irony-brass", "9", "1.10", gross=lb("10.5"), tare=lb("1"), deduction=lb("0.5"), amount=990)
    ticket = a_ticket(line, charges=(Charge("gate", 200),), cash=788)
    found = settled(
        ticket, a_bin("brass", "10"), by_hand={0: (0,)}, terms=Terms(cash_increment=Decimal("0.05"))
    )
    assert found.effects == Effects(weight=-105, deductions=-105 - 200, grade=-810, price=-90, arithmetic=-2)
    assert found.difference == -1312
    assert found.flaws == (Flaw("cash", None, Decimal(788), Decimal(790)),)


CHANGES: dict[str, tuple[Ticket, Effects]] = {
    "a lighter scale": (a_ticket(a_line("brass", "9", "2.10"), AS_EXPECTED[1]), Effects(weight=-210)),
    "a deduction": (
        a_ticket(a_line("brass", "9", "2.10", deduction=lb("1")), AS_EXPECTED[1]),
        Effects(deductions=-210),
    ),
    "a lower grade": (
        a_ticket(a_line("irony-brass", "10", "1.20"), AS_EXPECTED[1]),
        Effects(grade=-900),
    ),
    "a lower price": (a_ticket(a_line("brass", "10", "2.00"), AS_EXPECTED[1]), Effects(price=-100)),
    "no word of the grade": (
        a_ticket(a_line(None, "10", "2.00"), AS_EXPECTED[1]),
        Effects(grade_or_price=-100),
    ),
    "a charge": (a_ticket(*AS_EXPECTED, charges=(Charge("x", 150),)), Effects(deductions=-150)),
    "a wrong sum": (a_ticket(*AS_EXPECTED, total=3400), Effects(arithmetic=-100)),
    "a wrong amount": (
        a_ticket(replace(AS_EXPECTED[0], amount=2000), AS_EXPECTED[1]),
        Effects(arithmetic=-100),
    ),
    "a wrong net": (
        a_ticket(a_line("brass", "9", "2.10", gross=lb("12"), tare=lb("2")), AS_EXPECTED[1]),
        Effects(arithmetic=-210),
    ),
    "cash in steps": (
        a_ticket(a_line("brass", "10", "2.102"), AS_EXPECTED[1], cash=3500),
        Effects(price=2, rounding=-2),
    ),
    "cash that is short": (a_ticket(*AS_EXPECTED, cash=3495), Effects(arithmetic=-5)),
}


@pytest.mark.parametrize("change", CHANGES)
def test_each_change_lands_in_its_own_part(change: str) -> None:
    """What was changed on a ticket that was as expected is the one part that is not zero."""
    ticket, effects = CHANGES[change]
    found = settled(ticket, *BINS, by_hand={0: (0,)}, terms=Terms(cash_increment=Decimal("0.05")))
    assert found.effects == effects
    assert found.difference == effects.total


def test_what_stands_for_nothing_is_told_apart() -> None:
    """A bin that is not on the ticket is missing; a line that no bin stands for is not expected."""
    ticket = a_ticket(AS_EXPECTED[1], a_line("iron", "50", "0.08"))
    found = settled(ticket, *BINS)
    assert found.effects == Effects(missing=-2100, unexpected=400)
    assert [(group.linked.bins, group.linked.lines) for group in found.groups] == [
        ((0,), ()),
        ((1,), (0,)),
        ((), (1,)),
    ]


def test_a_wrong_sum_of_what_was_not_expected_is_a_wrong_sum() -> None:
    """A line that no bin stands for, 50 lb at 0.08, for which 4.50 are paid: 0.50 of that is arithmetic."""
    found = settled(a_ticket(*AS_EXPECTED, a_line("iron", "50", "0.08", amount=450)), *BINS)
    assert found.effects == Effects(unexpected=400, arithmetic=50)


PAIR = (a_bin("brass", "10"), a_bin("irony-brass", "10"))
BOTH = (0, 1)


def test_of_several_bins_on_lines_of_several_grades_nobody_knows_how_each_was_accepted() -> None:
    """Brass and irony brass on two lines together: which of them was accepted as iron cannot be told."""
    ticket = a_ticket(a_line("irony-brass", "15", "1.20"), a_line("iron", "5", "0.08"))
    found = settled(ticket, *PAIR, by_hand={0: BOTH, 1: BOTH})
    assert found.groups[0].linked.lines == (0, 1)
    assert found.effects == Effects(grade=-900 - 560)
    assert {one.grade: one.share for one in found.accepted} == {"brass": None, "irony-brass": None}


def test_of_several_bins_on_lines_of_one_grade_each_was_accepted_as_that() -> None:
    """Brass and irony brass on two lines of irony brass: the brass was marked down, by 0.90 of 2.10."""
    ticket = a_ticket(a_line("irony-brass", "15", "1.20"), a_line("irony-brass", "5", "1.20"))
    found = settled(ticket, *PAIR, by_hand={0: BOTH, 1: BOTH})
    assert found.effects == Effects(grade=-900)
    assert {one.grade: one.share for one in found.accepted} == {"brass": Fraction(3, 7), "irony-brass": 0}


JOINED: dict[str, tuple[tuple[TicketLine, ...], dict[int, tuple[int, ...]], Effects, Effects]] = {
    # All 10 lb of brass are on a line of their own: what lacks is 3 lb of irony brass, at 1.20 and not 1.65.
    "short of one bin": (
        (a_line("brass", "10", "2.10"), a_line("irony-brass", "7", "1.20")),
        {1: BOTH},
        Effects(weight=-360),
        Effects(weight=-495, grade=135),
    ),
    # 3 lb of brass are on the line of the other, of 2 lb of irony brass nobody knows: both lack a tenth.
    "short of what both could be": (
        (a_line("brass", "7", "2.10"), a_line("irony-brass", "11", "1.20")),
        {1: BOTH},
        Effects(weight=-330, grade=-180),
        Effects(weight=-330, grade=-180),
    ),
    # A pound is taken off the brass, at its own price.
    "a deduction of one bin": (
        (a_line("brass", "9", "2.10", deduction=lb("1")), a_line("irony-brass", "10", "1.20")),
        {1: BOTH},
        Effects(deductions=-210),
        Effects(deductions=-165, grade=-45),
    ),
    # What the second line was accepted as nobody says; it is irony brass, paid at 1.00 and not at 1.20.
    "no word of the grade": (
        (a_line("brass", "10", "2.10"), a_line(None, "10", "1.00")),
        {1: BOTH},
        Effects(grade_or_price=-200),
        Effects(grade=450, grade_or_price=-650),
    ),
    # 5 lb of brass with all of the irony brass, as iron: 5 x (0.08 - 2.10) and 10 x (0.08 - 1.20).
    "thrown together": (
        (a_line("brass", "5", "2.10"), a_line("iron", "15", "0.08")),
        {1: BOTH},
        Effects(grade=-1010 - 1120),
        Effects(grade=-1010 - 1120),
    ),
}


@pytest.mark.parametrize("case", JOINED)
def test_bins_of_one_group_are_split_at_their_own_prices(case: str) -> None:
    """By hand; at their average, as by methods before, some of it was called by another name."""
    lines, by_hand, own, average = JOINED[case]
    found = settled(a_ticket(*lines), *PAIR, by_hand=by_hand)
    assert found.effects == own
    before = settled(a_ticket(*lines), *PAIR, by_hand=by_hand, average=True)
    assert (before.effects, before.difference) == (average, found.difference)


def test_what_a_bin_has_of_several_lines_is_how_it_was_accepted() -> None:
    """Brass of 10 lb is on a line of its own, 7 lb, and 3 lb of it are with 10 lb of irony brass on another:
    it was marked down by 3 x 0.90 of 21.00, the irony brass not.
    """
    ticket = a_ticket(a_line("brass", "7", "2.10"), a_line("irony-brass", "13", "1.20"))
    found = settled(ticket, *PAIR, by_hand={1: BOTH})
    assert {one.grade: one.share for one in found.accepted} == {
        "brass": Fraction(270, 2100),
        "irony-brass": 0,
    }


def test_what_was_deducted_of_a_line_of_several_bins_is_off_each() -> None:
    """The same, and a pound of the 13 was taken off: of the 3 lb of brass there are 12 of 13 left."""
    line = a_line("irony-brass", "12", "1.20", deduction=lb("1"))
    found = settled(a_ticket(a_line("brass", "7", "2.10"), line), *PAIR, by_hand={1: BOTH})
    there = 3 * Fraction(12, 13)
    share = there * (210 - 120) / ((7 + there) * 210)
    assert {one.grade: one.share for one in found.accepted} == {"brass": share, "irony-brass": 0}


def test_a_bin_without_a_price_cannot_be_split() -> None:
    """What is paid for it is the whole of its part: nothing was expected."""
    unpriced = Bin("scrap", None, lb("3"), None, None)
    found = settled(a_ticket(a_line("iron", "3", "0.08")), unpriced, by_hand={0: (0,)})
    assert found.effects == Effects(unpriced=24)
    assert found.accepted == ()


def test_a_bin_may_be_sold_on_two_lines() -> None:
    """Part of the brass is marked down: its weight is that of both lines, and only the one is marked down."""
    ticket = a_ticket(a_line("brass", "7", "2.10"), a_line("irony-brass", "3", "1.20"))
    found = settled(ticket, a_bin("brass", "10"), by_hand={1: (0,)})
    assert found.effects == Effects(grade=-270)
    (accepted,) = found.accepted
    assert (accepted.grade, accepted.share) == ("brass", Fraction(270, 2100))


def test_two_bins_may_be_sold_on_one_line() -> None:
    """Thrown together they are expected at their average; each is marked down by its own share."""
    ticket = a_ticket(a_line("irony-brass", "20", "1.20"))
    found = settled(ticket, a_bin("brass", "10"), a_bin("irony-brass", "10"), by_hand={0: (0, 1)})
    assert found.effects == Effects(grade=-900)
    assert {one.grade: one.share for one in found.accepted} == {"brass": Fraction(3, 7), "irony-brass": 0}


def test_a_rounding_of_another_kind_is_a_flaw_that_is_named() -> None:
    """2.5 lb at 0.05 are 12.5 cents: 13 is right where halves go up, and here they go to the even."""
    found = settled(a_ticket(a_line("iron", "2.5", "0.05", amount=13)), a_bin("iron", "2.5"))
    assert found.flaws == (Flaw("amount", 1, Decimal(13), Decimal(12), Rounding.HALF_UP),)
    assert found.effects.arithmetic == 1


WEIGHTS = st.integers(1, 40_000).map(lambda n: str(Decimal(n) / 100))
MONEY = st.integers(-500, 90_000).map(lambda n: str(Decimal(n) / 1000))


@st.composite
def lines(draw: st.DrawFn) -> TicketLine:
    """A line of a ticket, seldom right."""
    line = a_line(draw(st.sampled_from([*GRADES, None])), draw(WEIGHTS), draw(MONEY))
    changes: dict[str, Any] = {"deduction": lb(draw(st.sampled_from(["0", "0.25", "3"])))}
    if draw(st.booleans()):
        tare = lb(draw(st.sampled_from(["0", "1.5"])))
        off = draw(st.sampled_from(["0", "0.5"]))
        changes |= {"tare": tare, "gross": line.net + tare + changes["deduction"] + lb(off)}
    return replace(line, amount=line.amount + draw(st.sampled_from([0, 0, -7, 1000])), **changes)


@st.composite
def cases(draw: st.DrawFn) -> tuple[Ticket, list[Bin], dict[int, tuple[int, ...]], Terms]:
    """Any ticket, any bins, any matches by hand, any yard."""
    on_ticket = draw(st.lists(lines(), min_size=1, max_size=5))
    grades = draw(st.lists(st.sampled_from(GRADES), max_size=4, unique=True))
    bins = [a_bin(grade, draw(WEIGHTS)) for grade in grades]
    bins = [replace(b, amount=(b.amount or 0) + draw(st.integers(-3, 3))) for b in bins]
    if draw(st.booleans()):
        bins.append(Bin("unknown", None, lb(draw(WEIGHTS)), None, None))
    places = st.lists(st.integers(0, len(bins) - 1), min_size=1, max_size=3, unique=True)
    by_hand = {}
    if bins:
        chosen = draw(st.dictionaries(st.integers(0, len(on_ticket) - 1), places.map(tuple), max_size=3))
        by_hand = dict(chosen)
    ticket = a_ticket(*on_ticket, charges=(Charge("x", draw(st.integers(0, 99))),))
    ticket = replace(ticket, total=ticket.total + draw(st.sampled_from([0, 0, 5, -900])))
    step = draw(st.sampled_from([None, Decimal("0.05"), Decimal("0.1")]))
    if draw(st.booleans()):
        ticket = replace(ticket, cash=ticket.total + draw(st.integers(-3, 3)))
    return ticket, bins, by_hand, Terms(draw(st.sampled_from(list(Rounding))), step)


def hold(case: tuple[Ticket, list[Bin], dict[int, tuple[int, ...]], Terms]) -> None:
    """The parts add up, of each group and in all, and rounding is no more than fractions can come to."""
    ticket, bins, by_hand, terms = case
    found = settled(ticket, *bins, by_hand=by_hand, terms=terms)
    assert found.effects.total == found.paid - found.expected
    assert found.paid == (ticket.total if ticket.cash is None else ticket.cash)
    assert sorted(n for g in found.groups for n in g.linked.lines) == list(range(len(ticket.lines)))
    assert sorted(n for g in found.groups for n in g.linked.bins) == list(range(len(bins)))
    for group in found.groups:
        assert group.effects.total == group.paid - group.expected
        # Five parts to the half, each line to less than one, each bin to the three it was moved by.
        assert abs(group.effects.rounding) <= 2.5 + len(group.linked.lines) + 3.5 * len(group.linked.bins)
    if not found.flaws:
        assert found.effects.arithmetic == 0


@settings(max_examples=80)
@given(cases())
def test_the_parts_add_up(case: tuple[Ticket, list[Bin], dict[int, tuple[int, ...]], Terms]) -> None:
    """Whatever the ticket, the parts sum to paid less expected, of every group and in all."""
    hold(case)


@pytest.mark.campaign
@settings(max_examples=20_000)
@given(cases())
def test_the_parts_of_many_add_up(case: tuple[Ticket, list[Bin], dict[int, tuple[int, ...]], Terms]) -> None:
    """The same over a long run."""
    hold(case)


@settings(max_examples=100)
@given(st.lists(st.lists(st.integers(0, 3), min_size=4, max_size=4), min_size=1, max_size=5), st.data())
def test_bins_that_can_all_be_full_lack_nothing(rows: list[list[int]], data: st.DataObject) -> None:
    """However bins were divided among lines, and whatever these were accepted as: where each line is said to
    have what it has, no weight is missing of any, and what is left is grade, to a cent for each part.
    """
    brought = [sum(row[place] for row in rows) for place in range(len(GRADES))]
    there = [place for place, weight in enumerate(brought) if weight]
    bins = [a_bin(GRADES[place], str(brought[place])) for place in there]
    lines, by_hand, grade = [], {}, Fraction(0)
    for row in rows:
        if not any(row):
            continue
        accepted = data.draw(st.sampled_from(GRADES))
        by_hand[len(lines)] = tuple(there.index(place) for place in there if row[place])
        lines.append(a_line(accepted, str(sum(row)), PRICES[accepted]))
        down = [Fraction(PRICES[accepted]) - Fraction(PRICES[each]) for each in GRADES]
        grade += sum(weight * each for weight, each in zip(row, down, strict=True))
    if not lines:
        return
    found = settled(a_ticket(*lines), *bins, by_hand=by_hand)
    assert found.effects == Effects(grade=int(100 * grade))
    assert found.difference == 100 * grade


@settings(max_examples=60)
@given(st.sampled_from(GRADES), WEIGHTS, WEIGHTS, MONEY, st.sampled_from(GRADES))
def test_a_line_is_split_as_the_convention_says(
    grade: str, weight: str, net: str, price: str, accepted: str
) -> None:
    """Of one bin and one line the parts are within half a cent of the convention's fractions."""
    found = settled(a_ticket(a_line(accepted, net, price)), a_bin(grade, weight), by_hand={0: (0,)})
    w, n, p = (Fraction(text) for text in (weight, net, price))
    planned, listed = Fraction(PRICES[grade]), Fraction(PRICES[accepted])
    exact = {"weight": (n - w) * planned, "grade": n * (listed - planned), "price": n * (p - listed)}
    for name, amount in exact.items():
        assert abs(getattr(found.effects, name) - 100 * amount) <= Fraction(1, 2)
    assert found.effects.deductions == found.effects.arithmetic == 0
