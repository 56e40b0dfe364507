"""Prices that a settled ticket shows: posted by consent, and no longer held where nobody says otherwise."""

from __future__ import annotations

import asyncio
import json
from decimal import Decimal
from itertools import count
from typing import Any

import pytest
from tests.api import World, price, problem_of, settle, where
from tests.prices.test_held_words import OUTWEIGHED
from tests.prices.test_histories import HELD, rulebook
from tests.settlements.tickets import BINS, as_expected, asking, kept, line, settled, ticket

from gradewright.settlements.schemas import SettlementIn

cents = (Decimal(number) / 100 for number in count(100))


async def posted(world: World, body: dict[str, Any], who: str = "wren") -> tuple[str, Any]:
    """The id of a settlement whose prices are posted, and the posting as its author sees it."""
    response = await world.send("/v1/settlements", {**body, "keep": True, "post_prices": True}, who)
    assert response.status_code == 201, response.text
    return response.headers["settlement-id"], await of(world, response.headers["posting-id"], who)


async def of(world: World, posting: str, who: str) -> Any:
    """A posting as somebody sees it."""
    answer = await world.client.get(f"/v1/postings/{posting}", headers=await world.key(who))
    assert answer.status_code == 200, answer.text
    return answer.json()


async def test_the_prices_are_posted_as_the_strongest_evidence(settling: World) -> None:
    """One price of each grade, under the yard's label where it has one, each with the word that shows it."""
    before = await settling.revision()
    settlement, posting = await posted(settling, asking())
    assert (posting["evidence"], posting["author"], posting["observed_on"]) == (
        "ticket",
        "wren",
        "2026-05-04",
    )
    shown = [(row["grade"], row["label"], row["price"], row["per"]) for row in posting["prices"]]
    assert shown == [("copper-no1", "#1 Cu", "3.50", "lb"), ("light-iron", None, "0.08", "lb")]
    (word,) = posting["words"]
    assert (word["kind"], word["author"], word["lines"]) == ("confirmation", "wren", [1, 2])
    assert word["reason"].startswith(settlement)
    assert await settling.revision() == before + 1


async def test_without_consent_nothing_is_posted(settling: World) -> None:
    """A settlement that is kept adds nothing to the ledger."""
    before = await settling.revision()
    response = await settling.send("/v1/settlements", {**asking(), "keep": True}, "wren")
    assert "posting-id" not in response.headers
    assert await settling.revision() == before


async def test_what_cannot_be_posted_is_told(settling: World) -> None:
    """A line of no grade, a grade of two prices, a price that another line shows: each says why."""
    sold = ticket(
        line("?", "1", "1.00", "1.00"),
        line("#1 Cu", "5", "3.50", "17.50"),
        line("#1 Cu", "5", "3.50", "17.50"),
        line("#2 Cu", "1", "3.00", "3.00"),
        line("#2 Cu", "1", "2.00", "2.00"),
        total="41.00",
    )
    found = await settled(settling, asking(sold))
    why = [row["not_postable"] for row in found["lines"]]
    assert why[0].startswith("Its label stands for no grade")
    assert (why[1], why[2]) == (None, "Line 2 shows the same price.")
    assert (
        why[3] == why[4] == "The ticket has several prices for copper-no2: post the one that holds by hand."
    )
    _, posting = await posted(settling, asking(sold))
    assert [row["grade"] for row in posting["prices"]] == ["copper-no1"]


@pytest.mark.parametrize(
    ("one", "per", "other", "same"),
    [
        ("1.00", "kg", "2.2046", False),
        ("2.2046", "kg", "1.00", True),
        ("2.20", "kg", "1.00", True),
        ("2.21", "kg", "1.00", False),  # which is 1.00 a pound, but 1.00 a pound is 2.20
        ("2.204623", "kg", "1", True),
        ("2.25", "kg", "1.00", False),
        ("0.999", "lb", "1.00", False),
    ],
)
async def test_one_price_in_two_units_is_one(
    settling: World, one: str, per: str, other: str, same: bool
) -> None:
    """A price a kilogram and one a pound are the same where each is what the other says, to the cent or to as
    many digits as it has; two prices in one unit are two.
    """
    sold = ticket(
        line("#2 Cu", "1", one, "1.00", per=per), line("#2 Cu", "1", other, other[:4]), total="1.00"
    )
    why = [row["not_postable"] for row in (await settled(settling, asking(sold)))["lines"]]
    assert why == ([None, "Line 1 shows the same price."] if same else [why[0]] * 2)
    assert (why[0] is None) is same
    request = SettlementIn.model_validate(asking(sold)).request()
    then = await settling.services.settlements.settle(request, "1")
    told = [row["not_postable"] for row in json.loads(then.answer.body)["lines"]]
    assert all(each.startswith("The ticket has several prices for copper-no2") for each in told)


