"""What is far off and borne out counts, and weighs no more than its share, at however many yards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.core.test_holding import DAY, HOLDING, PRICING, market, seen

from gradewright.core.consensus import Quote, quote
from gradewright.core.holding import sifted
from gradewright.core.rulebook import Few, Pricing, Spread
from gradewright.core.sightings import Entry, Sighting
from gradewright.core.spoken import NOTHING_SAID, Said, level

OPEN = replace(HOLDING, few=Few(2, Decimal(2)), without_any_one=True, words_weighed=True)
AT_MOST = replace(OPEN, borne_out_at_most=Decimal("0.25"))
SPREAD = Spread(Decimal("0.005"), Decimal("0.001"), Decimal("0.1"))
UNLIMITED, LIMITED = (replace(PRICING, holding=rules, spread=SPREAD) for rules in (OPEN, AT_MOST))


def together(authors: Sequence[str], yards: Sequence[str], price: str = "33.0") -> list[Sighting]:
    """All of them say one price of some yards."""
    return [seen(price, yard, author) for yard in yards for author in authors]


def sheds(number: int) -> list[str]:
    """Yards where nobody else goes."""
    return [f"shed-{n}" for n in range(number)]


def quoted(
    rows: list[Sighting], pricing: Pricing, said: Mapping[Entry, Said] = NOTHING_SAID, lb: int = 0
) -> Quote:
    """The price of a region, all of them of full standing."""
    standing = {s.author: Decimal(1) for s in rows}
    counting = sifted(rows, DAY, pricing, standing, said).left(rows)
    found = quote(counting, DAY, lb * Decimal("453.59237"), pricing, standing)
    assert found is not None
    return found


def told(found: Quote) -> tuple[str, str, str]:
    return str(found.low.price), str(found.likely.price), str(found.high.price)


def test_two_were_believed_wherever_nobody_else_goes() -> None:
    """Nine yards of their own against four: the price was theirs. Now all three figures are the others'."""
    rows = [*market(), *together(["kite", "stork"], sheds(9))]
    assert told(quoted(rows, UNLIMITED))[1] == "33.0"
    found = quoted(rows, LIMITED)
    low, likely, high = map(Decimal, told(found))
    assert Decimal("3.2") < low < likely < high < Decimal("3.5")
    assert (found.yards, found.entries) == (13, 24)


def test_two_outspoke_the_only_witness_of_each_yard() -> None:
    """At yards with a witness each they are two to one: what the witness saw stands beside what they say."""
    yards = [f"yard-{n}" for n in range(6)]
    honest = [seen(f"{3.2 + n / 20:.2f}", yard, f"author-{n}", days=9) for n, yard in enumerate(yards)]
    rows = [*honest, *together(["kite", "stork"], yards)]
    assert quoted(rows, UNLIMITED).likely.price == Decimal("33.0")
    assert Decimal("3.2") <= quoted(rows, LIMITED).likely.price <= Decimal("3.45")


@pytest.mark.parametrize("yards", [1, 2])
def test_what_is_borne_out_counts_all_the_same(yards: int) -> None:
    """Where it is within its share it weighs as any other, and in the price of its own yard always."""
    rows = [*market(), *together(["kite", "stork"], sheds(yards), "2.50")]
    alone = [s for s in rows if s.yard == "shed-0"]
    assert quoted(alone, LIMITED).likely.price == Decimal("2.50")
    standing = {s.author: Decimal(1) for s in rows}
    here = [s for s in sifted(rows, DAY, LIMITED, standing).left(rows) if s.yard == "shed-0"]
    found = quote(here, DAY, Decimal(0), LIMITED, standing)
    assert found is not None
    assert (found.likely.price, found.entries) == (Decimal("2.50"), 2)
    assert (quoted(rows, LIMITED) == quoted(rows, UNLIMITED)) is (yards == 1)


def test_one_yard_where_old_and_new_differ_is_not_divided() -> None:
    """A yard has changed its board, and two have seen it: the price of the yard is that of the two."""
    rows = [
        *market(),
        seen("3.30", "shed-0", "heron", days=20),
        *together(["kite", "stork"], sheds(1), "2.50"),
    ]
    standing = {s.author: Decimal(1) for s in rows}
    here = [s for s in sifted(rows, DAY, LIMITED, standing).left(rows) if s.yard == "shed-0"]
    assert [s.borne_out for s in here] == [False, True, True]
    found = quote(here, DAY, Decimal(0), LIMITED, standing)
    assert found is not None
    assert found.likely.price == Decimal("2.50")


def test_tickets_for_each_of_many_lies_have_the_same_share() -> None:
    """Whoever settles a ticket for each, half as much off as that: one author with nine yards."""
    rows = [*market(), *together(["kite"], sheds(9), "5.00")]
    shown = {s.entry: Said(shown=True) for s in rows if s.author == "kite"}
    assert quoted(rows, LIMITED, shown).high.price < Decimal("3.5")
    assert quoted(rows, UNLIMITED, shown).high.price > Decimal("4.9")


def test_where_all_that_counts_is_borne_out_nothing_limits_it() -> None:
    """There is nothing to have a share of."""
    rows = together(["kite", "stork"], sheds(2))
    marked = [s._replace(borne_out=True) for s in rows]
    standing: dict[str, Decimal] = {}
    assert quote(marked, DAY, Decimal(0), LIMITED, standing) == quote(
        rows, DAY, Decimal(0), LIMITED, standing
    )


def test_a_market_that_jumps_is_followed_as_before() -> None:
    """All yards pay half as much again from one day on: the price does once most of what counts says so."""
    for moved in range(7):
        rows = [seen("3.00", f"yard-{n}", name, days=6) for n in range(6) for name in (f"a-{n}", f"b-{n}")]
        rows += [
            seen("4.50", f"yard-{n}", name, days=1) for n in range(moved) for name in (f"a-{n}", f"b-{n}")
        ]
        prices = [quoted(rows, pricing).likely.price for pricing in (UNLIMITED, LIMITED)]
        assert prices == [Decimal("4.50") if moved >= 3 else Decimal("3.00")] * 2, moved


@given(
    st.lists(st.tuples(st.integers(300, 360), st.integers(0, 30)), min_size=5, max_size=8),
    st.lists(
        st.tuples(
            st.integers(0, 1),
            st.sampled_from([*sheds(9), *(f"yard-{n}" for n in range(5))]),
            st.integers(0, 9),
        ),
        min_size=1,
        max_size=24,
        unique_by=lambda each: each[:2],
    ),
    st.one_of(st.integers(1, 9), st.integers(110, 300)),
)
def test_two_never_take_the_price_out_of_what_five_say(
    others: list[tuple[int, int]], lies: list[tuple[int, str, int]], tenths: int
) -> None:
    """Five honest members and more with a yard each; two who lie by more than the factor, wherever."""
    honest = [
        seen(f"{cents / 100:.2f}", f"yard-{number}", f"author-{number}", days=days)
        for number, (cents, days) in enumerate(others)
    ]
    rows = honest + [seen(f"{tenths / 10:.1f}", yard, f"liar-{who}", days=days) for who, yard, days in lies]
    levels = [level(s.rate) for s in honest]
    assert min(levels) <= level(quoted(rows, LIMITED).likely) <= max(levels)
