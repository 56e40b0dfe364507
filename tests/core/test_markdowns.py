"""How often and by how much a yard marks down: the intervals against SciPy's, and what is not told."""

from __future__ import annotations

from decimal import Decimal

import pytest
from scipy import stats

from gradewright.core.markdowns import Sold, around_the_median, markdowns, wilson


@pytest.mark.parametrize(("count", "of"), [(0, 1), (0, 9), (3, 3), (1, 4), (7, 11), (19, 60), (500, 1000)])
def test_wilsons_interval_is_the_one_of_scipy(count: int, of: int) -> None:
    """To nine places."""
    low, high = wilson(count, of)
    oracle = stats.binomtest(count, of).proportion_ci(confidence_level=0.95, method="wilson")
    assert float(low) == pytest.approx(oracle.low, abs=1e-9)
    assert float(high) == pytest.approx(oracle.high, abs=1e-9)


def test_wilsons_published_end_points() -> None:
    """Of none in ten the interval ends at z squared over n plus z squared: 0.2775."""
    assert wilson(0, 10)[1].quantize(Decimal("0.0001")) == Decimal("0.2775")


@pytest.mark.parametrize("count", range(1, 80))
def test_the_places_around_a_median_hold_it_in_95_of_100(count: int) -> None:
    """They do, by the binomial distribution, and the next ones inside would not; five have no such places."""
    places = around_the_median(count)
    half = stats.binom(count, 0.5)
    if places is None:
        assert count < 6
        assert 1 - 2 * half.cdf(0) < 0.95
        return
    low, high = places
    assert low + high == count + 1
    assert 1 - 2 * half.cdf(low - 1) >= 0.95
    assert 1 - 2 * half.cdf(low) < 0.95


def sold(ticket: int, seller: str, *grades: str, share: str | None = "0") -> list[Sold]:
    """What one ticket sold."""
    down = None if share is None else Decimal(share)
    return [Sold(f"s-{ticket}", seller, grade, down) for grade in grades]


def test_nothing_is_told_of_two_sellers() -> None:
    """However many tickets they settle, no grade and no number is told."""
    seen = [row for n in range(12) for row in sold(n, ("wren", "dunlin")[n % 2], "brass", share="0.2")]
    found = markdowns(seen)
    assert (found.tickets, found.overall, found.grades) == (0, None, ())


def test_of_three_sellers_the_figures_are_told() -> None:
    """Two of three tickets were marked down: the share, its interval, and no median of two sellers."""
    seen = [
        *sold(1, "wren", "brass", share="0.4"),
        *sold(2, "dunlin", "brass", share="0.3"),
        *sold(3, "siskin", "brass"),
    ]
    (brass,) = markdowns(seen).grades
    often = brass.often
    assert (often.count, often.of) == (2, 3)
    assert [str(each) for each in (often.share, often.low, often.high)] == ["0.67", "0.21", "0.94"]
    assert brass.much is None


def test_one_more_ticket_changes_nothing() -> None:
    """Until a lot of three sellers is full again, so that nobody sees what one of them did."""
    first = [row for n, who in enumerate(("wren", "dunlin", "siskin")) for row in sold(n, who, "brass")]
    before = markdowns(first)
    two_more = [*first, *sold(7, "plover", "brass", share="0.9"), *sold(8, "plover", "brass", share="0.9")]
    assert markdowns(two_more) == before
    full = [*two_more, *sold(9, "avocet", "brass"), *sold(10, "shrike", "brass")]
    assert markdowns(full).tickets == 7


def test_a_grade_of_two_sellers_is_in_no_figure() -> None:
    """It has no line of its own, and nothing is said of all grades together without it."""
    seen = [row for n, who in enumerate(("wren", "dunlin", "siskin")) for row in sold(n, who, "brass")]
    seen[1:1] = sold(0, "wren", "copper", share="0.5")
    found = markdowns(seen)
    assert [told.grade for told in found.grades] == ["brass"]
    assert found.overall is None


