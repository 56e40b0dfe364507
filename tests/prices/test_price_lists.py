"""Price lists over HTTP: what counts, who has a vote, and what stands in where nothing is posted."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from tests.api import YARDS, World, only, price, problem_of, where

from gradewright.accounts.service import Role
from gradewright.prices.schemas import PriceListOut

KEL = {"region": "XO-KEL"}


def figures(line: dict[str, Any]) -> tuple[str, str, str]:
    """Low, likely and high, without the zeros that widening adds."""
    low, likely, high = (f"{Decimal(line[name]).normalize():f}" for name in ("low", "likely", "high"))
    return low, likely, high


async def test_a_lone_price_is_shown_as_posted_and_widened(world: World) -> None:
    """One yard: likely is its price, digit for digit; low and high are a thin margin of 10 % around it."""
    await world.post(price("copper-no2", "3.350"), on="2026-05-02")
    line = await world.priced("copper-no2", **KEL)
    assert line["likely"] == "3.350"
    assert figures(line) == ("3.015", "3.35", "3.685")
    assert (line["per"], line["name"], line["family"], line["from_weight"]) == (
        "lb", "Copper No. 2", "copper", None,
    )  # fmt: skip
    assert line["basis"] == {
        "kind": "region",
        "place": "XO-KEL",
        "yards": 1,
        "entries": 1,
        "newest": "2026-05-02",
        "oldest": "2026-05-02",
        "thin": True,
        "kin": None,
        "says": "1 yard in Kelder Bay, newest 2 days old",
        "moved": None,
    }


async def test_a_price_counts_for_120_days(world: World) -> None:
    """The 120th day after it was seen a price still counts; the day after it is stale, and that is said."""
    await world.post(price("copper-no1", "4"), on="2026-01-04")
    assert (await world.priced("copper-no1", **KEL, on="2026-05-04"))["likely"] == "4"
    stale = await world.priced("copper-no1", **KEL, on="2026-05-05")
    assert set(stale) == {"grade", "because"}
    assert "since 2026-01-05" in stale["because"]


async def test_a_price_counts_from_its_day(world: World) -> None:
    """The day before it was seen a price does not count."""
    await world.post(price("copper-no1", "4"), on="2026-05-03")
    assert "because" in await world.priced("copper-no1", **KEL, on="2026-05-02")
    assert (await world.priced("copper-no1", **KEL, on="2026-05-03"))["likely"] == "4"


async def test_of_one_author_at_a_yard_the_newest_counts(world: World) -> None:
    """By the day seen, then by the later word: an older day posted later does not win."""
    await world.post(price("copper-no1", "3.00"), on="2026-05-02")
    await world.post(price("copper-no1", "4.00"), on="2026-05-03")
    await world.post(price("copper-no1", "2.00"), on="2026-05-01")
    line = await world.priced("copper-no1", **KEL)
    assert (line["likely"], line["basis"]["entries"]) == ("4.00", 1)
    await world.post(price("copper-no1", "4.20"), on="2026-05-03")
    line = await world.priced("copper-no1", **KEL)
    assert (line["likely"], line["basis"]["entries"]) == ("4.20", 1)


async def test_ten_posters_at_one_yard_have_one_vote(world: World) -> None:
    """However many post about a yard, and however often, it counts once beside the others."""
    await world.post(price("copper-no1", "3.00"), yard="tern-row")
    await world.post(price("copper-no1", "3.10"), yard="cinder-lane")
    for number in range(10):
        for amount in ("9.00", "9.50"):
            await world.post(price("copper-no1", amount), yard="low-quay", who=f"gull-{number}")
    line = await world.priced("copper-no1", **KEL)
    assert figures(line) == ("3", "3.1", "9.5")
    assert (line["basis"]["yards"], line["basis"]["entries"], line["basis"]["thin"]) == (3, 12, False)


async def test_a_yards_price_is_the_median_of_its_authors(world: World) -> None:
    """One careless author among three at a yard does not move its price."""
    for who, amount in (("wren", "3.00"), ("teal", "3.10"), ("gull", "310")):
        await world.post(price("copper-no1", amount), who=who)
    assert (await world.priced("copper-no1", **KEL))["likely"] == "3.10"


@pytest.mark.parametrize(
    ("weaker", "likely"),
    [
        ({"evidence": "told"}, "3"),
        ({"evidence": "sign"}, "3"),
        ({"on": "2026-03-05"}, "3"),  # 60 days old: a quarter of the weight
        ({"evidence": "told", "on": "2026-04-04"}, "3"),
        ({"evidence": "ticket"}, "2"),  # of equal weight: the lower of the two
    ],
)
async def test_evidence_and_age_weigh(world: World, weaker: dict[str, str], likely: str) -> None:
    """Of two authors at a yard the one with the better evidence, or the fresher, decides the median."""
    await world.post(price("copper-no1", "2"), who="teal", **{"evidence": "ticket", **weaker})
    await world.post(price("copper-no1", "3"), who="wren", evidence="ticket")
    assert (await world.priced("copper-no1", **KEL))["likely"] == likely


async def test_prices_are_converted_on_the_way_out(world: World) -> None:
    """7.00 per kg is 7 x 0.45359237 per lb, to six places; a yard that quotes per kg sees what it said."""
    await world.post(price("copper-no1", "7.00", "kg"), yard="cinder-lane")
    line = await world.priced("copper-no1", **KEL)
    assert (line["likely"], line["per"]) == ("3.175147", "lb")
    own = await world.priced("copper-no1", yard="cinder-lane")
    assert (own["likely"], own["per"]) == ("7.00", "kg")


async def test_units_are_compared_by_mass(world: World) -> None:
    """Prices per lb, kg, short ton and troy ounce have their places among each other."""
    await world.post(price("copper-no1", "3.00", "lb"), yard="low-quay")
    await world.post(price("copper-no1", "6.50", "kg"), yard="cinder-lane")  # 2.948 per lb
    await world.post(price("copper-no1", "6200", "short ton"), yard="tern-row")  # 3.10 per lb
    line = await world.priced("copper-no1", **KEL)
    assert figures(line) == ("2.94835", "3", "3.1")


@pytest.mark.parametrize(
    ("weight", "likely", "from_weight"),
    [
        (None, "3.00", None),
        ("99.999 lb", "3.00", None),
        ("100 lb", "3.20", "100 lb"),
        ("45.359237 kg", "3.20", "100 lb"),
        ("1600 oz", "3.20", "100 lb"),
        ("499 lb 15.9 oz", "3.20", "100 lb"),
        ("1/4 short ton", "3.40", "500 lb"),
        ("2 t", "3.40", "500 lb"),
    ],
)
async def test_a_larger_lot_gets_the_better_tier(
    world: World, weight: str | None, likely: str, from_weight: str | None
) -> None:
    """The highest from-weight that the lot reaches decides, exactly, in whatever unit."""
    tiers = [("3.00", None), ("3.40", "500 lb"), ("3.20", "100 lb")]
    await world.post(*(price("copper-no1", amount, from_weight=step) for amount, step in tiers))
    asked = KEL if weight is None else {**KEL, "weight": weight}
    line = await world.priced("copper-no1", **asked)
    assert (line["likely"], line["from_weight"]) == (likely, from_weight)
    assert [(t["from_weight"], t["likely"]) for t in line["tiers"]] == [
        ("100 lb", "3.20"),
        ("500 lb", "3.40"),
    ]


async def test_only_for_larger_lots_is_said(world: World) -> None:
    """A grade that is posted only from a weight on has no price below it, and says what it takes."""
    await world.post(price("copper-no1", "3.20", from_weight="100 lb"))
    unpriced = await world.priced("copper-no1", **KEL, weight="20 lb")
    assert "only for lots of 100 lb or more" in unpriced["because"]
    assert (await world.priced("copper-no1", **KEL, weight="100 lb"))["likely"] == "3.20"


async def test_the_region_above_stands_in(world: World) -> None:
    """Nothing in the region: the nearest region above, with its own yards, and that is said."""
    await world.post(price("steel-heavy", "0.22", "kg"), yard="far-gate")
    line = await world.priced("steel-heavy", **KEL)
    assert (line["likely"], line["per"]) == ("0.099790", "lb")
    assert (line["basis"]["kind"], line["basis"]["place"]) == ("parent", "XO")
    assert line["basis"]["says"] == "none nearer; 1 yard in Orvale, newest today"


async def test_the_region_itself_comes_before_the_region_above(world: World) -> None:
    """One old price nearby is preferred to fresh ones farther away."""
    await world.post(price("steel-heavy", "0.05"), on="2026-01-10")
    await world.post(price("steel-heavy", "0.22", "kg"), yard="far-gate")
    line = await world.priced("steel-heavy", **KEL)
    assert (line["likely"], line["basis"]["kind"]) == ("0.05", "region")
    above = await world.priced("steel-heavy", region="XO")
    assert (above["basis"]["kind"], above["basis"]["yards"]) == ("region", 2)


async def test_kin_stand_in_times_their_factor(world: World) -> None:
    """Nothing anywhere: the grade that it is priced as, times the factor, along the chain; that is said."""
    await world.post(price("copper-no1", "4.00"))
    second = await world.priced("copper-no2", **KEL)
    assert figures(second)[1] == "3.6"
    assert second["basis"]["kind"] == "kin"
    assert second["basis"]["kin"] == {"grade": "copper-no1", "factor": "0.9"}
    assert "0.9 of Copper No. 1" in second["basis"]["says"]
    third = await world.priced("copper-residue", **KEL)
    assert figures(third)[1] == "1.8"
    assert third["basis"]["kin"]["grade"] == "copper-no1"
    assert Decimal(third["basis"]["kin"]["factor"]) == Decimal("0.45")


async def test_the_nearest_kin_stands_in(world: World) -> None:
    """Of a chain the first grade with a price stands in."""
    await world.post(price("copper-no1", "4.00"), price("copper-no2", "3.00"))
    third = await world.priced("copper-residue", **KEL)
    assert figures(third)[1] == "1.5"
    assert third["basis"]["kin"] == {"grade": "copper-no2", "factor": "0.5"}


async def test_the_region_above_comes_before_kin(world: World) -> None:
    """The grade itself farther away is preferred to its kin nearby."""
    await world.post(price("copper-no1", "4.00"))
    await world.post(price("copper-no2", "6.00", "kg"), yard="far-gate")
    line = await world.priced("copper-no2", **KEL)
    assert (line["likely"], line["basis"]["kind"]) == ("2.721554", "parent")


async def test_a_yards_own_price_comes_first(world: World) -> None:
    """For one yard: its own price, then its region's; what the others pay does not change its own."""
    await world.post(price("copper-no1", "3.00"), yard="low-quay", on="2026-05-03")
    for yard in ("tern-row", "cinder-lane"):
        await world.post(price("copper-no1", "5.00"), price("light-iron", "0.08"), yard=yard)
    own = await world.priced("copper-no1", yard="low-quay")
    assert (own["likely"], own["basis"]["kind"], own["basis"]["place"]) == ("3.00", "yard", "low-quay")
    assert own["basis"]["says"] == "Low Quay's own price, yesterday"
    other = await world.priced("light-iron", yard="low-quay")
    assert (other["likely"], other["basis"]["kind"], other["basis"]["place"]) == ("0.08", "region", "XO-KEL")


