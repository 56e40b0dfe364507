"""Liars all over a country whose yards are drawn: what stands in for a region, against that of all its yards.

Worked out with the core alone, of one week, as the yards of a country are many:

    pytest tests/checks/poisoning/test_drawn.py -m campaign -s

prints what stands in tests/checks/poisoning/FIGURES.md.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from statistics import fmean

import pytest
from tests.checks.poisoning.market import GRADES, NOISE, YARDS_DIFFER

import gradewright.rulebooks
from gradewright.core.drawn import drawn
from gradewright.core.holding import held_of
from gradewright.core.nobody_alone import quoted
from gradewright.core.rates import Rate
from gradewright.core.sightings import Sighting
from gradewright.core.standing import Record, standings
from gradewright.rulebooks.document import read_yaml

PRICING = read_yaml(Path(gradewright.rulebooks.__file__).parent / "published" / "2027.8.yaml").pricing
MOST = PRICING.most_yards_above or 0
YARDS = tuple(f"yard-{number}" for number in range(57))
ON = date(2027, 4, 5)
POUND = Decimal("453.59237")
NO_LOT = Decimal(0)
Market = Mapping[str, Sequence[Sighting]]


def claims(share: float, factor: float, seed: int) -> Market:
    """Three members at every yard, each at two, of a price of 100 cents; liars agree on so many times it."""
    draw = random.Random(f"{share} {factor} {seed}")
    authors = [f"member-{number}" for number in range(len(YARDS) * 3 // 2)]
    liars = set(draw.sample(authors, round(share * len(authors))))
    going = draw.sample(authors, len(authors)) + draw.sample(authors, len(authors))
    found: dict[str, list[Sighting]] = {}
    for grade in GRADES:
        for number, author in enumerate(going):
            yard = YARDS[number % len(YARDS)]
            pays = random.Random(f"{yard} {grade} {seed}").gauss(1, YARDS_DIFFER)
            paid = factor if author in liars else pays * draw.gauss(1, NOISE)
            seen_on = ON - timedelta(days=draw.randrange(7))
            evidence = "ticket" if author in liars else draw.choice(("ticket", "written-list", "sign"))
            rate = Rate(Decimal(round(100 * paid)), POUND)
            s = Sighting(len(found.get(grade, ())) + 1, 1, yard, author, seen_on, evidence, rate)
            found.setdefault(grade, []).append(s)
    return found


def error(market: Market, *, all_speak: bool) -> float:
    """How far the likely prices are from 100, in the mean; of all yards, or of those that are drawn."""
    authors = {s.author for seen in market.values() for s in seen}
    settled = dict.fromkeys(authors, Record(postings=20, days=90))
    standing = standings(market, ON, settled, PRICING)
    off = []
    for grade, seen in market.items():
        speak = frozenset(YARDS) if all_speak else drawn(grade, YARDS, MOST)
        some = [s for s in seen if s.yard in speak]
        found = quoted(some, ON, NO_LOT, PRICING, standing, held_of(some, ON, PRICING, standing))
        assert found is not None
        off.append(abs(float(found.likely.price) - 100) / 100)
    return fmean(off)


@pytest.mark.parametrize("factor", [10.0, 1.2])
def test_a_country_that_is_drawn_from_holds_liars(factor: float) -> None:
    """Of one country, with 30 % liars: the likely price of the drawn yards is within 3 %."""
    assert error(claims(0.30, factor, seed=1), all_speak=False) <= 0.03


@pytest.mark.campaign
@pytest.mark.parametrize("factor", [10.0, 1.2])
def test_error_of_all_yards_and_of_the_drawn(factor: float) -> None:
    """Of thirty countries: within 3 % up to 30 % liars, and no more than 2 % worse than all yards at 45 %."""
    for share in (0.0, 0.15, 0.30, 0.45):
        markets = [claims(share, factor, seed) for seed in range(30)]
        full, some = ([error(each, all_speak=how) for each in markets] for how in (True, False))
        told = f"{fmean(full):.1%} | {max(full):.1%} | {fmean(some):.1%} | {max(some):.1%}"
        print(f"| {factor:g} times the price | {share:.0%} | {told} |")
        assert fmean(some) <= (0.03 if share < 0.45 else fmean(full) + 0.02)
