"""Lines in a grade of which nothing was brought: which short bins they may be, and what speaks for it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.core.test_moved import ANY, EXACTLY, FAMILY, KIN, TENTHS
from tests.core.test_settlement import a_bin, a_line, a_ticket, lb

from gradewright.core.linked import Bin, linked
from gradewright.core.lower import Lower
from gradewright.core.marked import MayBe, may_be
from gradewright.core.ticket import TicketLine
from gradewright.core.weighed import Halves

BRASS = (a_bin("brass", "40.0"),)
IRONY = a_line("irony-brass", "40.1", "1.20")


def looked(
    lines: tuple[TicketLine, ...],
    bins: tuple[Bin, ...] = BRASS,
    lower: Lower = KIN,
    halves: Halves = TENTHS,
    by_hand: dict[int, tuple[int, ...]] | None = None,
    all_or_none: bool = False,
) -> list[MayBe]:
    """What the lines that stand for no bin may be."""
    groups = linked([line.grade for line in lines], bins, by_hand or {})
    return may_be(a_ticket(*lines), bins, groups, lower, lambda: halves, all_or_none=all_or_none)


CASES: dict[str, tuple[Lower, tuple[TicketLine, ...], list[MayBe]]] = {
    "all of a bin": (KIN, (IRONY,), [MayBe(0, 0, (0,))]),
    "all of a bin, in another grade of its family": (FAMILY, (IRONY,), [MayBe(0, 0, (0,))]),
    "all of a bin, in any grade that is paid less": (ANY, (IRONY,), [MayBe(0, 0, (0,))]),
    "all of a bin, in a grade that is paid more": (ANY, (a_line("copper", "40.1", "3.50"),), []),
    "all of a bin, and nobody says the grade": (KIN, (a_line(None, "40.1", "1"),), [MayBe(0, 0, (0,))]),
    "what is short of a bin": (
        KIN,
        (a_line("brass", "30.0", "2.10"), a_line("irony-brass", "10.1", "1.20")),
        [MayBe(1, 0, (1,))],
    ),
    "what is short, less what was deducted": (
        KIN,
        (a_line("brass", "30.0", "2.10"), a_line("irony-brass", "10.0", "1.20", deduction=lb("1"))),
        [MayBe(1, 0, (1,))],
    ),
    "what is short before a deduction": (
        KIN,
        (a_line("brass", "30.0", "2.10"), a_line("irony-brass", "9.0", "1.20", deduction=lb("1"))),
        [MayBe(1, 0, (1,))],
    ),
    "less than is short": (
        KIN,
        (a_line("brass", "30.0", "2.10"), a_line("irony-brass", "8.0", "1.20")),
        [MayBe(1, 0, ())],
    ),
    "less than is short, in a grade that is only paid less": (
        ANY,
        (a_line("brass", "30.0", "2.10"), a_line("iron", "8.0", "0.08")),
        [],
    ),
    "more than is short": (KIN, (a_line("irony-brass", "43", "1.20"),), [MayBe(0, 0, ())]),
    "two lines together": (
        KIN,
        (a_line("irony-brass", "25.0", "1.20"), a_line("iron", "15.0", "0.08")),
        [MayBe(0, 0, (0, 1)), MayBe(1, 0, (0, 1))],
    ),
    "a bin that is not short": (
        KIN, (a_line("brass", "39.9", "2.10"), a_line("irony-brass", "0.1", "1.20")), [],
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_what_a_line_may_be(case: str) -> None:
    """Of 40 lb of brass, by scales that show tenths."""
    lower, lines, found = CASES[case]
    assert looked(lines, lower=lower) == found


def test_what_weighs_the_same_is_the_likelier_one() -> None:
    """Brass and copper are both missing; the line weighs what the copper does, the other is told after it."""
    bins = (a_bin("brass", "10.0"), a_bin("copper", "4.0"))
    assert looked((a_line("irony-brass", "4.0", "1.20"),), bins) == [MayBe(0, 1, (0,)), MayBe(0, 0, ())]


BOTH = (a_bin("brass", "10.0"), a_bin("copper", "4.0"))
THROWN: dict[str, tuple[tuple[TicketLine, ...], list[MayBe]]] = {
    "all of both": (
        (a_line("irony-brass", "14.2", "1.20"),),
        [MayBe(0, 0, (0,), (0, 1)), MayBe(0, 1, (0,), (0, 1))],
    ),
    "what is short of both": (
        (
            a_line("brass", "7.0", "2.10"),
            a_line("copper", "2.0", "3.50"),
            a_line("irony-brass", "5.0", "1.20"),
        ),
        [MayBe(2, 0, (2,), (0, 1)), MayBe(2, 1, (2,), (0, 1))],
    ),
    "what is short of both, less what was deducted": (
        (
            a_line("brass", "7.0", "2.10"),
            a_line("copper", "1.0", "3.50", deduction=lb("1")),
            a_line("irony-brass", "6.0", "1.20", deduction=lb("1")),
        ),
        [MayBe(2, 0, (2,), (0, 1)), MayBe(2, 1, (2,), (0, 1))],
    ),
    "and nobody says the grade": (
        (a_line(None, "14.0", "1.20"),),
        [MayBe(0, 0, (0,), (0, 1)), MayBe(0, 1, (0,), (0, 1))],
    ),
    "more than both": ((a_line("irony-brass", "14.5", "1.20"),), [MayBe(0, 0, ()), MayBe(0, 1, ())]),
    "one of both alone": (
        (a_line("irony-brass", "4.0", "1.20"), a_line("iron", "14.0", "0.08")),
        [
            MayBe(0, 1, (0,)),
            MayBe(0, 0, ()),
            MayBe(1, 0, (1,), (0, 1)),
            MayBe(1, 1, (1,), (0, 1)),
        ],
    ),
}


@pytest.mark.parametrize("case", THROWN)
def test_bins_that_were_thrown_together(case: str) -> None:
    """Brass of 10 lb and copper of 4 lb: a line that weighs what is short of both may be both, where it does
    not weigh what is short of one.
    """
    lines, found = THROWN[case]
    assert looked(lines, BOTH) == found


THREE = (*BOTH, a_bin("irony-brass", "7.0"))
IRON = (a_line("iron", "14.1", "0.08"),)


def test_two_of_three_bins_may_be_on_a_line() -> None:
    """Brass, copper and irony brass are all missing, 10, 4 and 7 lb; a line of 14 lb may be the first two.
    The third one is told after them. By methods 4 and 5 it was all three or each alone.
    """
    both = [MayBe(0, place, (0,), (0, 1)) for place in (0, 1)]
    assert looked(IRON, THREE) == [*both, MayBe(0, 2, ())]
    assert {one.together for one in looked(IRON, THREE, all_or_none=True)} == {()}


def test_three_of_four_bins_may_be_on_a_line() -> None:
    """21 lb are three of four that are missing; all of them together are 51."""
    bins = (*THREE, a_bin("iron", "30.0"))
    found = looked((a_line(None, "21.0", "0.5"),), bins)
    assert [one.bins for one in found] == [(0, 1, 2)] * 3
    assert [one.bin for one in found] == [0, 2, 1]


def test_which_two_nobody_knows() -> None:
    """10 and 4 lb are missing, and 10 of another bin: 14 may be either with the 4. Of more than six bins some
    come to any weight by chance. One that weighs all that is missing is all.
    """
    bins = (*BOTH, a_bin("irony-brass", "10.0"))
    assert {one.together for one in looked(IRON, bins)} == {()}
    many = (*THREE, *(replace(a_bin("iron", f"{n}.0"), grade=f"other {n}") for n in (101, 203, 409, 811)))
    nobody = (a_line(None, "14.1", "0.08"),)
    assert looked(nobody, many, ANY) == []
    assert {one.bins for one in looked(nobody, many[:6], ANY)} == {(0, 1)}
    assert [one.bins for one in looked((a_line("iron", "21.0", "0.08"),), THREE)] == [(0, 1, 2)] * 3


def test_only_bins_that_it_may_be_are_thrown_together() -> None:
    """Iron of 30 lb is missing too, and is nothing that anybody takes for irony brass."""
    lines, found = THROWN["all of both"]
    assert looked(lines, (*BOTH, a_bin("iron", "30.0"))) == found


def test_what_weighs_one_bin_is_that_and_not_another_beside_it() -> None:
    """1,000 lb of brass and 0.2 lb of copper are missing: 1,000 lb may be the brass."""
    bins = (a_bin("brass", "1000.0"), a_bin("copper", "0.2"))
    assert looked((a_line("irony-brass", "1000.0", "1.20"),), bins) == [MayBe(0, 0, (0,)), MayBe(0, 1, ())]


def test_the_nearest_is_told_first_where_nothing_weighs_the_same() -> None:
    """5 lb are nearer to 4 lb of copper than to 10 lb of brass."""
    bins = (a_bin("brass", "10.0"), a_bin("copper", "4.0"))
    assert looked((a_line("irony-brass", "5.0", "1.20"),), bins) == [MayBe(0, 1, ()), MayBe(0, 0, ())]


def test_what_weighs_the_same_together_goes_before_what_is_nearer() -> None:
    """25 and 15 lb are the 40 lb of brass together, however near the one line is to 26 lb of copper."""
    bins = (*BRASS, a_bin("copper", "26.0"))
    lines = (a_line("irony-brass", "25.0", "1.20"), a_line("iron", "15.0", "0.08"))
    assert looked(lines, bins) == [
        MayBe(0, 0, (0, 1)),
        MayBe(0, 1, ()),
        MayBe(1, 0, (0, 1)),
        MayBe(1, 1, ()),
    ]


def test_the_steps_of_the_line_count_too() -> None:
    """A tenth and a little more is off: by scales that show tenths that is open, by exact ones it is not."""
    off = (a_line("irony-brass", "1.10", "1.20"),)
    bins = (a_bin("brass", "1.00"),)
    assert looked(off, bins) == [MayBe(0, 0, (0,))]
    assert looked(off, bins, halves=EXACTLY) == [MayBe(0, 0, ())]


@pytest.mark.parametrize(
    ("net", "together"), [("1005", (0,)), ("1005.01", ()), ("995.02", ()), ("995.03", (0,))]
)
def test_two_scales_agree_to_half_a_per_cent_of_the_lighter(net: str, together: tuple[int, ...]) -> None:
    """Of a bin of 1,000 lb, weighed exactly: 5 lb more, or less by half a per cent of what the line has."""
    line = a_line("irony-brass", net, "1.20")
    assert looked((line,), (a_bin("brass", "1000"),), halves=EXACTLY) == [MayBe(0, 0, together)]


def test_bins_that_were_matched_together_are_left_alone() -> None:
    """Which of two bins of one line is short nobody knows."""
    bins = (a_bin("brass", "10"), a_bin("copper", "4"))
    lines = (a_line("brass", "10", "2.10"), a_line("irony-brass", "4", "1.20"))
    assert looked(lines, bins, by_hand={0: (0, 1)}) == []
