"""Prices that wait, through the interface: who sees them, what counts meanwhile, and what lets them go."""

from __future__ import annotations

from typing import Any

import pytest
from tests.api import World, price, problem_of, settle
from tests.prices.test_histories import HELD, rulebook

from gradewright.accounts.service import Role
from gradewright.prices import repository

WRONG = "33.0"
REASON = {"reason": "told at the gate"}


@pytest.fixture
async def market(world_without_rulebook: World) -> World:
    """Three yards that six members speak of, and one of them has now posted ten times the price."""
    world = world_without_rulebook
    document = rulebook()
    document["pricing"]["held"] = {**HELD, "enough_yards": 2}
    await world.publish(document)
    await settle(world)
    for who, yard, amount in (
        ("wren", "low-quay", "3.30"),
        ("dunlin", "low-quay", "3.40"),
        ("siskin", "tern-row", "3.22"),
        ("plover", "tern-row", "3.35"),
        ("avocet", "low-quay", "3.27"),
        ("shrike", "cinder-lane", "3.36"),
    ):
        await world.post(price("copper-no2", amount), who=who, yard=yard, on="2026-05-01")
    return world


async def wrong_posting(world: World, who: str = "shrike", yard: str = "cinder-lane") -> dict[str, Any]:
    """A posting with a right price and one that is ten times too high."""
    body = await world.post(price("copper-no1", "3.60"), price("copper-no2", WRONG), who=who, yard=yard)
    assert isinstance(body, dict)
    return body


async def of(world: World, posting: str, who: str | None = None, role: Role = Role.MEMBER) -> Any:
    """A posting as somebody sees it."""
    headers = await world.key(who, role) if who else {}
    answer = await world.client.get(f"/v1/postings/{posting}", headers=headers)
    assert answer.status_code == 200, answer.text
    return answer.json()


async def test_whoever_has_spoken_of_it_sees_it(market: World) -> None:
    """A member who confirms or disputes a price that waits sees what it is, and how far off: also as it was
    known before they did. Others, and who spoke of another line, do not."""
    before = await market.post(
        price("copper-no2", "33.0"), price("tin", "1.00"), who="shrike", yard="low-quay"
    )
    posting, revision = before["id"], before["revision"]
    for who, word, line in (("heron", "dispute", 1), ("gannet", "confirmation", 2)):
        said = await market.send(f"/v1/postings/{posting}/{word}", {**REASON, "lines": [line]}, who)
        assert said.status_code == 201, said.text
    for known_at in ("", f"?known_at={revision}"):
        seen = await of(market, f"{posting}{known_at}", "heron")
        assert [(one["line"], one["status"]) for one in seen["prices"]] == [(1, "held"), (2, "counts")]
        assert seen["prices"][0]["held"]["says"].startswith("At 2 yards others are paid")
        for who in ("gannet", "teal"):
            other = await of(market, f"{posting}{known_at}", who)
            assert ([one["line"] for one in other["prices"]], other["withheld"]) == ([2], 1)
    assert (await of(market, posting))["withheld"] == 1


async def test_it_is_shown_to_its_author_and_to_maintainers_with_its_figures(market: World) -> None:
    """They see the price, median and spread of the others, and the score; others see that one is withheld."""
    posting = await wrong_posting(market)
    for who, role in (("shrike", Role.MEMBER), ("sedge", Role.MAINTAINER)):
        seen = await of(market, posting["id"], who, role)
        assert [line["status"] for line in seen["prices"]] == ["counts", "held"]
        held = seen["prices"][1]["held"]
        assert (held["because"], held["yards"]) == ("far-off", 2)
        assert held["median"] == "7.275255"  # 3.30 USD/lb, per kilogram
        assert float(held["score"]) > 3.5
        told = "At 2 yards others are paid 3.30 USD/lb in the middle, give or take "
        assert held["says"].startswith(told)
        assert "; this price is 10 times theirs. It counts once another member" in held["says"]
    for who in (None, "wren"):
        seen = await of(market, posting["id"], who)
        assert [line["grade"] for line in seen["prices"]] == ["copper-no1"]
        assert seen["withheld"] == 1


async def test_what_its_author_said_before_counts_meanwhile(market: World) -> None:
    """The yard keeps its price of before, and the region's rests on as many yards and prices as it did."""
    before = await market.priced("copper-no2", yard="cinder-lane")
    region = await market.priced("copper-no2", region="XO-KEL")
    assert (before["likely"], before["basis"]["kind"]) == ("7.407532", "yard")  # 3.36 USD/lb
    await wrong_posting(market)
    assert (await market.priced("copper-no2", yard="cinder-lane"))["likely"] == before["likely"]
    after = await market.priced("copper-no2", region="XO-KEL")
    assert after["likely"] == region["likely"]
    assert [after["basis"][name] for name in ("yards", "entries")] == [3, 6]


