"""The invented district in a service: all of it is taken but the one price that cannot be read."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import httpx
import pytest
from tests.conftest import Watch, talk_to
from tests.demo.parts import INTENDED, RAISED, treadmill

from gradewright.asgi import Services, create_app
from gradewright.demo.database import fill
from gradewright.demo.errors import DemoError
from gradewright.demo.postings import planned
from gradewright.demo.scenario import REGION, read_scenario
from gradewright.demo.seeding import Seeded, seed
from gradewright.settings import Settings

SCENARIO = read_scenario()
DISTRICT = ("low-quay", "cinder-lane", "tern-row")


@dataclass(frozen=True)
class District:
    """The district in an application of this process, as it was seeded."""

    client: httpx.AsyncClient
    seeded: Seeded
    valuation: dict[str, Any]
    maintainer: str

    async def get(self, path: str, *, key: str = "", **query: str) -> Any:
        """The JSON of an answer that is expected to be 200."""
        headers = {"Authorization": f"Bearer {key}"} if key else {}
        answer = await self.client.get(path, params=query, headers=headers)
        assert answer.status_code == 200, answer.text
        return answer.json()

    async def price(self, grade: str, **query: str) -> Any:
        """One grade's line in a price list."""
        [price] = (await self.get("/v1/prices", grade=grade, **query))["prices"]
        return price


@pytest.fixture(scope="module")
async def district(
    migrated_sqlite: Path, tmp_path_factory: pytest.TempPathFactory
) -> AsyncIterator[District]:
    """The whole district, posted through the interface as the demo does."""
    file = tmp_path_factory.mktemp("district") / "kelder-bay.sqlite"
    shutil.copy(migrated_sqlite, file)
    url = f"sqlite:///{file}"
    keys = await fill(url, SCENARIO)
    watch = Watch()
    app = create_app(Settings(database_url=url), clock=watch)
    today = watch.now.date()
    async with talk_to(app) as client:
        seeded = await seed(client, SCENARIO, keys, planned(SCENARIO, today), today)
        services: Services = app.state["services"]
        rulebook = (await services.rulebooks.in_force(today)).rulebook
        asked = {"region": REGION, "parts": treadmill(rulebook)}
        answer = await client.post("/v1/valuations", json=asked)
        assert answer.status_code == 200, answer.text
        yield District(client, seeded, answer.json(), keys[SCENARIO.maintainer])


async def test_all_but_one_posting_is_taken(district: District) -> None:
    """Every planned posting is stored but the one per a bare ton, which is told which tons there are."""
    plan = [one for ones in planned(SCENARIO, Watch().now.date()).values() for one in ones]
    assert district.seeded.postings == len(plan) - 1
    assert district.seeded.prices == sum(len(one.body["prices"]) for one in plan if not one.refused)
    assert "short ton" in district.seeded.refusal
    assert "gross ton" in district.seeded.refusal


async def test_each_member_posts_under_their_own_name(district: District) -> None:
    """The newest postings are by members of the scenario, several of them."""
    found = await district.get("/v1/postings", region="XO", limit="200")
    authors = {posting["author"] for posting in found["postings"]}
    assert authors == set(SCENARIO.members)


async def test_three_yards_price_the_district(district: District) -> None:
    """The district has three yards; copper No. 2 rests on all of them."""
    found = await district.get("/v1/yards", region=REGION)
    assert {yard["slug"] for yard in found["yards"]} == set(DISTRICT)
    price = await district.price("copper-no2", region=REGION)
    assert (price["basis"]["kind"], price["basis"]["yards"]) == ("region", 3)


async def test_one_yard_pays_more_for_more_copper(district: District) -> None:
    """Cinder Lane pays a better price for copper from 100 lb on, Tern Row the same for any lot."""
    little = await district.price("copper-no2", yard="cinder-lane")
    much = await district.price("copper-no2", yard="cinder-lane", weight="100 lb")
    assert little["per"] == "kg"
    assert Decimal(much["likely"]) > Decimal(little["likely"])
    assert much["from_weight"] == "100 lb"
    there = await district.price("copper-no2", yard="tern-row", weight="100 lb")
    assert there["from_weight"] is None


async def test_a_bin_that_is_short_of_a_better_price_is_told_to_wait(district: District) -> None:
    """80 lb of copper are 20 lb short of what Cinder Lane pays more for, and more than anybody pays now."""
    part = {"name": "copper", "weight": "80 lb", "grade": "copper-no2"}
    answer = await district.client.post("/v1/valuations", json={"region": REGION, "parts": [part]})
    (pointer,) = [one for one in answer.json()["pointers"] if one["kind"] == "hold"]
    assert (pointer["grade"], pointer["yard"]) == ("copper-no2", "cinder-lane")
    assert Decimal(pointer["gain"]) > 0


