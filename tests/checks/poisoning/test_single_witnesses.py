"""Where yards have one witness or two, and one author lies: by the versions as they ship, by the core alone.

    pytest tests/checks/poisoning/test_single_witnesses.py -m campaign -s

Prints a row of FIGURES.md for each version and number of witnesses: of markets drawn by chance, how many lose
all honest prices, have no price, or have one that is out of what others say, and how far the liar moves it.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from statistics import fmean, quantiles

import pytest
from tests.checks.shipped import PUBLISHED
from tests.core.test_holding import DAY, seen

from gradewright.core.consensus import Quote
from gradewright.core.holding import marked, sifted
from gradewright.core.nobody_alone import quoted
from gradewright.core.rulebook import Pricing
from gradewright.core.sightings import Sighting
from gradewright.core.spoken import level
from gradewright.core.standing import Record, standings
from gradewright.rulebooks.document import read_yaml

pytestmark = pytest.mark.campaign

MARKETS = 400
SEED = 3
LIAR = "shrike"
OLD_HAND = Record(50, 400)
OTHER_GRADES = 7
"""In which everybody is true, the liar too, so that their standing is what they have earned."""
TIMES = (0.1, 0.5, 0.7, 0.85, 0.9, 1.1, 1.15, 1.2, 1.3, 1.5, 2.5, 10.0)
VERSIONS = ("2026.2", "2027.6", "2027.7", "2027.8")
MOST_MOVED = {1: 0.26, 2: 0.23}
"""By witnesses a yard, of the newest version: what was found, rounded up."""
Claims = dict[str, list[Sighting]]


@dataclass
class Found:
    """What became of the markets."""

    all_wait: int = 0
    no_price: int = 0
    outside: int = 0
    moved: list[float] = field(default_factory=list)

    def row(self, version: str, witnesses: int) -> str:
        """As it stands in the table."""
        far = quantiles(self.moved, n=20)[-1]
        return (
            f"| {witnesses} | {version} | {self.all_wait} | {self.no_price} | {self.outside} | "
            f"{100 * fmean(self.moved):.1f} % | {100 * far:.0f} % | {100 * max(self.moved):.0f} % |"
        )


def drawn(chance: random.Random, witnesses: int) -> tuple[Claims, list[Sighting]]:
    """Three to five yards that differ by 3 %, read with 5 % noise up to forty days ago, and what the liar
    says of one grade, called a ticket, at up to five yards of their own and two of the others'.
    """
    yards = [f"yard-{number}" for number in range(chance.randint(3, 5))]
    authors = [(f"{yard}-{number}", yard) for yard in yards for number in range(witnesses)]
    pays = {yard: chance.gauss(1, 0.03) for yard in yards}

    def read(base: float, author: str, yard: str) -> Sighting:
        price = f"{base * pays[yard] * chance.gauss(1, 0.05):.2f}"
        return seen(price, yard, author, days=chance.randint(0, 40))

    claims = {
        f"grade-{number}": [read(3 + number, *each) for each in authors]
        + [read(3 + number, LIAR, yard) for yard in yards[:2]]
        for number in range(OTHER_GRADES)
    }
    claims["lied-about"] = [read(3.3, *each) for each in authors]
    price = f"{3.3 * chance.choice(TIMES):.2f}"
    alone = [f"far-{number}" for number in range(chance.randint(1, 5))]
    at = [*alone, *chance.sample(yards, chance.randint(0, 2))]
    return claims, [seen(price, yard, LIAR, evidence="ticket") for yard in at]


def priced(claims: Mapping[str, list[Sighting]], pricing: Pricing) -> tuple[frozenset[object], Quote | None]:
    """What waits of the grade that is lied about, and its price."""
    authors = {s.author for seen_ in claims.values() for s in seen_}
    standing = standings(claims, DAY, dict.fromkeys(authors, OLD_HAND), pricing)
    rows = claims["lied-about"]
    waits = sifted(rows, DAY, pricing, standing)
    told = marked(rows, waits.borne_out)
    return waits.gone, quoted(told, DAY, Decimal(0), pricing, standing, waits.gone)


def played(pricing: Pricing, witnesses: int) -> Found:
    """The same markets for every version."""
    found, chance = Found(), random.Random(SEED)
    for _ in range(MARKETS):
        claims, lies = drawn(chance, witnesses)
        honest = claims["lied-about"]
        _, before = priced(claims, pricing)
        assert before is not None
        waits, after = priced({**claims, "lied-about": [*honest, *lies]}, pricing)
        found.all_wait += all(s.entry in waits for s in honest)
        if after is None:
            found.no_price += 1
            continue
        levels, likely = [level(s.rate) for s in honest], level(after.likely)
        found.outside += not min(levels) <= likely <= max(levels)
        found.moved.append(abs(likely / level(before.likely) - 1))
    return found


@pytest.mark.parametrize("witnesses", [1, 2])
@pytest.mark.parametrize("version", VERSIONS)
def test_one_author_among_few_witnesses(version: str, witnesses: int) -> None:
    """Printed for each version. Held of the newest: somebody honest always counts, there is a price, it is
    within what others say, and no lie moves it further than was found.
    """
    found = played(read_yaml(PUBLISHED / f"{version}.yaml").pricing, witnesses)
    print(f"\n{found.row(version, witnesses)}")
    if version == VERSIONS[-1]:
        assert (found.all_wait, found.no_price, found.outside) == (0, 0, 0)
        assert max(found.moved) <= MOST_MOVED[witnesses]
    elif version == "2026.2" and witnesses == 1:  # the measure is one that can fail
        assert found.outside + found.no_price > 0