async def test_the_list_of_what_waits(market: World) -> None:
    """Maintainers see all prices of a region that wait, members their own, strangers none."""
    posting = await wrong_posting(market)
    asked = {"region": "XO-KEL"}
    for who, role, seen in (
        ("sedge", Role.MAINTAINER, [posting["id"]]),
        ("shrike", Role.MEMBER, [posting["id"]]),
        ("wren", Role.MEMBER, []),
    ):
        answer = await market.client.get("/v1/held-prices", params=asked, headers=await market.key(who, role))
        found = answer.json()["postings"]
        assert [one["id"] for one in found] == seen
        assert all([line["grade"] for line in one["prices"]] == ["copper-no2"] for one in found)
    problem_of(await market.client.get("/v1/held-prices", params=asked), "unauthorized")


async def test_a_long_list_of_what_waits(market: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """What waits is listed whole, newest first, also where it takes several statements to read."""
    monkeypatch.setattr(repository, "MANY_KEYS", 2)
    lots = [price("copper-no2", WRONG, from_weight=f"{number} lb") for number in (100, 200, 300)]
    first = await market.post(*lots, who="shrike", yard="cinder-lane")
    second = await market.post(*lots, who="gannet", yard="tern-row")
    headers = await market.key("sedge", Role.MAINTAINER)
    answer = await market.client.get("/v1/held-prices", params={"region": "XO-KEL"}, headers=headers)
    found = [(one["id"], [line["line"] for line in one["prices"]]) for one in answer.json()["postings"]]
    assert found == [(second["id"], [1, 2, 3]), (first["id"], [1, 2, 3])]


async def test_a_newer_price_of_its_author_takes_its_place(market: World) -> None:
    """Once its author has posted what the yard does pay, the slip neither waits nor counts: it is overtaken,
    as any older price of theirs. It waits as known before, and again when the newer one is taken back."""
    before = await market.post(price("copper-no2", "3.36"), who="shrike", yard="cinder-lane", on="2026-05-02")
    slip = await wrong_posting(market)
    known = await market.revision()

    async def statuses(posting: str, **query: Any) -> list[str]:
        answer = await market.client.get(
            f"/v1/postings/{posting}", params=query, headers=await market.key("shrike")
        )
        return [line["status"] for line in answer.json()["prices"]]

    assert await statuses(before["id"]) == ["counts"]  # in place of the one that waits
    right = await market.post(price("copper-no2", "3.40"), who="shrike", yard="cinder-lane")
    assert await statuses(slip["id"]) == ["counts", "overtaken"]
    assert await statuses(before["id"]) == ["overtaken"]
    assert await statuses(right["id"]) == ["counts"]
    assert await statuses(slip["id"], known_at=known) == ["counts", "held"]
    await market.send(f"/v1/postings/{right['id']}/withdrawal", REASON, "shrike")
    assert await statuses(slip["id"]) == ["counts", "held"]


async def test_what_was_seen_too_long_ago_is_told_as_that(market: World) -> None:
    """After the twenty days for which prices count they are stale: also what a maintainer has accepted, and
    what has waited. What was taken back, and in whose place a newer one stands, is told as that."""
    slip = await wrong_posting(market)
    accepted = await market.post(price("tin", "3.00"), who="shrike")
    await market.send(
        f"/v1/postings/{accepted['id']}/decision", {**REASON, "verdict": "accepted"}, "sedge", Role.MAINTAINER
    )
    gone = await market.post(price("tin", "9.00"), who="siskin")
    await market.send(f"/v1/postings/{gone['id']}/withdrawal", REASON, "siskin")

    async def statuses(posting: str) -> list[str]:
        return [line["status"] for line in (await of(market, posting, "shrike"))["prices"]]

    assert await statuses(slip["id"]) == ["counts", "held"]
    market.later(days=20)
    assert await statuses(accepted["id"]) == ["counts"]
    market.later(days=1)
    assert await statuses(slip["id"]) == ["stale", "stale"]
    assert await statuses(accepted["id"]) == ["stale"]
    assert await statuses(gone["id"]) == ["withdrawn"]
    await market.post(price("tin", "3.10"), who="shrike", on="2026-05-24")
    assert await statuses(accepted["id"]) == ["overtaken"]


async def test_what_was_posted_just_now_is_not_told_to_count(market: World) -> None:
    """Nothing of it was judged yet: it is so in its own answer, and in that to a correction."""
    slip = await wrong_posting(market)
    assert [line["status"] for line in slip["prices"]] == ["recorded", "recorded"]
    again = {**REASON, "lines": [2], "prices": [price("copper-no2", "34.0")]}
    made = (await market.send(f"/v1/postings/{slip['id']}/correction", again, "shrike")).json()["posting"]
    assert [line["status"] for line in made["prices"]] == ["recorded"]
    assert [line["status"] for line in (await of(market, made["id"], "shrike"))["prices"]] == ["held"]


async def test_a_price_for_larger_lots_takes_no_place_of_one_for_any(market: World) -> None:
    """A newer price from 100 lb on leaves the one for any lot; the newer one for any lot takes the place of
    both, as of all that its author told before. Others', and of other yards, stand as they are."""
    older = await market.post(
        price("copper-no2", "3.34"), price("copper-no2", "3.44", from_weight="50 kg"), who="heron"
    )
    other = await market.post(price("copper-no2", "3.34"), who="heron", yard="tern-row")
    for new, statuses in (
        (price("copper-no2", "3.46", from_weight="100 lb"), ["counts", "overtaken"]),
        (price("copper-no2", "3.35"), ["overtaken", "overtaken"]),
    ):
        await market.post(new, who="heron")
        assert [line["status"] for line in (await of(market, older["id"]))["prices"]] == statuses
    assert (await of(market, other["id"]))["prices"][0]["status"] == "counts"
    late = await market.post(price("copper-no2", "3.36"), who="heron", on="2026-05-03")
    assert (await of(market, late["id"]))["prices"][0]["status"] == "overtaken"


async def test_a_decision_lets_it_go_or_takes_it_out(market: World) -> None:
    """Accepted it is the yard's price, rejected it is not; the list known before stays as it was."""
    posting = await wrong_posting(market)
    yard = {"yard": "cinder-lane"}
    path = f"/v1/postings/{posting['id']}/decision"
    accepted = await market.send(path, {**REASON, "verdict": "accepted"}, "sedge", Role.MAINTAINER)
    assert (await of(market, posting["id"]))["prices"][1]["status"] == "counts"
    assert (await market.priced("copper-no2", **yard))["likely"] == "72.752547"  # 33.0 USD/lb
    rejected = await market.send(path, {**REASON, "verdict": "rejected"}, "sedge", Role.MAINTAINER)
    assert (await of(market, posting["id"]))["prices"][1]["status"] == "rejected"
    assert (await market.priced("copper-no2", **yard))["likely"] == "7.407532"
    known = accepted.json()["revision"]
    assert rejected.json()["revision"] == known + 1
    assert (await market.priced("copper-no2", **yard, known_at=known))["likely"] == "72.752547"


@pytest.mark.parametrize("how", ["a price of their own", "a confirmation"])
async def test_a_second_author_lets_it_go(market: World, how: str) -> None:
    """Another member says the same of that yard, and it is the yard's price; its author again does not do."""
    lower = price("copper-no2", "2.20")
    await market.post(lower, who="shrike", yard="cinder-lane")
    again = await market.post(lower, who="shrike", yard="cinder-lane")
    assert (await of(market, again["id"]))["withheld"] == 1
    if how == "a confirmation":
        said = await market.send(f"/v1/postings/{again['id']}/confirmation", REASON, "heron")
        assert said.status_code == 201
    else:
        await market.post(price("copper-no2", "2.25"), who="heron", yard="cinder-lane")
    assert (await of(market, again["id"]))["withheld"] == 0
    assert (await market.priced("copper-no2", yard="cinder-lane"))["likely"] == "4.850170"


async def test_a_listing_withholds_too(market: World) -> None:
    """The page of postings shows no price that waits to others, and all to its author."""
    posting = await wrong_posting(market)
    page = (await market.get("/v1/postings", region="XO-KEL"))["postings"]
    assert [one["withheld"] for one in page if one["id"] == posting["id"]] == [1]
    answer = await market.client.get("/v1/postings", headers=await market.key("shrike"))
    mine = next(one for one in answer.json()["postings"] if one["id"] == posting["id"])
    assert [line["status"] for line in mine["prices"]] == ["counts", "held"]


async def test_a_bad_key_is_told_also_where_none_is_needed(market: World) -> None:
    """Whoever sends a key that is not valid is not answered as a stranger."""
    answer = await market.client.get("/v1/postings", headers={"Authorization": "Bearer gw_nobody"})
    problem_of(answer, "unauthorized")


async def test_where_others_speak_of_two_yards_it_is_held_against_the_nearest(
    world_without_rulebook: World,
) -> None:
    """The sole witness of the third yard moves no price alone, and is told what it is held against."""
    world = world_without_rulebook
    document = rulebook()
    document["pricing"]["held"] = {**HELD, "enough_yards": 3, "few": {"yards": 2, "factor": "2"}}
    await world.publish(document)
    await settle(world)
    for who, yard, amount in (("wren", "low-quay", "3.30"), ("siskin", "tern-row", "3.45")):
        await world.post(price("copper-no2", amount), who=who, yard=yard, on="2026-05-01")
    before = await world.priced("copper-no2", region="XO-KEL")
    posting = await wrong_posting(world)
    held = (await of(world, posting["id"], "shrike"))["prices"][1]["held"]
    assert (held["because"], held["yards"], held["spread"], held["score"]) == ("far-off", 2, None, None)
    told = "At 2 yards others are paid no nearer to it than 3.45 USD/lb; this price is 9.6 times theirs."
    assert held["says"].startswith(told)
    after = await world.priced("copper-no2", region="XO-KEL")
    assert [after[of_it] for of_it in ("low", "likely", "high")] == [
        before[of_it] for of_it in ("low", "likely", "high")
    ]
