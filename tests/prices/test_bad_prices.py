"""One bad price among ten: nothing is stored, and the answer points at the bad one."""

from __future__ import annotations

import json
from typing import Any

import pytest
from tests.api import World, only, posting, price, problem_of, small_rulebook, where

GOOD = [price("copper-no2", "3.35", from_weight=f"{n} lb") for n in range(1, 11)]
SPOILT = 6
SAID = "#/prices/6"


def ten_with(bad: Any) -> dict[str, Any]:
    """Ten prices, the seventh of which is another."""
    return posting(*GOOD[:SPOILT], bad, *GOOD[SPOILT + 1 :])


async def test_the_ten_are_good(world: World) -> None:
    """What the other tests spoil is stored when it is not spoilt."""
    assert len((await world.post(*GOOD))["prices"]) == 10


BAD = [
    pytest.param(price("coper-no2", "3"), "unknown-grade", "/grade", "copper-no2", id="a misspelt grade"),
    pytest.param(price("unobtainium", "3"), "unknown-grade", "/grade", None, id="a grade that is none"),
    pytest.param(price("Birsh", "3"), "unknown-grade", "/grade", "copper-no2", id="a misspelt alias"),
    pytest.param(price("copper-no1", "3", "ton"), "invalid-request", "/per", "short ton", id="a bare ton"),
    pytest.param(price("copper-no1", "3", "Tons"), "invalid-request", "/per", "gross ton", id="bare tons"),
    pytest.param(price("copper-no1", "3", "T"), "invalid-request", "/per", "t", id="a capital T"),
    pytest.param(price("copper-no1", "3", "cwt"), "invalid-request", "/per", "short cwt", id="bare cwt"),
    pytest.param(price("copper-no1", "3", "punds"), "invalid-request", "/per", "lb", id="a misspelt unit"),
    pytest.param(price("copper-no1", "3", "litre"), "invalid-request", "/per", None, id="a unit of volume"),
    pytest.param(price("copper-no1", "3", ""), "invalid-request", "/per", None, id="no unit"),
    pytest.param(
        price("copper-no1", "3", currency="EUR"), "currency-mismatch", "/currency", "USD", id="their euros"
    ),
    pytest.param(
        price("copper-no1", "3", currency="USB"), "invalid-request", "/currency", "USD", id="no currency"
    ),
    pytest.param(
        price("copper-no1", "3", currency="XAU"), "invalid-request", "/currency", None, id="gold as money"
    ),
    pytest.param(
        price("copper-no1", "3", currency="usd"), "invalid-request", "/currency", None, id="small letters"
    ),
    pytest.param(price("copper-no1", 3.35), "invalid-request", "/price", None, id="a float"),  # type: ignore[arg-type]
    pytest.param(price("copper-no1", 3), "invalid-request", "/price", None, id="an integer"),  # type: ignore[arg-type]
    pytest.param(price("copper-no1", True), "invalid-request", "/price", None, id="true"),  # type: ignore[arg-type]
    pytest.param(price("copper-no1", None), "invalid-request", "/price", None, id="null"),  # type: ignore[arg-type]
    pytest.param(price("copper-no1", "1_000"), "invalid-request", "/price", None, id="an underscore"),
    pytest.param(price("copper-no1", "1,000"), "invalid-request", "/price", None, id="a comma"),
    pytest.param(price("copper-no1", "1e3"), "invalid-request", "/price", None, id="an exponent"),
    pytest.param(price("copper-no1", "٣.٣٥"), "invalid-request", "/price", None, id="Arabic digits"),
    pytest.param(price("copper-no1", "３.３５"), "invalid-request", "/price", None, id="full-width digits"),
    pytest.param(price("copper-no1", "+3"), "invalid-request", "/price", None, id="a plus sign"),
    pytest.param(price("copper-no1", " 3"), "invalid-request", "/price", None, id="a space before"),
    pytest.param(price("copper-no1", "3\n"), "invalid-request", "/price", None, id="a newline after"),
    pytest.param(price("copper-no1", "03"), "invalid-request", "/price", None, id="a zero before"),
    pytest.param(
        price("copper-no1", ".5"), "invalid-request", "/price", None, id="no digit before the point"
    ),
    pytest.param(price("copper-no1", "$3"), "invalid-request", "/price", None, id="a sign of money"),
    pytest.param(price("copper-no1", "NaN"), "invalid-request", "/price", None, id="not a number"),
    pytest.param(price("copper-no1", "Infinity"), "invalid-request", "/price", None, id="infinite"),
    pytest.param(price("copper-no1", "1" * 10), "invalid-request", "/price", None, id="ten digits"),
    pytest.param(price("copper-no1", "0.1234567"), "invalid-request", "/price", None, id="seven places"),
    pytest.param(
        price("copper-no1", "3", from_weight="100"),
        "invalid-request",
        "/from_weight",
        "100 kg",
        id="bare 100",
    ),
    pytest.param(
        price("copper-no1", "3", from_weight="1 ton"),
        "invalid-request",
        "/from_weight",
        "1 short ton",
        id="from a bare ton",
    ),
    pytest.param(
        price("copper-no1", "3", from_weight="-1 lb"),
        "invalid-request",
        "/from_weight",
        None,
        id="below zero",
    ),
    pytest.param(
        price("copper-no1", "3", from_weight=100), "invalid-request", "/from_weight", None, id="a number"
    ),
    pytest.param(price("copper-no1", "3", label="#1 Cu"), "invalid-request", "", None, id="grade and label"),
    pytest.param(
        {"price": "3", "currency": "USD", "per": "lb"}, "invalid-request", "", None, id="neither of them"
    ),
    pytest.param(
        price("copper-no1", "3", quality="A"), "invalid-request", "/quality", None, id="stray field"
    ),
    pytest.param(price("\u00a0", "3"), "unknown-grade", "/grade", None, id="a blank name"),
    pytest.param(price("x" * 101, "3"), "invalid-request", "/grade", None, id="a name too long"),
    pytest.param(["copper-no1", "3"], "invalid-request", "", None, id="a list as a price"),
    pytest.param(None, "invalid-request", "", None, id="null as a price"),
    pytest.param(GOOD[0], "invalid-request", "", None, id="a price twice"),
]