async def test_a_price_for_a_larger_lot_is_posted_as_one(settling: World) -> None:
    """What 120 lb were paid, where the yard pays better from 100 lb on, is no price for a handful."""
    sold = ticket(line("shred", "120", "0.09", "10.80", grade="light-iron"), total="10.80")
    _, posting = await posted(settling, asking(sold))
    assert [(row["price"], row["from_weight"]) for row in posting["prices"]] == [("0.09", "100 lb")]


async def test_of_two_who_settle_a_ticket_at_once_one_is_too_late(settling: World) -> None:
    """Its prices are posted once, and the revision of the other is given back."""
    asked = {**asking(), "keep": True, "post_prices": True}
    before = await settling.revision()
    both = await asyncio.gather(*(settling.send("/v1/settlements", asked, "wren") for _ in range(2)))
    assert sorted(answer.status_code for answer in both) == [201, 409]
    assert await settling.revision() == before + 1


async def test_a_price_that_the_yard_cannot_pay_stores_nothing(yard: World) -> None:
    """Of a grade that it does not take: the fault stands at the ticket's line, and nothing was kept."""
    body = {"refuses": ["light-iron"], "from": "2026-05-01", "reason": "no room"}
    response = await yard.send("/v1/yards/low-quay/house-rules", body, "sedge")
    assert response.status_code == 201, response.text
    before = await yard.revision()
    asked = {**asking(), "keep": True, "post_prices": True}
    problem = problem_of(await yard.send("/v1/settlements", asked, "wren"), "invalid-request")
    assert where(problem) == ["#/ticket/lines/1/grade"]
    assert await yard.revision() == before
    assert (await yard.send("/v1/settlements", {**asked, "post_prices": False}, "wren")).status_code == 201


@pytest.fixture
async def market(world_without_rulebook: World) -> World:
    """Three yards whose members agree on copper; nobody speaks of the fourth."""
    document = rulebook()
    document["pricing"]["held"] = {**HELD, "enough_yards": 2}
    await world_without_rulebook.publish(document)
    world = await settle(world_without_rulebook)
    for who, yard, amount in (
        ("wren", "low-quay", "3.30"),
        ("dunlin", "low-quay", "3.40"),
        ("siskin", "tern-row", "3.22"),
        ("plover", "tern-row", "3.35"),
    ):
        await world.post(price("copper-no2", amount), who=who, yard=yard, on="2026-05-01")
    return world


def far_off(total: str = "46.30") -> dict[str, Any]:
    """A ticket of Cinder Lane that pays 4.63 USD a kilogram, less than two thirds of what others say."""
    sold = ticket(
        {"label": "x", "grade": "copper-no2", "net": "10 kg", "price": "4.63", "amount": "46.30"}, total=total
    )
    bins = [{"grade": "copper-no2", "weight": "10 kg"}]
    return {"yard": "cinder-lane", "ticket": sold, "against": {"bins": bins}}


async def status(world: World, posting: Any) -> list[str]:
    """Whether the prices of a posting count, as it stands."""
    return [row["status"] for row in (await of(world, posting["id"], "shrike"))["prices"]]


async def test_a_ticket_that_adds_up_lets_a_held_price_go(market: World) -> None:
    """Posted alone it waits; shown by a ticket that adds up it counts; by one that does not, it waits."""
    alone = await market.post(price("copper-no2", "4.63", per="kg"), who="shrike", yard="cinder-lane")
    assert await status(market, alone) == ["held"]
    before = await market.revision()
    _, wrong = await posted(market, far_off(total="46.00"), "shrike")
    assert wrong["words"] == []
    assert await status(market, wrong) == ["held"]
    _, right = await posted(market, far_off(), "shrike")
    assert await status(market, right) == ["counts"]
    here = await market.priced("copper-no2", yard="cinder-lane")
    assert (here["likely"], here["basis"]["kind"]) == ("4.63", "yard")
    then = await market.priced("copper-no2", yard="cinder-lane", known_at=before)
    assert then["basis"]["kind"] != "yard"


async def test_a_ticket_does_not_outweigh_others_who_were_there(market: World) -> None:
    """Where two members lately said otherwise of that yard, one with a ticket waits all the same."""
    for who in ("wren", "dunlin"):
        await market.post(price("copper-no2", "7.30", per="kg"), who=who, yard="cinder-lane", on="2026-05-03")
    _, right = await posted(market, far_off(), "shrike")
    assert await status(market, right) == ["held"]
    says = right["prices"][0]["held"]["says"]
    assert says.endswith(f". A settled ticket shows it{OUTWEIGHED}")


