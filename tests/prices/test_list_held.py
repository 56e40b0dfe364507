"""Prices that wait are on no list, and no list is held against them."""

from __future__ import annotations

from tests.api import World
from tests.prices.test_held import market, wrong_posting
from tests.prices.uploading import dry_run, export

__all__ = ["market"]


async def test_what_waits_is_not_listed(market: World) -> None:
    """In place of a price that waits stands the one before it; the same list again is the same."""
    await wrong_posting(market)
    for who in ("shrike", "wren"):
        exported = await export(market, yard="cinder-lane")
        assert exported.text.splitlines()[1:] == [
            ",copper-no1,3.60,USD,lb,",
            ",copper-no2,3.36,USD,lb,",
        ]
        again = await dry_run(market, exported.content, who=who, yard="cinder-lane")
        assert [line["change"] for line in again["lines"]] == ["same", "same"]
    found = await dry_run(market, "grade,price,per\ncopper-no2,33.0,lb\n", yard="cinder-lane")
    assert (found["lines"][0]["change"], found["lines"][0]["before"]["price"]) == ("raised", "3.36")
