"""How a difference is split, against worked examples of price, quantity and mix in textbooks.

Source: Lovely Professional University, the chapters on variance analysis of Accounting for Managers (DMGT403,
pages 240 and 241: the first example) and Management Accounting (DCOM302/DCOM403, pages 192 and 193: its end,
and the second), which print all that is expected here. Seen on 26 November 2026 in stored copies of pages at
`eslm.lpude.in`. One figure is a misprint: the revised quantity of product C is "220 units" there, and the
calculation goes on with 2,200, as 2,000 x 4,400 / 4,000 is.

Their words for ours: all products are one group, as goods that belong together are. "Sub-usage" (of other
books "quantity") is `weight`: all units more or less, at the average expected price. "Mix" is `grade`: the
units that are sold, at what each is expected to bring, less that average. "Price" is `price`.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from gradewright.core.effects import Effects
from gradewright.core.linked import Bin, linked, stands_for
from gradewright.core.rates import Rate
from gradewright.core.settlement import Settlement, settle
from gradewright.core.ticket import Ticket, TicketLine
from gradewright.core.valued import Terms

Sold = tuple[tuple[int, int], tuple[int, int]]  # quantity and price, as budgeted and as sold
UNIT = Decimal(1)
EXAMPLES: dict[str, tuple[dict[str, Sold], dict[str, int], int]] = {
    "two products": (
        {"a": ((400, 30), (500, 31)), "b": ((200, 25), (100, 24))},
        {"price": 400, "grade": 500, "weight": 0},
        900,
    ),
    "three products": (
        {"a": ((1200, 15), (880, 18)), "b": ((800, 20), (880, 20)), "c": ((2000, 40), (2640, 38))},
        {"price": -2640, "grade": 11_000, "weight": 11_400},
        19_760,
    ),
}


def settled(products: dict[str, Sold]) -> Settlement:
    """The products as bins and lines of one group; a unit weighs a gram."""
    bins, lines, rates = [], [], {}
    for name, ((planned, price), (sold, paid)) in products.items():
        rates[name] = Rate(Decimal(price), UNIT)
        bins.append(Bin(name, name, Decimal(planned), rates[name], planned * price * 100))
        rate = Rate(Decimal(paid), UNIT)
        lines.append(TicketLine(name, Decimal(sold), rate, sold * paid * 100, name))
    ticket = Ticket("USD", tuple(lines), sum(line.amount for line in lines))
    # Each line is said to stand for all products: nobody asks then which product a unit is.
    together = dict.fromkeys(range(len(lines)), tuple(range(len(bins))))
    grades = [line.grade for line in lines]
    groups, stands = linked(grades, bins, together), stands_for(grades, bins, together)
    assert len(groups) == 1
    return settle(ticket, bins, groups, stands, rates, Terms())


@pytest.mark.parametrize("example", EXAMPLES)
def test_price_quantity_and_mix_are_those_that_are_printed(example: str) -> None:
    """Each part is the printed one, nothing is anything else, and all is the printed difference."""
    products, parts, whole = EXAMPLES[example]
    found = settled(products)
    assert found.effects == Effects(**{name: amount * 100 for name, amount in parts.items()})
    assert found.difference == whole * 100


@pytest.mark.parametrize("example", EXAMPLES)
def test_volume_is_quantity_and_mix(example: str) -> None:
    """Where nothing joins the products, each is a group, and its `weight` is the printed volume variance of
    that product: 3,000 and -2,500; -4,800, 1,600 and 25,600.
    """
    products, parts, _ = EXAMPLES[example]
    printed = {"a": 3000, "b": -2500} if len(products) == 2 else {"a": -4800, "b": 1600, "c": 25_600}
    for name, sold in products.items():
        found = settled({name: sold})
        assert found.effects.weight == printed[name] * 100
        assert found.effects.grade == 0
    assert sum(printed.values()) == parts["weight"] + parts["grade"]