def test_how_much_is_the_median_with_its_interval() -> None:
    """Of six that were marked down the mean of the middle two, between the first and the last."""
    shares = ("0.10", "0.12", "0.15", "0.20", "0.30", "0.31")
    sellers = ("wren", "dunlin", "siskin", "plover", "avocet", "shrike")
    seen = [
        row
        for n, (who, share) in enumerate(zip(sellers, shares, strict=True))
        for row in sold(n, who, "brass", share=share)
    ]
    (six,) = markdowns(seen).grades
    assert six.much is not None
    assert [str(each) for each in (six.much.median, six.much.low, six.much.high)] == ["0.18", "0.10", "0.31"]


CLEAR = [
    *sold(1, "wren", "brass", share="0.4"),
    *sold(2, "dunlin", "brass"),
    *sold(3, "siskin", "brass"),
]


def test_what_is_unclear_is_in_no_share() -> None:
    """One of three tickets was marked down; two more that do not tell are counted apart, and change nothing
    else.
    """
    unclear = [*sold(5, "wren", "brass", share=None), *sold(4, "plover", "brass", share=None)]
    found = markdowns([*unclear, *CLEAR])
    (brass,) = found.grades
    assert (brass.often.count, brass.often.of, brass.unclear) == (1, 3, 2)
    assert brass.often == markdowns(CLEAR).grades[0].often
    assert found.tickets == 3
    assert found.overall is not None
    assert (found.overall.often, found.overall.unclear) == (brass.often, 2)


def test_nothing_is_told_for_the_sake_of_what_is_unclear() -> None:
    """Two sellers whose tickets tell are no three, however many do not; nor do they close a lot, by which one
    of two could see what the other's ticket did.
    """
    unclear = [row for n in range(9) for row in sold(20 + n, f"kite-{n}", "brass", share=None)]
    assert markdowns([*CLEAR[:2], *unclear]).grades == ()
    later = [*CLEAR, *sold(7, "plover", "brass", share="0.9"), *unclear, *sold(8, "avocet", "brass")]
    assert markdowns(later) == markdowns(CLEAR)
    copper = [Sold(one.ticket, one.seller, "copper", None) for one in CLEAR]
    found = markdowns(sorted([*CLEAR, *copper], key=lambda one: one.ticket))
    assert ([told.grade for told in found.grades], found.overall) == (["brass"], None)


def test_of_all_grades_nothing_is_told_where_too_few_tickets_are_clear() -> None:
    """Of brass three sellers tell, and of copper three others; of all that they sold none does."""
    seen = [
        row
        for n, who in enumerate(("wren", "dunlin", "siskin", "plover", "avocet", "shrike"))
        for row in (
            *sold(n, who, "brass", share="0" if n < 3 else None),
            *sold(n, who, "copper", share=None if n < 3 else "0"),
        )
    ]
    found = markdowns(seen)
    assert [(told.grade, told.often.of, told.unclear) for told in found.grades] == [
        ("brass", 3, 3),
        ("copper", 3, 3),
    ]
    assert found.overall is None


def test_of_all_grades_a_ticket_tells_where_it_was_marked_down_or_all_is_clear() -> None:
    """Brass marked down and copper unclear: it was marked down. Brass not, and copper unclear: unclear."""
    copper: dict[int, str | None] = {1: None, 2: None, 3: "0", 4: "0"}
    seen = [
        row
        for n, who in enumerate(("wren", "dunlin", "siskin", "plover"), 1)
        for row in (
            *sold(n, who, "brass", share="0.4" if n == 1 else "0"),
            *sold(n, who, "copper", share=copper[n]),
        )
    ]
    seen += [*sold(5, "avocet", "brass", "copper"), *sold(6, "shrike", "brass", "copper")]
    overall = markdowns(seen).overall
    assert overall is not None
    assert (overall.often.count, overall.often.of, overall.unclear) == (1, 5, 1)