@pytest.mark.parametrize(("bad", "slug", "field", "suggested"), BAD)
async def test_one_bad_price_among_ten(
    untouched: World, bad: Any, slug: str, field: str, suggested: str | None
) -> None:
    """Nothing is stored; the one fault is at the bad price's own field, with what may have been meant."""
    problem = problem_of(await untouched.send("/v1/postings", ten_with(bad), "wren"), slug)
    assert where(problem) == [SAID + field]
    assert suggested is None or suggested in (only(problem).suggestions or [])
    assert (await untouched.get("/v1/postings"))["postings"] == []


async def test_faults_of_several_prices_are_told_at_once(untouched: World) -> None:
    """Three bad prices of three kinds are three faults, and the first is named in the detail."""
    body = posting(price("coper-no2", "3"), price("copper-no1", "3"), price("tin", "3", currency="EUR"))
    body["prices"].append({"label": "#3 Cu", "price": "1", "currency": "USD", "per": "lb"})
    problem = problem_of(await untouched.send("/v1/postings", body, "wren"), "invalid-request")
    assert where(problem) == ["#/prices/0/grade", "#/prices/2/currency", "#/prices/3/label"]
    assert "coper-no2" in problem.detail
    assert "2 more" in problem.detail


@pytest.mark.parametrize(
    ("field", "value", "slug", "suggested"),
    [
        ("yard", "low-qway", "unknown-yard", "low-quay"),
        ("yard", "nowhere", "unknown-yard", None),
        ("yard", "Low Quay", "invalid-request", None),
        ("yard", 7, "invalid-request", None),
        ("evidence", "rumour", "invalid-request", None),
        ("evidence", None, "invalid-request", None),
        ("note", "", "invalid-request", None),
        ("note", "x" * 501, "invalid-request", None),
        ("note", "a\x1bb", "invalid-request", None),
        ("prices", {}, "invalid-request", None),
        ("prices", None, "invalid-request", None),
        ("observed_on", "2026-02-30", "invalid-request", None),
        ("observed_on", "2026-05-04T00:00:00", "invalid-request", None),
        ("observed_on", "2026-05-04T00:00:00Z", "invalid-request", None),
        ("observed_on", 1_777_852_800, "invalid-request", None),
        ("observed_on", "٢٠٢٦-05-04", "invalid-request", None),
        ("observed_on", None, "invalid-request", None),
        ("revision", 3, "invalid-request", None),
    ],
)
async def test_a_bad_field_of_a_posting(
    untouched: World, field: str, value: object, slug: str, suggested: str | None
) -> None:
    """A field that cannot be is pointed at, once, with what may have been meant."""
    body = {**posting(*GOOD), field: value}
    problem = problem_of(await untouched.send("/v1/postings", body, "wren"), slug)
    assert where(problem) == [f"#/{field}"]
    assert suggested is None or suggested in (only(problem).suggestions or [])