async def test_no_ticket_bears_out_what_is_far_off(market: World) -> None:
    """A price of less than a third of what others are paid is told that its ticket is not enough."""
    sold = ticket(
        {"label": "x", "grade": "copper-no2", "net": "10 kg", "price": "2.00", "amount": "20.00"},
        total="20.00",
    )
    _, low = await posted(market, {**far_off(), "ticket": sold}, "shrike")
    assert await status(market, low) == ["held"]
    told = low["prices"][0]["held"]
    assert told["because"] == "far-off"
    assert (
        " A settled ticket shows it, which is not enough for a price so far off. It counts once another "
        "member confirms it or says the same of that yard, unless those who"
    ) in told["says"]


async def withdrawn(world: World, settlement: str, who: str) -> Any:
    """What the answer to taking a settlement back is."""
    return await world.send(f"/v1/settlements/{settlement}/withdrawal", {"reason": "another's ticket"}, who)


async def test_a_settlement_is_taken_back_with_its_prices(settling: World) -> None:
    """Its prices go with it, once; it stays readable, says so, and its ticket can be settled again."""
    body = asking()
    settlement, posting = await posted(settling, body)
    response = await withdrawn(settling, settlement, "wren")
    assert response.status_code == 201, response.text
    assert (response.json()["posting"], response.json()["lines"]) == (posting["id"], [1, 2])
    gone = await of(settling, posting["id"], "wren")
    assert [row["status"] for row in gone["prices"]] == ["withdrawn", "withdrawn"]
    problem_of(await withdrawn(settling, settlement, "wren"), "conflict")
    read = await settling.client.get(f"/v1/settlements/{settlement}", headers=await settling.key("wren"))
    assert read.headers["withdrawn-at"] == "2026-05-04T09:12:00Z"
    again, _ = await posted(settling, body)
    assert again != settlement
    problem_of(await settling.send("/v1/settlements", {**body, "keep": True}, "wren"), "conflict")


async def test_who_may_take_a_settlement_back(settling: World) -> None:
    """Its author and maintainers, who leave its prices as they are; for others it is not there."""
    settlement, posting = await posted(settling, asking())
    problem_of(await withdrawn(settling, settlement, "dunlin"), "not-found")
    response = await withdrawn(settling, settlement, "sedge")
    assert (response.status_code, response.json()["lines"]) == (201, [])
    assert [row["status"] for row in (await of(settling, posting["id"], "wren"))["prices"]] == [
        "counts",
        "counts",
    ]


async def test_prices_taken_back_before_are_left_alone(settling: World) -> None:
    """What its author has withdrawn already is not withdrawn again."""
    settlement, posting = await posted(settling, asking())
    body = {"reason": "read the wrong line", "lines": [1]}
    assert (await settling.send(f"/v1/postings/{posting['id']}/withdrawal", body, "wren")).status_code == 201
    assert (await withdrawn(settling, settlement, "wren")).json()["lines"] == [2]


async def marked_down(world: World, who: str, paid: str | None = None) -> str:
    """A kept ticket on which No. 1 copper was accepted as No. 2, or not."""
    sold = as_expected() if paid is None else ticket(line("#2 Cu", "10", paid, "31.00"), total="31.00")
    sold["lines"][0]["amount"] = f"3{next(cents):.2f}"  # or it would be one ticket, settled by two
    matches = [] if paid is None else [{"line": 1, "bin": "copper-no1"}]
    response = await world.send("/v1/settlements", {**asking(sold, matches=matches), "keep": True}, who)
    assert response.status_code == 201, response.text
    return str(response.headers["settlement-id"])


async def figures(world: World, yard: str = "low-quay") -> Any:
    """How a yard marks down, as a member is told."""
    answer = await world.client.get(f"/v1/yards/{yard}/settlements", headers=await world.key("wren"))
    assert answer.status_code == 200, answer.text
    return answer.json()


async def test_how_a_yard_marks_down(yard: World) -> None:
    """Nothing of two sellers; of three the counts and the interval by grade, less what is taken back."""
    for who, paid in (("wren", "3.10"), ("dunlin", None)):
        await marked_down(yard, who, paid)
    told = await figures(yard)
    assert (told["tickets"], told["overall"], told["grades"]) == (0, None, [])
    last = await marked_down(yard, "siskin", "3.10")
    (copper,) = (await figures(yard))["grades"]  # of light iron there is one seller alone
    assert copper["grade"] == BINS[0]["grade"]
    assert copper["often"] == {"tickets": 2, "of": 3, "share": "67 %", "low": "21 %", "high": "94 %"}
    assert copper["much"] is None
    await withdrawn(yard, last, "siskin")
    assert (await figures(yard))["tickets"] == 0