async def test_a_yard_that_does_not_take_a_grade(world: World) -> None:
    """What a yard refuses is unpriced there, with the reason; elsewhere, and the day before, it is priced."""
    await world.post(price("steel-heavy", "0.10"), yard="low-quay", on="2026-05-01")
    refused = await world.priced("steel-heavy", yard="tern-row")
    assert "Tern Row does not take Heavy steel" in refused["because"]
    assert (await world.priced("steel-heavy", yard="tern-row", on="2026-05-03"))["likely"] == "0.10"
    assert (await world.priced("steel-heavy", yard="low-quay"))["likely"] == "0.10"
    assert (await world.priced("steel-heavy", **KEL))["likely"] == "0.10"


async def test_another_currency_is_left_out(world: World) -> None:
    """Nothing is converted between currencies: a yard that pays in euros counts in its own list only."""
    await world.post(price("copper-no1", "3.10", "kg", currency="EUR"), yard="ember-end")
    because = (await world.priced("copper-no1", region="XO-FEN"))["because"]
    assert "posted in Fenmark in EUR, and prices here are in USD" in because
    assert "nothing is converted" in because
    body = {"region": "XO-FEN", "parts": [{"name": "pipe", "weight": "1 kg", "grade": "copper-no1"}]}
    assert because in (await world.send("/v1/valuations", body)).json()["missing"][0]
    series = "/v1/prices/XO-FEN/copper-no1/series?from=2026-05-01&to=2026-05-04"
    problem = problem_of(await world.client.get(series), "currency-mismatch")
    assert "in EUR only" in problem.detail
    await world.post(price("copper-no1", "3.00", "kg"), yard="far-gate")
    assert (await world.priced("copper-no1", region="XO-FEN"))["likely"] == "3.00"
    assert (await world.client.get(series)).status_code == 200
    own = await world.get("/v1/prices", yard="ember-end", grade="copper-no1")
    assert (own["currency"], own["prices"][0]["likely"]) == ("EUR", "3.10")