async def test_a_careless_member_does_not_move_a_price(district: District) -> None:
    """The careless prices wait, with their figures, and no others; the likely one stays near the guide's."""
    careless = SCENARIO.careless
    held = await district.get("/v1/held-prices", region=REGION, key=district.maintainer)
    assert {one["author"] for one in held["postings"]} == {careless.member}
    for price in (price for one in held["postings"] for price in one["prices"]):
        assert (price["grade"], price["per"]) == (careless.grade, careless.per)
        assert price["held"]["because"] == "outlier"
        assert Decimal(price["held"]["score"]) > Decimal("3.5")
    newest = held["postings"][0]
    public = await district.get(f"/v1/postings/{newest['id']}")
    assert public["withheld"] == len(newest["prices"])
    assert careless.grade not in [price["grade"] for price in public["prices"]]
    yard = await district.price(careless.grade, yard=careless.yard)
    pays = SCENARIO.yards[careless.yard].pays["copper"]
    expected = SCENARIO.grades[careless.grade].guide * pays / Decimal("0.45359237")
    assert abs(Decimal(yard["likely"]) / expected - 1) < Decimal("0.05")


async def test_the_treadmills_parts_are_graded_as_intended(district: District) -> None:
    """Each part gets the outcome and the grade that it is meant to show."""
    found = {part["name"]: (part["outcome"], part["grade"]) for part in district.valuation["parts"]}
    assert found == dict(INTENDED)


async def test_each_way_of_finding_a_price_is_shown(district: District) -> None:
    """One part rests on the region, one on the parent region, one on its kin; one has no price anywhere."""
    parts = {part["name"]: part for part in district.valuation["parts"]}
    kinds = {name: part["price"]["basis"]["kind"] for name, part in parts.items() if part["price"]}
    assert kinds["drive motor"] == "region"
    assert kinds["filter capacitors"] == "parent"
    assert kinds["wiring harness with connectors"] == "kin"
    assert parts["plastic covers"]["price"] is None
    assert Decimal(parts["running belt"]["amount"]["likely"]) < 0


async def test_what_is_missing_is_named(district: District) -> None:
    """The list is incomplete: the choke is undecided and told how to decide, the covers have no price."""
    valuation = district.valuation
    assert valuation["complete"] is False
    assert [line.split(":")[0] for line in valuation["missing"]] == ["choke", "plastic covers"]
    [choke] = [part for part in valuation["parts"] if part["name"] == "choke"]
    assert choke["next_test"]["attribute"] == "winding_metal"
    assert valuation["totals"]["unpriced"] == 2


async def test_work_that_would_raise_parts_is_shown(district: District) -> None:
    """Five parts have work that adds to them; backing the screws out of the heat sink is one."""
    raised = {
        part["name"]: part["raises"][0]["preparation"]
        for part in district.valuation["parts"]
        if part["raises"]
    }
    assert raised == RAISED


async def test_the_total_is_the_sum_of_the_lines(district: District) -> None:
    """The likely total is the sum of the likely amounts, charges taken off."""
    amounts = [part["amount"]["likely"] for part in district.valuation["parts"] if part["amount"]]
    assert sum(map(Decimal, amounts)) == Decimal(district.valuation["totals"]["likely"])
    assert len(amounts) == district.valuation["totals"]["priced"] == 18


async def test_a_treadmill_is_known_before_it_is_opened(district: District) -> None:
    """What members found in theirs, brought to 70 kg, pays several times what the whole one does, for about
    an hour's work; so few have done it that low and high are the extremes.
    """
    found = await district.get("/v1/compositions/treadmill", weight="70 kg")
    assert (found["records"], found["voices"], found["published"]) == (6, 5, False)
    assert 50 <= Decimal(found["minutes"]["low"]) <= Decimal(found["minutes"]["high"]) <= 80
    assert any("extremes" in said for said in found["says"])
    apart = [
        {"name": part["grade"], "grade": part["grade"], "weight": f"{part['weight_kg']['likely']} kg"}
        for part in found["parts"]
    ]
    whole = [{"name": "treadmill", "grade": found["grade"], "weight": "70 kg"}]
    pays = [
        (await district.client.post("/v1/valuations", json={"region": REGION, "parts": parts})).json()
        for parts in (whole, apart)
    ]
    assert all(valuation["complete"] for valuation in pays)
    likely = [Decimal(valuation["totals"]["likely"]) for valuation in pays]
    assert 10 < likely[0] < 13
    assert 38 < likely[1] < 52


async def test_a_yard_that_takes_no_boards_says_so(district: District) -> None:
    """At Tern Row the boards have no amount, and the reason names the yard."""
    parts = [{"name": "controller board", "weight": "14 oz", "grade": "boards-low"}]
    answer = await district.client.post("/v1/valuations", json={"yard": "tern-row", "parts": parts})
    [part] = answer.json()["parts"]
    assert part["amount"] is None
    assert "Tern Row does not take" in part["unpriced"]


async def test_a_refusal_that_is_not_planned_stops_the_demo(district: District) -> None:
    """A posting that the service does not take is an error with the service's words, not a skipped line."""
    today = Watch().now.date()
    with pytest.raises(DemoError, match="not valid here"):
        await seed(district.client, SCENARIO, {SCENARIO.maintainer: "gw_none"}, {}, today)