async def test_a_ticket_under_another_number_counts_once(yard: World) -> None:
    """The same lines of one seller on one day look alike, in whatever order and unit: whoever settles them is
    told which other stands, and of both one counts, until one is taken back.
    """
    sold = (line("#2 Cu", "10", "3.10", "31.00"), line("shred", "50", "0.08", "4.00", grade="light-iron"))
    matches = [{"line": 1, "bin": "copper-no1"}]
    first = ticket(*sold, total="35.00")
    again = ticket(
        sold[1], {**sold[0], "net": "160 oz"}, total="34.00", charges=[{"label": "fee", "amount": "1.00"}]
    )
    one = await kept(yard, asking(first, matches=matches))
    yard.later(hours=1)
    body = asking(again, matches=[{"line": 2, "bin": "copper-no1"}])
    response = await yard.send("/v1/settlements", {**body, "keep": True}, "wren")
    other = response.headers["settlement-id"]
    assert (response.status_code, response.headers["looks-like"]) == (201, one)
    for who in ("dunlin", "siskin"):
        await marked_down(yard, who)
    told = await figures(yard)
    assert (told["tickets"], told["grades"][0]["often"]["tickets"]) == (3, 1)

    async def looks_like(settlement: str) -> str | None:
        read = await yard.client.get(f"/v1/settlements/{settlement}", headers=await yard.key("wren"))
        return read.headers.get("looks-like")

    assert [await looks_like(one), await looks_like(other)] == [other, one]
    await withdrawn(yard, one, "wren")
    assert [await looks_like(one), await looks_like(other)] == [None, None]
    assert (await figures(yard))["grades"][0]["often"]["tickets"] == 1
    less = ticket(*sold[:1], {**sold[1], "amount": "3.99"}, total="34.99")
    assert (
        "looks-like"
        not in (await yard.send("/v1/settlements", {**asking(less), "keep": True}, "wren")).headers
    )


async def test_a_ticket_that_two_members_settle_counts_once(yard: World) -> None:
    """The same weights and amounts at one yard on one day are one ticket, whoever settles it, the first who
    did counting; nobody is told that another has it, and when the first takes it back the second counts.
    """
    sold = (line("#2 Cu", "10", "3.10", "31.00"), line("shred", "50", "0.08", "4.00", grade="light-iron"))
    matches = [{"line": 1, "bin": "copper-no1"}]
    first = await kept(yard, asking(ticket(*sold, total="35.00"), matches=matches))
    yard.later(hours=1)
    again = {**asking(ticket(*sold, total="35.00"), matches=matches), "keep": True}
    response = await yard.send("/v1/settlements", again, "kite")
    assert response.status_code == 201, response.text
    assert "looks-like" not in response.headers
    for who in ("dunlin", "siskin"):
        await marked_down(yard, who, "3.10")
    assert (await figures(yard))["grades"][0]["often"]["of"] == 3
    await withdrawn(yard, first, "wren")
    assert (await figures(yard))["grades"][0]["often"]["of"] == 3
    other = ticket(*sold, total="35.00", on="2026-05-03")
    await kept(yard, asking(other, matches=matches), "kite")


async def test_no_figure_rests_on_a_price_that_a_seller_made_up(settling: World) -> None:
    """How far a grade was marked down goes by the prices that are posted, also where a seller expected other
    ones; where none is posted, that ticket tells nothing of it.
    """
    await settling.post(price("copper-no1", "3.50"), price("copper-no2", "3.10"), yard="tern-row")
    for grade in ("copper-no1", "screws"):
        own = {"grade": grade, "weight": "10 lb", "price": "999.00", "per": "lb"}
        for who in ("wren", "dunlin", "siskin"):
            amount = f"3{next(cents):.2f}"
            sold = line("#2", "10", "3.10", amount, grade="copper-no2")
            body = asking(ticket(sold, total=amount), matches=[{"line": 1, "bin": grade}])
            await kept(settling, {**body, "yard": "tern-row", "against": {"bins": [own]}}, who)
    (copper,) = (await figures(settling, "tern-row"))["grades"]
    assert (copper["grade"], copper["often"]["tickets"]) == ("copper-no1", 3)
    assert copper["much"]["median"] == "11 %"  # 3.10 of 3.50


async def test_only_members_are_told(settling: World) -> None:
    """Without a key nothing is; of a yard that is not there neither."""
    assert (await settling.client.get("/v1/yards/low-quay/settlements")).status_code == 401
    answer = await settling.client.get("/v1/yards/high-quay/settlements", headers=await settling.key("wren"))
    problem_of(answer, "unknown-yard", 404)