async def test_a_charge_is_widened_away_from_the_likely(world: World) -> None:
    """What costs money to be rid of keeps its sign, and its low is the dearer end."""
    await world.post(price("screws", "-5.00", "short ton"))
    line = await world.priced("screws", yard="low-quay")
    assert Decimal(line["low"]) < Decimal(line["likely"]) < Decimal(line["high"]) < 0
    assert Decimal(line["likely"]) == Decimal("-0.0025")


async def test_the_whole_list_has_every_grade(world: World) -> None:
    """Every grade of the rulebook is priced or says why not, in the rulebook's order, as documented."""
    await world.post(price("copper-no1", "4"), price("light-iron", "0.08"))
    found = await world.get("/v1/prices", **KEL)
    assert [line["grade"] for line in found["prices"]] == [
        "copper-no1", "copper-no2", "copper-residue", "light-iron",
    ]  # fmt: skip
    assert [line["grade"] for line in found["unpriced"]] == ["steel-heavy", "screws"]
    assert (found["region"], found["yard"], found["on"]) == ("XO-KEL", None, "2026-05-04")
    assert (found["currency"], found["rulebook"], found["known_at"]) == (
        "USD",
        "2020.1",
        await world.revision(),
    )
    PriceListOut.model_validate(found, strict=False)