@pytest.mark.parametrize("field", ["yard", "observed_on", "evidence", "prices"])
async def test_a_missing_field_of_a_posting(untouched: World, field: str) -> None:
    """What is needed and missing is named."""
    body = {name: value for name, value in posting(*GOOD).items() if name != field}
    problem = problem_of(await untouched.send("/v1/postings", body, "wren"), "invalid-request")
    assert where(problem) == [f"#/{field}"]
    assert "needed" in only(problem).detail


async def test_every_fault_of_every_line_is_told(untouched: World) -> None:
    """A line with four faults tells four; a repetition is counted among all lines, faulty ones too."""
    bad = {"grade": "coper-no2", "price": "1", "currency": "EUR", "per": "stone", "from_weight": "3 blah"}
    body = posting(bad, price("copper-no1", "3.00"), price("copper-no1", "3.10"), {**bad, "currency": "USX"})
    problem = problem_of(await untouched.send("/v1/postings", body, "wren"), "invalid-request")
    places = ["currency", "grade", "per", "from_weight"]
    first, last = ([f"#/prices/{line}/{place}" for place in places] for line in (0, 3))
    assert where(problem) == [*first, *last, "#/prices/2"]
    assert "in line 2" in problem.errors[8].detail
    assert (await untouched.get("/v1/postings"))["postings"] == []


async def test_a_price_for_what_a_yard_does_not_take(world: World) -> None:
    """A price of a grade that the yard refuses would be kept and never shown: it is refused, and why."""
    body = posting(price("steel-heavy", "1.00"), yard="tern-row")
    problem = problem_of(await world.send("/v1/postings", body, "wren"), "invalid-request")
    assert where(problem) == ["#/prices/0/grade"]
    assert "does not take" in problem.detail


async def test_a_label_of_a_grade_that_is_no_more(world: World) -> None:
    """A label whose grade a later rulebook has dropped cannot be posted by: nothing would show the price."""
    later = json.dumps(small_rulebook(version="2026.1", effective_from="2026-05-02"))
    await world.publish(json.loads(later.replace("copper-no2", "copper-second")))
    body = posting({"label": "#2 Cu", "price": "1.00", "currency": "USD", "per": "lb"})
    problem = problem_of(await world.send("/v1/postings", body, "wren"), "unknown-grade")
    assert where(problem) == ["#/prices/0/label"]
    assert "2026.1" in problem.detail


async def test_evidence_is_one_of_four_words(untouched: World) -> None:
    """A word that is none of them is refused with the four, in plain words."""
    body = {**posting(price("copper-no1", "3.00")), "evidence": "rumour"}
    problem = problem_of(await untouched.send("/v1/postings", body, "wren"), "invalid-request")
    assert only(problem).detail == "write 'ticket', 'written-list', 'sign' or 'told'"
