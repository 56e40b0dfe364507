"""By versions that say so nobody moves the likely price alone: it stays within what all others say."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest
from tests.core.test_holding import DAY, seen

from gradewright.core.consensus import Quote, quote
from gradewright.core.holding import marked, sifted
from gradewright.core.nobody_alone import quoted
from gradewright.core.rulebook import Pricing
from gradewright.core.sightings import Sighting, claims
from gradewright.core.spoken import level
from gradewright.core.standing import Record, standings
from gradewright.rulebooks.document import read_yaml
from gradewright.rulebooks.shipped import FOLDER

NO_LOT = Decimal(0)
NEW, OLD_HAND = Record(5, 0), Record(50, 400)
FEW, MANY = 400, 6_000  # markets of each kind


@cache
def rules(version: str) -> Pricing:
    """How a version counts prices."""
    return read_yaml(FOLDER / f"{version}.yaml").pricing


def judged(
    rows: Sequence[Sighting], records: Mapping[str, Record], pricing: Pricing
) -> tuple[Quote, Sequence[Sighting]]:
    """The price of a grade, by authors of these records, and what of the rows counts."""
    weighed = standings({"copper-no2": rows}, DAY, records, pricing)
    out = sifted(rows, DAY, pricing, weighed)
    found = quoted(marked(rows, out.borne_out), DAY, NO_LOT, pricing, weighed, out.gone)
    assert found is not None
    return found, [s for s in rows if s.entry not in out.gone]


def two_and_one() -> tuple[list[Sighting], list[Sighting]]:
    """Two members' prices at three yards, and what another posts at one of these and at one more."""
    one = [seen(p, y, "robin") for p, y in (("3.15", "b"), ("3.16", "a"), ("3.09", "c"))]
    return [seen("3.74", "c", "finch"), *one], [seen("1.33", "a", "crake"), seen("1.28", "d", "crake")]


def test_who_has_anothers_price_wait_moves_nothing_by_it() -> None:
    """With hers there the price of one of the two waits, and it is word against word, which she won."""
    honest, more = two_and_one()
    records = dict.fromkeys(("finch", "robin", "crake"), NEW)
    alone, _ = judged(honest, records, rules("2027.7"))
    before, counts = judged([*honest, *more], records, rules("2027.6"))
    found, same = judged([*honest, *more], records, rules("2027.7"))
    assert alone.likely.price == Decimal("3.15")
    assert before.likely.price == Decimal("1.33")
    assert honest[0] not in counts
    assert counts == same
    assert found.likely.price == Decimal("3.09")
    assert found.low.price <= found.likely.price <= found.high.price


def test_a_slip_that_one_more_bears_out_moves_nothing() -> None:
    """Without the price that agrees with it the slip waits: the likely price is what it is without both."""
    old = [seen(p, y, a) for p, y, a in (
        ("3.30", "a", "wren"), ("3.36", "b", "wren"), ("3.28", "b", "finch"), ("3.41", "c", "finch"),
        ("33.60", "c", "wren"),
    )]  # fmt: skip
    records = {"wren": OLD_HAND, "finch": OLD_HAND, "crake": NEW}
    found, _ = judged([*old, seen("33.20", "c", "crake")], records, rules("2027.7"))
    assert found.likely.price <= Decimal("3.41")


def markets(
    count: int, chance: float = 0.0
) -> Iterator[tuple[list[Sighting], list[Sighting], dict[str, Record]]]:
    """Markets of two or three honest members at three yards and more, with 5 % noise and this chance of a
    slip of ten times; what one more posts at any yards; and the records of all."""
    draw = random.Random(f"{count}, {chance}")
    for _ in range(count):
        yards, honest = draw.randint(3, 6), [f"member-{n}" for n in range(draw.randint(2, 3))]
        rows = []
        for author in honest:
            for yard in draw.sample(range(yards), draw.randint(1, yards)):
                slip = draw.choice((10, Decimal("0.1"))) if draw.random() < chance else 1
                price = Decimal(f"{3.3 * (1 + draw.gauss(0, 0.05)):.2f}") * slip
                rows.append(seen(str(price), f"yard-{yard}", author))
        times = draw.choice((10, 0.1, 2, 3.2, 5, 0.4, 1.5))
        to = draw.sample(range(yards + 2), draw.randint(1, yards + 2))
        more = [
            seen(f"{max(0.01, 3.3 * times * (1 + draw.gauss(0, 0.03))):.2f}", f"yard-{y}", "crake")
            for y in to
        ]
        if len({s.yard for s in rows}) >= 3:
            records = {who: draw.choice((NEW, NEW, OLD_HAND)) for who in (*honest, "crake")}
            yield rows, more, records


def outside(count: int, chance: float = 0.0) -> tuple[int, int, int]:
    """In how many markets one member's prices take the likely one out of all that the others say: by the
    newest version, and by it without what is tried here; and in how many it moves a price without them."""
    now = rules("2027.7")
    assert now.holding is not None
    before = replace(now, holding=replace(now.holding, within_others=False))
    found = [0, 0]
    moved = 0
    for rows, more, records in markets(count, chance):
        levels = [level(s.rate) for s in claims(rows, DAY, NO_LOT, now)]
        for n, pricing in enumerate((now, before)):
            price, _ = judged([*rows, *more], records, pricing)
            found[n] += not min(levels) <= level(price.likely) <= max(levels)
        moved += judged(rows, records, now)[0] != judged(rows, records, before)[0]
    return found[0], found[1], moved


@pytest.mark.parametrize(
    ("count", "chance"),
    [
        (FEW, 0.0),
        (3 * FEW, 0.1),
        pytest.param(MANY, 0.0, marks=pytest.mark.campaign),
        pytest.param(MANY, 0.1, marks=pytest.mark.campaign),
    ],
)
def test_in_no_market_does_one_member_lead_the_price_out_of_what_others_say(
    count: int, chance: float
) -> None:
    """Among two or three others, with slips and without; and where nobody slips, honest prices stay as they
    are. By the rules before some markets were led out."""
    now, before, moved = outside(count, chance)
    assert now == 0
    if chance:
        assert before > 0
    else:
        assert moved == 0


def test_versions_that_do_not_say_so_are_as_they_were() -> None:
    """What was given out by them stays."""
    honest, more = two_and_one()
    for version in ("2026.2", "2027.5", "2027.6"):
        pricing = rules(version)
        weighed = standings(
            {"copper-no2": [*honest, *more]}, DAY, dict.fromkeys(("finch", "robin", "crake"), NEW), pricing
        )
        given = (DAY, NO_LOT, pricing, weighed)
        assert quoted([*honest, *more], *given) == quote([*honest, *more], *given)