@pytest.mark.parametrize("named", ["copper-no2", "Copper No. 2", "bIRCH"])
async def test_one_grade_by_any_name(world: World, named: str) -> None:
    """A list can be asked for one grade by slug, name or alias."""
    await world.post(price("copper-no2", "3"))
    found = await world.get("/v1/prices", **KEL, grade=named)
    assert [line["grade"] for line in found["prices"]] == ["copper-no2"]
    assert found["unpriced"] == []


async def test_a_new_posting_is_seen_at_once(world: World) -> None:
    """A list that was asked for before a posting is different after it, and others stay as they were."""
    await world.post(price("copper-no1", "4"))
    before = {place: await world.get("/v1/prices", region=place) for place in ("XO-KEL", "XO-FEN", "XO")}
    await world.post(price("copper-no1", "9", "kg"), yard="far-gate")
    after = {place: await world.get("/v1/prices", region=place) for place in before}
    assert after["XO-KEL"]["prices"] == before["XO-KEL"]["prices"]
    assert after["XO-FEN"]["prices"] != before["XO-FEN"]["prices"]
    assert after["XO"]["prices"] != before["XO"]["prices"]
    assert {place: found["known_at"] for place, found in after.items()} == {
        place: found["known_at"] + 1 for place, found in before.items()
    }


async def test_a_new_yard_counts_at_once(world: World) -> None:
    """A yard made after a list was asked for counts in the next one."""

    await world.post(price("copper-no1", "4"))
    await world.get("/v1/prices", **KEL)
    await world.send("/v1/yards", {**YARDS[2], "slug": "new-wharf"}, "sedge", Role.MAINTAINER)
    await world.post(price("copper-no1", "6"), yard="new-wharf")
    assert (await world.priced("copper-no1", **KEL))["basis"]["yards"] == 2


