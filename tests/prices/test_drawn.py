"""A region above stands in with yards that are drawn; asked for itself it has all of them."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterable
from datetime import date
from decimal import Decimal
from hashlib import sha256
from typing import Any

import pytest
from tests.api import World, day, empty_world, price, settle, small_rulebook
from tests.conftest import KINDS
from tests.prices.model import Line, Model
from tests.prices.test_histories import HELD, STANDING

from gradewright.accounts.service import Role
from gradewright.core.basis import shown_rate
from gradewright.core.consensus import Quote
from gradewright.core.units import mass_unit
from gradewright.rulebooks.document import read

GRADE, OTHER = "copper-no1", "steel-heavy"
PAID = {
    "reed-one": "3.10", "reed-two": "3.20", "reed-three": "3.30", "reed-four": "3.40", "reed-five": "3.50",
    "reed-six": "3.60", "reed-seven": "3.70",
}  # fmt: skip
KEL = {"region": "XO-KEL"}
ON = "2026-05-03"


Country = tuple[World, "Drawn"]


def by_lot(grade: str) -> list[str]:
    """The yards in the order of their lots."""
    return sorted(PAID, key=lambda yard: sha256(f"{grade} {yard}".encode()).hexdigest())


def said_by(who: str, yard: str, paid: str) -> str:
    """Dunlin is a little off where a yard is drawn, and far off where it is not."""
    less = 1 if who != "dunlin" else Decimal("0.99") if yard in by_lot(GRADE)[:3] else Decimal("0.8")
    return str(Decimal(paid) * less)


def rulebook() -> dict[str, Any]:
    """The small rulebook, which has three yards drawn."""
    document = small_rulebook()
    document["pricing"] |= {"held": HELD, "standing": STANDING, "most_yards_above": 3}
    return document


class Drawn(Model):
    """The ledger once more: prices of the yards alone that are drawn, by authors who are judged by all."""

    def quoted(
        self, yards: Iterable[str], region: Iterable[str], grade: str, on: date, revision: int
    ) -> Quote | None:
        """What a grade costs at the drawn ones of the yards."""
        drawn = by_lot(grade)[:3]
        return super().quoted(drawn, drawn, grade, on, revision)

    def standing(self, region: Iterable[str], revision: int) -> dict[str, Decimal]:
        """The standing of everyone with claims at any of the yards."""
        return super().standing(PAID, revision)


@pytest.fixture(scope="module", params=KINDS)
async def country(request: pytest.FixtureRequest) -> AsyncIterator[tuple[World, Drawn]]:
    """Seven yards in the next district buy what nobody does in Kelder Bay; one pays in another currency."""
    model = Drawn(read(rulebook()).pricing)
    async with empty_world(request, request.param) as world:
        await world.publish(rulebook())
        await settle(world)
        for yard in PAID:
            body = {"slug": yard, "name": yard, "region": "XO-FEN", "currency": "USD", "unit": "lb"}
            assert (await world.send("/v1/yards", body, "sedge", Role.MAINTAINER)).status_code == 201
        for number, (yard, paid) in enumerate(PAID.items()):
            for who in ("wren", "dunlin", "plover")[: 1 + number % 3]:
                prices = {GRADE: said_by(who, yard, paid), OTHER: "0.10"}
                told = await world.post(*(price(*each) for each in prices.items()), yard=yard, on=ON, who=who)
                model.recorded_on[told["revision"]] = world.clock.now.date()
                for line, (grade, amount) in enumerate(prices.items(), start=1):
                    seen = (world.clock.now.date(), yard, who, day(ON), told["evidence"], grade, amount)
                    model.lines.append(Line(told["revision"], line, told["id"], *seen, "lb", None))
        await world.post(price(GRADE, "8.00", "kg", currency="EUR"), yard="ember-end", on=ON, who="siskin")
        yield world, model


async def test_so_many_yards_stand_in(country: Country) -> None:
    """Of seven yards three are drawn: the price is theirs, and the basis says of how many they are."""
    line = await country[0].priced(GRADE, **KEL)
    paid = sorted(Decimal(PAID[yard]) * Decimal("0.99") for yard in by_lot(GRADE)[:3])
    assert (line["basis"]["kind"], line["basis"]["yards"]) == ("parent", 3)
    assert paid[0] <= Decimal(line["likely"]) <= Decimal(max(PAID[yard] for yard in by_lot(GRADE)[:3]))
    assert line["basis"]["says"] == "none nearer; 3 of 7 yards in Orvale, newest yesterday"


async def test_a_region_asked_for_itself_has_all_its_yards(country: Country) -> None:
    """The country's own list and the district's count every yard, and say nothing of a draw."""
    for region in ("XO", "XO-FEN"):
        basis = (await country[0].priced(GRADE, region=region))["basis"]
        assert basis["yards"] == 7
        assert "7 yards in" in basis["says"]


async def test_each_grade_has_a_draw_of_its_own(country: Country) -> None:
    """Other yards speak for another grade, each with all its witnesses."""
    assert set(by_lot(GRADE)[:3]) != set(by_lot(OTHER)[:3])
    for grade in (GRADE, OTHER):
        witnesses = sum(1 + list(PAID).index(yard) % 3 for yard in by_lot(grade)[:3])
        assert (await country[0].priced(grade, **KEL))["basis"]["entries"] == witnesses


async def test_what_was_drawn_is_all_that_counts(country: Country) -> None:
    """Low, likely and high are the model's of the drawn yards alone, by authors whom all claims judge."""
    world, model = country
    on, revision = world.clock.now.date(), max(model.recorded_on)
    for grade in (GRADE, OTHER):
        line = await world.priced(grade, **KEL)
        quote = model.quoted(PAID, PAID, grade, on, revision)
        assert quote is not None
        expected = [shown_rate(rate, mass_unit("lb")) for rate in (quote.low, quote.likely, quote.high)]
        assert [line[name] for name in ("low", "likely", "high")] == expected
