"""Scale tickets through the interface: against bins and valuations, matched, split, and never guessed."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest
from tests.api import World, problem_of, where
from tests.settlements.tickets import BINS, as_expected, asking, kept, line, settled, ticket

from gradewright.settlements.schemas import SettlementIn

ZERO = dict.fromkeys(
    (
        "weight",
        "deductions",
        "grade",
        "price",
        "grade_or_price",
        "missing",
        "unexpected",
        "unpriced",
        "rounding",
        "arithmetic",
    ),
    "0.00",
)


async def test_a_ticket_as_expected(settling: World) -> None:
    """It adds up, everything is matched, and nothing is different."""
    found = await settled(settling, asking())
    assert (found["difference"], found["effects"]) == ("0.00", ZERO)
    assert (found["adds_up"], found["complete"], found["says"]) == (True, True, "Paid as expected.")
    assert found["expected"] == {"low": "35.10", "likely": "39.00", "high": "42.90"}
    assert [line["matched_by"] for line in found["lines"]] == ["grade", "grade"]


async def test_of_a_grade_only_what_lists_it_is_certain(settling: World) -> None:
    """Cautions that concern only some of what is given a grade may apply, and no more is said of them."""
    found = await settled(settling, asking())
    book = (await settling.client.get(f"/v1/rulebooks/{found['pins']['rulebook']}")).json()
    grades = {bin_["grade"] for bin_ in BINS}
    listed = {name for name, one in book["cautions"].items() if grades & set(one.get("grades", ()))}
    assert {one["id"] for one in found["cautions"] if one["certain"]} == listed
    assert not all(one["certain"] for one in found["cautions"])


async def test_each_part_of_a_difference_is_told(settling: World) -> None:
    """Lighter, marked down, at a lower price, a fee, a sum that is wrong, and cash: each in its place."""
    marked_down = ticket(
        line("#2 Cu", "9", "3.00", "27.00"),
        line("shred", "50", "0.08", "4.50", grade="light-iron"),
        total="30.50",
        charges=[{"label": "gate", "amount": "1.50"}],
    )
    found = await settled(settling, asking(marked_down, matches=[{"line": 1, "bin": "copper-no1"}]))
    parts = {
        "weight": "-3.50",
        "grade": "-3.60",
        "price": "-0.90",
        "deductions": "-1.50",
        "arithmetic": "1.00",
    }
    assert found["effects"] == {**ZERO, **parts}
    assert (found["paid"], found["difference"]) == ("30.50", "-8.50")
    assert found["says"].startswith("Paid 8.50 USD less than expected: -3.60 grade, -3.50 weight, -1.50 ded")
    assert [(flaw["about"], flaw["line"]) for flaw in found["flaws"]] == [("amount", 2), ("total", None)]
    assert "the ticket says 4.50" in found["flaws"][0]["says"]


async def test_what_is_unclear_is_told_with_what_to_write(settling: World) -> None:
    """A label of no grade stands for nothing, however near; what it may be is there to be copied."""
    body = asking(ticket(line("#1 Copper", "10", "3.50", "35.00"), total="35.00"))
    found = await settled(settling, body)
    assert found["complete"] is False
    (unclear,) = found["unmatched"]["lines"]
    assert "'#1 Copper' stands for no grade at low-quay" in unclear["because"]
    assert unclear["meant"][0] == {"line": 1, "bin": "copper-no1", "part": None}
    assert found["effects"] == {**ZERO, "missing": "-39.00", "unexpected": "35.00"}
    meant = {name: value for name, value in unclear["meant"][0].items() if value is not None}
    told = await settled(settling, {**body, "matches": [meant]})
    assert told["effects"] == {**ZERO, "missing": "-4.00"}
    assert told["lines"][0]["matched_by"] == "hand"


async def test_a_grade_without_a_price_cannot_be_told_from_a_price(settling: World) -> None:
    """What was accepted as something that nobody prices differs by grade or price: no figure is made up."""
    sold = ticket(line("beams", "10", "3.00", "30.00", grade="steel-heavy"), total="30.00")
    found = await settled(settling, asking(sold, matches=[{"line": 1, "bin": "copper-no1"}]))
    assert found["effects"] == {**ZERO, "grade_or_price": "-5.00", "missing": "-4.00"}


VALUED = [
    {"name": "pipe", "weight": "10 lb", "grade": "copper-no1"},
    {"name": "panel", "weight": "50 lb", "grade": "light-iron"},
]


async def valuation(world: World, *parts: Any, **place: Any) -> str:
    """A kept valuation."""
    body = {"keep": True, "parts": [*VALUED, *parts], **(place or {"yard": "low-quay"})}
    response = await world.send("/v1/valuations", body)
    assert response.status_code == 201, response.text
    return str(response.headers["valuation-id"])


async def test_against_a_valuation(settling: World) -> None:
    """Its piles are the bins, at its own prices and revision, and parts can be named by their own names."""
    of = await valuation(settling)
    sold = ticket(line("wire", "10", "3.30", "33.00"), line("x", "50", "0.08", "4.00"), total="37.00")
    matches = [{"line": 1, "part": "pipe"}, {"line": 2, "part": "panel"}]
    found = await settled(settling, {**asking(sold, matches=matches), "against": {"valuation": of}})
    assert found["against"]["valuation"] == of
    assert found["effects"] == {**ZERO, "grade_or_price": "-2.00"}
    assert found["expected"]["likely"] == "39.00"


DAY = "prices of that day are expected, and not of 2026-05-04."
THERE = "prices from there are expected, and not of low-quay, in XO-KEL."


@pytest.mark.parametrize(
    ("place", "on", "says"),
    [
        ({"yard": "low-quay"}, "2026-05-04", None),
        ({"region": "XO-KEL"}, "2026-05-04", None),
        ({"region": "XO"}, "2026-05-04", None),
        ({"yard": "low-quay"}, "2026-05-03", f"It was valued for 2026-05-03: {DAY}"),
        ({"yard": "cinder-lane"}, "2026-05-04", f"It was valued for cinder-lane: {THERE}"),
        ({"region": "XO-FEN"}, "2026-05-04", f"It was valued for XO-FEN: {THERE}"),
        (
            {"yard": "far-gate"},
            "2026-05-03",
            f"It was valued for far-gate: {THERE} It was valued for 2026-05-03: {DAY}",
        ),
    ],
)
async def test_a_valuation_of_another_day_or_place_says_so(
    settling: World, place: Any, on: str, says: str | None
) -> None:
    """Its prices are expected, also where they are not those of the ticket's day or of its yard: that is
    told. A region that the yard is in is no other place.
    """
    sold = ticket(line("#1 Cu", "10", "3.50", "35.00"), line("shred", "50", "0.08", "4.00"), total="39.00")
    of = await valuation(settling, on=on, **place)
    body = {**asking(sold), "against": {"valuation": of}}
    told = (await settled(settling, body))["against"]
    assert (told["on"], told["yard"], told["says"]) == (on, place.get("yard"), says)
    assert told["region"] == {"far-gate": "XO-FEN"}.get(told["yard"], place.get("region", "XO-KEL"))
    request = SettlementIn.model_validate(body).request()
    then = json.loads((await settling.services.settlements.settle(request, "4")).answer.body)["against"]
    assert not then.keys() & {"region", "yard", "says"}


async def test_a_part_of_no_known_grade_is_a_bin_without_a_price(settling: World) -> None:
    """What was paid for it is told for itself."""
    of = await valuation(settling, {"name": "lump", "weight": "1 lb", "observed": {"metal": "copper"}})
    sold = as_expected()
    sold["lines"].append(line("?", "1", "2.00", "2.00"))
    sold["total"] = "41.00"
    body = {**asking(sold, matches=[{"line": 3, "part": "lump"}]), "against": {"valuation": of}}
    found = await settled(settling, body)
    assert found["effects"] == {**ZERO, "unpriced": "2.00"}
    assert found["bins"][-1]["part"] == "lump"


NOT_TOLD = "whether that was paid right cannot be told."
WHERE_EXPECTED = "Where a price was expected, paid as expected."
OF_SCREWS = f"No price was expected of Steel screws: {NOT_TOLD}"


@pytest.mark.parametrize(
    ("lines", "matches", "group", "says"),
    [
        (
            [],
            [],
            f"It is not on the ticket, and no price was expected: {NOT_TOLD}",
            f"{WHERE_EXPECTED} {OF_SCREWS}",
        ),
        (
            [line("bolts", "5", "0.10", "0.50", grade="screws")],
            [],
            f"Paid 0.50 USD. No price was expected: {NOT_TOLD}",
            f"Paid 0.50 USD more than expected: 0.50 bins that had no price. {OF_SCREWS}",
        ),
        (
            [],
            [{"line": 2, "bin": "screws"}, {"line": 2, "bin": "light-iron"}],
            f"Paid 4.00 USD. {OF_SCREWS}",
            f"{WHERE_EXPECTED} {OF_SCREWS}",
        ),
    ],
    ids=["not on the ticket", "on a line", "on a line with others"],
)
async def test_a_bin_without_a_price_is_never_paid_as_expected(
    settling: World, lines: list[Any], matches: list[Any], group: str, says: str
) -> None:
    """Whether it is on the ticket or not, its group and the whole say that no price was expected of it."""
    sold = as_expected()
    sold["lines"] += lines
    sold["total"] = "39.50" if lines else "39.00"
    bins = [*BINS, {"grade": "screws", "weight": "5 lb"}]
    body = {**asking(sold, matches=matches), "against": {"bins": bins}}
    found = await settled(settling, body)
    of = next(one for one in found["groups"] if {"bin": "screws", "part": None} in one["bins"])
    assert (of["says"], found["says"], found["complete"]) == (group, says, False)
    then = await settling.services.settlements.settle(SettlementIn.model_validate(body).request(), "1")
    assert json.loads(then.answer.body)["says"].startswith(("Paid as expected", "Paid 0.50 USD more"))
    assert b"No price was expected of" not in then.answer.body


async def test_what_is_meant_can_be_copied(settling: World) -> None:
    """Of parts of one name, some of a known grade and some not, the name stands for those that have none: the
    others are named by their grade. So each suggestion is taken as it stands.
    """
    lumps = [
        {"name": "lump", "weight": "1 lb", "observed": {"metal": "copper"}},
        {"name": "lump", "weight": "2 lb", "grade": "screws"},
    ]
    of = await valuation(settling, *lumps)
    sold = as_expected()
    sold["lines"] += [line("?", "1", "2.00", "2.00"), line("!", "2", "0.10", "0.20")]
    sold["total"] = "41.20"
    body = {**asking(sold), "against": {"valuation": of}}
    unclear = (await settled(settling, body))["unmatched"]["lines"]
    chosen = [
        next(each for each in one["meant"] if each["part"] == ("lump", None)[number])
        for number, one in enumerate(unclear)
    ]
    matches = [{name: told for name, told in each.items() if told is not None} for each in chosen]
    found = await settled(settling, {**body, "matches": matches})
    assert found["unmatched"] == {"bins": [], "lines": []}
    assert [group["bins"] for group in found["groups"]][2:] == [
        [{"bin": "screws", "part": None}], [{"bin": None, "part": "lump"}],
    ]  # fmt: skip


async def test_a_long_ticket_is_settled_aside(settling: World) -> None:
    """Of eighty lines that stand for one bin the weights are added up; it is repeated like any other."""
    sold = ticket(*[line("#1 Cu", "1", "3.50", "3.50")] * 80, total="280.00")
    bins = [{"grade": "copper-no1", "weight": "80 lb"}]
    name = await kept(settling, {**asking(sold), "against": {"bins": bins}})
    path = f"/v1/settlements/{name}/replay"
    again = (await settling.client.post(path, headers=await settling.key("wren"))).json()
    assert (again["difference"], again["groups"][0]["lines"]) == ("0.00", list(range(1, 81)))


async def test_labels_are_those_of_the_day_as_known_then(yard: World) -> None:
    """A label stands for nothing before its day, nor as known before it was said."""
    before = await yard.revision()
    body = {
        "labels": [{"label": "Pipe", "grade": "copper-no1"}],
        "from": "2026-05-03",
        "reason": "the new sign",
    }
    response = await yard.send("/v1/yards/low-quay/house-rules", body, "sedge")
    assert response.status_code == 201, response.text
    for on, known_at, grade in (
        ("2026-05-04", None, "copper-no1"),
        ("2026-05-02", None, None),
        ("2026-05-04", before, None),
    ):
        sold = ticket(line("pipe", "10", "3.50", "35.00"), total="35.00", on=on)
        found = await settled(yard, {**asking(sold), **({"known_at": known_at} if known_at else {})})
        assert found["lines"][0]["grade"] == grade
        assert found["pins"]["revision"] == known_at or found["pins"]["revision"] > before


async def test_every_fault_is_told_at_once(settling: World) -> None:
    """Weights, units, amounts, grades, matches: each with its place; nothing is stored."""
    wrong = ticket(
        line("a", "10", "3.50", "35.001"),
        {**line("b", "5", "1", "5"), "net": "5", "tare": "1 lb"},
        {**line("#1 Cu", "5", "1", "5"), "grade": "copper-no2", "per": "ton"},
        {**line("d", "5", "1", "5"), "grade": "coper", "gross": "1 lb", "tare": "2 lb"},
        total="1.005",
    )
    bins = [*BINS, {"grade": "number one", "weight": "1 lb"}, {"grade": "tin", "weight": "0 lb"}]
    matches = [{"line": 9, "bin": "tin"}, {"line": 1, "bin": "screws"}, {"line": 1, "part": "x"}]
    body = {**asking(wrong, matches=matches), "against": {"bins": bins}}
    problem = problem_of(await settling.send("/v1/settlements", body, "wren"), "invalid-request")
    assert sorted(str(place) for place in where(problem)) == [
        "#/against/bins/2/grade",
        "#/against/bins/3/weight",
        "#/matches/0/line",
        "#/matches/1/bin",
        "#/matches/2/part",
        "#/ticket/lines/0/amount",
        "#/ticket/lines/1/net",
        "#/ticket/lines/1/tare",
        "#/ticket/lines/2/grade",
        "#/ticket/lines/2/per",
        "#/ticket/lines/3/grade",
        "#/ticket/lines/3/gross",
        "#/ticket/total",
    ]


async def test_a_valuation_that_is_not_there_is_pointed_at(settling: World) -> None:
    """The fault is in the body, not in the path."""
    body = {**asking(), "against": {"valuation": "v-00000000000000000000"}}
    problem = problem_of(await settling.send("/v1/settlements", body, "wren"), "invalid-request")
    assert where(problem) == ["#/against/valuation"]


async def test_nothing_is_converted(settling: World) -> None:
    """A valuation in another currency is refused."""
    of = await valuation(settling)
    body = {**asking(), "yard": "ember-end", "against": {"valuation": of}}
    problem = problem_of(await settling.send("/v1/settlements", body, "wren"), "currency-mismatch")
    assert where(problem) == ["#/against/valuation"]


async def test_what_is_kept_is_repeated_byte_for_byte(settling: World) -> None:
    """Whatever is posted later: the answer is the same bytes, read and replayed, and its hash is theirs."""
    body = asking(ticket(line("#2 Cu", "10", "3.00", "30.00"), total="30.00"))
    body["matches"] = [{"line": 1, "bin": "copper-no1"}]
    for against in (body["against"], {"valuation": await valuation(settling)}):
        first = await settling.send("/v1/settlements", {**body, "against": against, "keep": True}, "wren")
        assert first.status_code == 201, first.text
        body["ticket"]["number"] += "x"
        where_kept = first.headers["location"]
        await settling.post(
            {"grade": "copper-no2", "price": "2.00", "currency": "USD", "per": "lb"}, who="kite"
        )
        headers = await settling.key("wren")
        again = await settling.client.get(where_kept, headers=headers)
        replayed = await settling.client.post(f"{where_kept}/replay", headers=headers)
        assert replayed.status_code == 200, replayed.text
        assert first.content == again.content == replayed.content
        answer = first.json()
        sha256 = answer["pins"].pop("sha256")
        canonical = json.dumps(answer, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        assert hashlib.sha256(canonical.encode()).hexdigest() == sha256
        assert replayed.headers["settlement-id"] == again.headers["settlement-id"]


async def test_a_settlement_is_private(settling: World) -> None:
    """Its author and maintainers read it; for other members it is not there, and without a key nothing is."""
    name = await kept(settling, asking(), "dunlin")
    path = f"/v1/settlements/{name}"
    for who, status in (("dunlin", 200), ("sedge", 200), ("wren", 404)):
        found = await settling.client.get(path, headers=await settling.key(who))
        assert found.status_code == status
    assert (await settling.client.get(path)).status_code == 401
    assert (await settling.send("/v1/settlements", asking())).status_code == 401


async def test_a_ticket_is_settled_once(settling: World) -> None:
    """Under its number, or as it is where it has none (another one, then); sent under its key again it is
    answered again."""
    body = {**asking(), "keep": True}
    first = await settling.send("/v1/settlements", body, "wren", idempotency_key="again")
    again = await settling.send("/v1/settlements", body, "wren", idempotency_key="again")
    assert (again.status_code, again.content) == (201, first.content)
    problem = problem_of(await settling.send("/v1/settlements", body, "wren"), "conflict")
    assert first.headers["settlement-id"] in problem.detail
    unnumbered = {**asking(as_expected(number=None)), "keep": True}
    assert (await settling.send("/v1/settlements", unnumbered, "wren")).status_code == 201
    problem_of(await settling.send("/v1/settlements", unnumbered, "wren"), "conflict")
    assert (await settling.send("/v1/settlements", unnumbered, "dunlin")).status_code == 201


@pytest.mark.parametrize(
    "change",
    [
        {"post_prices": True},
        {"against": {}},
        {"against": {"valuation": "v-00000000000000000000", "bins": BINS}},
        {"matches": [{"line": 1}]},
        {"region": "XO-KEL"},
        {"rulebook": "2020.1", "against": {"valuation": "v-00000000000000000000"}},
    ],
    ids=[
        "prices but not kept",
        "against nothing",
        "against both",
        "a match of nothing",
        "a region",
        "two books",
    ],
)
async def test_what_does_not_go_together_is_refused(settling: World, change: dict[str, Any]) -> None:
    """Before anything is looked up."""
    problem_of(await settling.send("/v1/settlements", {**asking(), **change}, "wren"), "invalid-request")