BAD_QUERIES = [
    pytest.param("", "invalid-request", ["region"], None, id="no place"),
    pytest.param("region=XO-KEL&yard=low-quay", "invalid-request", ["region"], None, id="two places"),
    pytest.param("region=XO-KAL", "unknown-region", ["region"], "XO-KEL", id="a misspelt region"),
    pytest.param("region=xo-kel", "invalid-request", ["region"], None, id="a region in small letters"),
    pytest.param("yard=low-qway", "unknown-yard", ["yard"], "low-quay", id="a misspelt yard"),
    pytest.param(
        "region=XO-KEL&grade=coper-no1", "unknown-grade", ["grade"], "copper-no1", id="no such grade"
    ),
    pytest.param("region=XO-KEL&on=2026-02-30", "invalid-request", ["on"], None, id="no such day"),
    pytest.param("region=XO-KEL&on=today", "invalid-request", ["on"], None, id="a day in words"),
    pytest.param(
        "region=XO-KEL&on=2019-12-31", "no-rulebook-in-force", ["on"], None, id="before any rulebook"
    ),
    pytest.param("region=XO-KEL&on=0001-01-01", "no-rulebook-in-force", ["on"], None, id="the first of days"),
    pytest.param("region=XO-KEL&known_at=-1", "invalid-request", ["known_at"], None, id="before the ledger"),
    pytest.param("region=XO-KEL&known_at=99999", "invalid-request", ["known_at"], None, id="not reached"),
    pytest.param("region=XO-KEL&known_at=1_0", "invalid-request", ["known_at"], None, id="an underscore"),
    pytest.param(
        "region=XO-KEL&known_at=%D9%A3", "invalid-request", ["known_at"], None, id="an Arabic digit"
    ),
    pytest.param(
        "region=XO-KEL&known_at=2026-05-04T09:12:00",
        "invalid-request",
        ["known_at"],
        None,
        id="a naive instant",
    ),
    pytest.param("region=XO-KEL&weight=100", "invalid-request", ["weight"], "100 kg", id="a bare weight"),
    pytest.param(
        "region=XO-KEL&weight=1%20ton", "invalid-request", ["weight"], "1 short ton", id="a bare ton"
    ),
    pytest.param("region=XO-KEL&weight=-1%20kg", "invalid-request", ["weight"], None, id="below zero"),
    pytest.param(
        "region=XO-KEL&wieght=1%20kg", "invalid-request", ["wieght"], None, id="a misspelt parameter"
    ),
    pytest.param("region=XO-KEL&on=2026-05-04&on=2026-05-03", "invalid-request", ["on"], None, id="two days"),
    pytest.param("region=XO-KEL&grade=%00", "invalid-request", ["grade"], None, id="NUL"),
    pytest.param("region=XO-KEL&grade=%ff", "malformed-request", [], None, id="not UTF-8"),
    pytest.param("region=XO-KEL&grade", "malformed-request", [], None, id="no value"),
]


@pytest.mark.parametrize(("query", "slug", "parameters", "suggested"), BAD_QUERIES)
async def test_a_list_that_cannot_be_given(
    untouched: World, query: str, slug: str, parameters: list[str], suggested: str | None
) -> None:
    """One fault, at the parameter, with what may be meant."""
    problem = problem_of(await untouched.client.get(f"/v1/prices?{query}"), slug)
    assert where(problem) == parameters
    assert suggested is None or suggested in (only(problem).suggestions or [])


async def test_a_yards_list_has_no_tiers_of_other_yards(world: World) -> None:
    """Where the yard pays one price for any lot, what another pays for more is not its price."""
    await world.post(price("copper-no2", "3.30"), yard="low-quay")
    better = price("copper-no2", "7.70", "kg", from_weight="100 lb")
    await world.post(price("copper-no2", "7.30", "kg"), better, yard="cinder-lane")
    assert (await world.priced("copper-no2", yard="low-quay"))["tiers"] == []
    [tier] = (await world.priced("copper-no2", yard="cinder-lane"))["tiers"]
    assert (tier["from_weight"], tier["likely"]) == ("100 lb", "7.70")
