"""Requests for valuations and gradings that cannot be answered: every fault, at its place, once."""

from __future__ import annotations

from typing import Any

import pytest
from tests.api import World, only, problem_of, where

PART = {"name": "frame", "weight": "27 lb 6 oz", "grade": "light-iron"}
SEEN = {"name": "bar", "weight": "1 kg", "observed": {"metal": "steel", "thickness": "6.35 mm"}}
ASKED = {"region": "XO-KEL", "parts": [PART, SEEN]}
VALUATIONS, GRADINGS = "/v1/valuations", "/v1/gradings"


def part(**changes: Any) -> dict[str, Any]:
    """A part that would be valued, but for the changes; a value of `...` takes a member out."""
    changed = {**PART, **changes}
    return {name: value for name, value in changed.items() if value is not ...}


def seen(name: str, value: Any) -> dict[str, Any]:
    """A part of which one more thing was observed."""
    return {**SEEN, "observed": {**SEEN["observed"], name: value}}  # type: ignore[dict-item]


async def test_the_unspoilt_requests_are_answered(untouched: World) -> None:
    """What the other tests spoil is answered when it is not spoilt."""
    assert (await untouched.send(VALUATIONS, ASKED)).status_code == 200
    assert (await untouched.send(GRADINGS, {"observed": SEEN["observed"]})).status_code == 200


BAD_PARTS = [
    pytest.param(part(grade="light-irn"), "unknown-grade", "/grade", "light-iron", id="a misspelt grade"),
    pytest.param(part(grade="sherd"), "unknown-grade", "/grade", "light-iron", id="a misspelt alias"),
    pytest.param(part(weight="1 ton"), "invalid-request", "/weight", "1 short ton", id="a bare ton"),
    pytest.param(part(weight="1.5 T"), "invalid-request", "/weight", "1.5 t", id="a capital T"),
    pytest.param(part(weight="12"), "invalid-request", "/weight", "12 kg", id="a bare number"),
    pytest.param(part(weight="12 kilos 3"), "invalid-request", "/weight", None, id="a bare number after"),
    pytest.param(part(weight="2 lb 3.5 kg"), "invalid-request", "/weight", None, id="two systems"),
    pytest.param(part(weight="1 stone"), "invalid-request", "/weight", None, id="an unknown unit"),
    pytest.param(part(weight="1 pond"), "invalid-request", "/weight", "1 lb", id="a misspelt unit"),
    pytest.param(part(weight="1_000 g"), "invalid-request", "/weight", None, id="an underscore"),
    pytest.param(part(weight="1,5 kg"), "invalid-request", "/weight", None, id="a comma"),
    pytest.param(part(weight="1e3 g"), "invalid-request", "/weight", None, id="an exponent"),
    pytest.param(part(weight="١ kg"), "invalid-request", "/weight", None, id="an Arabic digit"),
    pytest.param(part(weight="½ lb"), "invalid-request", "/weight", None, id="a half in one character"),
    pytest.param(part(weight="0 kg"), "invalid-request", "/weight", None, id="no weight"),
    pytest.param(part(weight="-1 kg"), "invalid-request", "/weight", None, id="below zero"),
    pytest.param(part(weight="1/0 kg"), "invalid-request", "/weight", None, id="divided by nothing"),
    pytest.param(part(weight="1/3 kg"), "invalid-request", "/weight", "0.333 kg", id="without an end"),
    pytest.param(part(weight="9" * 20 + " t"), "invalid-request", "/weight", None, id="heavier than any"),
    pytest.param(part(weight="9" * 21 + " g"), "invalid-request", "/weight", None, id="21 digits"),
    pytest.param(part(weight=1.35), "invalid-request", "/weight", None, id="a float for a weight"),
    pytest.param(part(weight=12), "invalid-request", "/weight", None, id="an integer for a weight"),
    pytest.param(part(weight=True), "invalid-request", "/weight", None, id="true for a weight"),
    pytest.param(part(weight="kg"), "invalid-request", "/weight", None, id="a unit alone"),
    pytest.param(part(weight=""), "invalid-request", "/weight", None, id="an empty weight"),
    pytest.param(
        part(weight=..., weight_each="1 ton"), "invalid-request", "/weight_each", "1 t", id="each a ton"
    ),
    pytest.param(part(weight_each="1 kg"), "invalid-request", "", None, id="both weights"),
    pytest.param(part(weight=...), "invalid-request", "", None, id="no weight at all"),
    pytest.param(part(weight=None), "invalid-request", "", None, id="null for a weight"),
    pytest.param(part(grade=...), "invalid-request", "", None, id="neither grade nor observations"),
    pytest.param(part(observed={}), "invalid-request", "", None, id="both grade and observations"),
    pytest.param(part(count=0), "invalid-request", "/count", None, id="no pieces"),
    pytest.param(part(count=-1), "invalid-request", "/count", None, id="pieces below zero"),
    pytest.param(part(count=1_000_001), "invalid-request", "/count", None, id="too many pieces"),
    pytest.param(part(count=2.0), "invalid-request", "/count", None, id="a float for a count"),
    pytest.param(part(count="2"), "invalid-request", "/count", None, id="text for a count"),
    pytest.param(part(count=True), "invalid-request", "/count", None, id="true for a count"),
    pytest.param(part(count=None), "invalid-request", "/count", None, id="null for a count"),
    pytest.param(part(name=""), "invalid-request", "/name", None, id="no name"),
    pytest.param(part(name="x" * 101), "invalid-request", "/name", None, id="a name too long"),
    pytest.param(part(name="a\nb"), "invalid-request", "/name", None, id="a name on two lines"),
    pytest.param(part(name=...), "invalid-request", "/name", None, id="a name that is missing"),
    pytest.param(part(mass="1 kg"), "invalid-request", "/mass", None, id="a stray member"),
    pytest.param(part(grade=7), "invalid-request", "/grade", None, id="a number as a grade"),
    pytest.param([], "invalid-request", "", None, id="a list as a part"),
    pytest.param(None, "invalid-request", "", None, id="null as a part"),
    pytest.param(
        seen("thikness", "6 mm"), "invalid-request", "/observed/thikness", "thickness", id="misspelt"
    ),
]


@pytest.mark.parametrize(("bad", "slug", "field", "suggested"), BAD_PARTS)
async def test_a_part_that_cannot_be_read(
    untouched: World, bad: Any, slug: str, field: str, suggested: str | None
) -> None:
    """The one fault is at the part's own member, counted from the whole list, with what may be meant."""
    body = {**ASKED, "parts": [PART, SEEN, bad, PART]}
    problem = problem_of(await untouched.send(VALUATIONS, body), slug)
    assert where(problem) == [f"#/parts/2{field}"]
    assert suggested is None or suggested in (only(problem).suggestions or [])


BAD_VALUES = [
    pytest.param("thickness", "6.35", None, id="a length without a unit"),
    pytest.param("thickness", 6.35, None, id="a float for a length"),
    pytest.param("thickness", 6, None, id="an integer for a length"),
    pytest.param("thickness", True, None, id="true for a length"),
    pytest.param("thickness", None, None, id="null for a length"),
    pytest.param("thickness", ["6 mm"], None, id="a list for a length"),
    pytest.param("thickness", {"mm": 6}, None, id="an object for a length"),
    pytest.param("thickness", "6 kg", None, id="a length in kilograms"),
    pytest.param("thickness", "gauge 16", None, id="a gauge of what"),
    pytest.param("thickness", "0 mm", None, id="no length"),
    pytest.param("thickness", "٦ mm", None, id="an Arabic digit"),
    pytest.param("thickness", "x" * 101, None, id="text too long"),
    pytest.param("sticks_to_magnet", "yes", None, id="yes as text"),
    pytest.param("sticks_to_magnet", 1, None, id="1 for yes"),
    pytest.param("metal", "coper", "copper", id="a misspelt choice"),
    pytest.param("metal", True, None, id="true for a choice"),
    pytest.param("metal", 7, None, id="a number for a choice"),
    pytest.param("metal", 2**62, None, id="a huge number for a choice"),
    pytest.param("foreign_share", "0.05", None, id="a share without its sign"),
    pytest.param("foreign_share", "101 %", None, id="more than the whole"),
    pytest.param("foreign_share", "-1 %", None, id="less than nothing"),
    pytest.param("metl", "copper", "metal", id="a misspelt attribute"),
    pytest.param("Metal", "copper", None, id="an attribute in capitals"),
    pytest.param("metal of it", "copper", None, id="an attribute with spaces"),
    pytest.param("", "copper", None, id="an attribute without a name"),
    pytest.param("métal", "copper", None, id="an attribute with an accent"),
    pytest.param("a" * 65, "copper", None, id="an attribute too long"),
]


def escaped(name: str) -> str:
    """An attribute's name as it stands in a pointer."""
    return name.replace(" ", "%20").replace("é", "%C3%A9")


@pytest.mark.parametrize(("name", "value", "suggested"), BAD_VALUES)
async def test_an_observation_that_cannot_be_read(
    untouched: World, name: str, value: Any, suggested: str | None
) -> None:
    """One fault, at the observation, in a grading as in a valuation."""
    body = {**ASKED, "parts": [PART, {**SEEN, "observed": {name: value}}]}
    valued = problem_of(await untouched.send(VALUATIONS, body), "invalid-request")
    assert where(valued) == [f"#/parts/1/observed/{escaped(name)}"]
    graded = problem_of(await untouched.send(GRADINGS, {"observed": {name: value}}), "invalid-request")
    assert where(graded) == [f"#/observed/{escaped(name)}"]
    for problem in (valued, graded):
        assert suggested is None or suggested in (only(problem).suggestions or [])


async def test_a_value_is_told_as_it_was_written(untouched: World) -> None:
    """What was sent as true is told as true, and what was sent as text in its quotes."""
    for value, says in ((True, "thickness: true has no unit"), ("6", "'6' has no unit")):
        response = await untouched.send(GRADINGS, {"observed": {"thickness": value}})
        assert says in problem_of(response, "invalid-request").detail


BAD_MEMBERS = [
    pytest.param("region", "XO-KAL", "unknown-region", "XO-KEL", id="a misspelt region"),
    pytest.param("region", "Kelder Bay", "invalid-request", None, id="a region by its name"),
    pytest.param("region", 7, "invalid-request", None, id="a number as a region"),
    pytest.param("on", "2026-02-30", "invalid-request", None, id="no such day"),
    pytest.param("on", "2026-05-04T00:00:00Z", "invalid-request", None, id="an instant as a day"),
    pytest.param("on", 1_777_852_800, "invalid-request", None, id="seconds as a day"),
    pytest.param("on", "2019-12-31", "no-rulebook-in-force", None, id="before any rulebook"),
    pytest.param("rulebook", "2020.2", "no-rulebook-in-force", "2020.1", id="no such version"),
    pytest.param("rulebook", "newest", "invalid-request", None, id="a version by another name"),
    pytest.param("rulebook", 2020.1, "invalid-request", None, id="a version as a float"),
    pytest.param("regoin", "XO-KEL", "invalid-request", None, id="a stray member"),
]
BAD_OF_VALUATIONS = [
    pytest.param("known_at", -1, "invalid-request", None, id="a revision below zero"),
    pytest.param("known_at", 10**6, "invalid-request", None, id="a revision not reached"),
    pytest.param("known_at", 10**16, "invalid-request", None, id="a revision beyond all"),
    pytest.param("known_at", 1.5, "invalid-request", None, id="half a revision"),
    pytest.param("known_at", True, "invalid-request", None, id="true as a revision"),
    pytest.param("known_at", "3", "invalid-request", None, id="a revision as text"),
    pytest.param("known_at", "2026-05-04T09:12:00", "invalid-request", None, id="a naive instant"),
    pytest.param("known_at", "2026-05-04", "invalid-request", None, id="a day as an instant"),
    pytest.param("known_at", "2026-05-04T09:12:00+25:00", "invalid-request", None, id="no such zone"),
    pytest.param("known_at", "2026-05-04T24:12:00Z", "invalid-request", None, id="no such hour"),
    pytest.param("known_at", [3], "invalid-request", None, id="a list of revisions"),
    pytest.param("keep", 1, "invalid-request", None, id="1 for true"),
    pytest.param("keep", "true", "invalid-request", None, id="true as text"),
    pytest.param("keep", None, "invalid-request", None, id="null for false"),
    pytest.param("parts", {}, "invalid-request", None, id="an object of parts"),
    pytest.param("parts", [], "invalid-request", None, id="no parts"),
    pytest.param("parts", None, "invalid-request", None, id="null parts"),
    pytest.param("parts", [PART] * 1001, "invalid-request", None, id="too many parts"),
]


@pytest.mark.parametrize(("member", "value", "slug", "suggested"), BAD_MEMBERS + BAD_OF_VALUATIONS)
async def test_a_member_of_a_valuation_that_cannot_be(
    untouched: World, member: str, value: Any, slug: str, suggested: str | None
) -> None:
    """One fault, at the member."""
    problem = problem_of(await untouched.send(VALUATIONS, {**ASKED, member: value}), slug)
    assert where(problem) == [f"#/{member}"]
    assert suggested is None or suggested in (only(problem).suggestions or [])


@pytest.mark.parametrize(("member", "value", "slug", "suggested"), BAD_MEMBERS)
async def test_a_member_of_a_grading_that_cannot_be(
    untouched: World, member: str, value: Any, slug: str, suggested: str | None
) -> None:
    """One fault, at the member."""
    body = {"observed": {"metal": "copper"}, member: value}
    problem = problem_of(await untouched.send(GRADINGS, body), slug)
    assert where(problem) == [f"#/{member}"]
    assert suggested is None or suggested in (only(problem).suggestions or [])


@pytest.mark.parametrize("place", [{}, {"region": "XO-KEL", "yard": "low-quay"}])
async def test_a_valuation_is_made_in_one_place(untouched: World, place: dict[str, str]) -> None:
    """Neither place, or both, is refused."""
    problem = problem_of(await untouched.send(VALUATIONS, {**place, "parts": [PART]}), "invalid-request")
    assert "region or a yard" in problem.detail


async def test_a_grading_is_made_in_one_place_or_none(untouched: World) -> None:
    """Both places at once are refused."""
    body = {"observed": {}, "region": "XO-KEL", "yard": "low-quay"}
    problem_of(await untouched.send(GRADINGS, body), "invalid-request")


@pytest.mark.parametrize(("yard", "suggested"), [("low-qway", "low-quay"), ("nowhere", None)])
async def test_an_unknown_yard_is_pointed_at(untouched: World, yard: str, suggested: str | None) -> None:
    """A yard that is not there is a fault of the member, with the yard that may be meant."""
    for path, body in ((VALUATIONS, {"parts": [PART]}), (GRADINGS, {"observed": {}})):
        problem = problem_of(await untouched.send(path, {**body, "yard": yard}), "unknown-yard")
        assert where(problem) == ["#/yard"]
        assert suggested is None or suggested in (only(problem).suggestions or [])


async def test_faults_of_several_parts_are_told_at_once(untouched: World) -> None:
    """Five faults in four parts, two of them in one, are told together, in the order of the list."""
    bad = [
        part(grade="light-irn"),
        {"name": "bar", "weight": "1 ton", "observed": {"thikness": "6 mm", "metal": "coper"}},
        PART,
        part(weight="12"),
        {"name": "x", "weight_each": "3 stone", "count": 2, "grade": "coper-no1"},
    ]
    problem = problem_of(await untouched.send(VALUATIONS, {**ASKED, "parts": bad}), "invalid-request")
    assert where(problem) == [
        "#/parts/0/grade",
        "#/parts/1/weight",
        "#/parts/1/observed/thikness",
        "#/parts/1/observed/metal",
        "#/parts/3/weight",
        "#/parts/4/weight_each",
        "#/parts/4/grade",
    ]
    assert "(and 6 more)" in problem.detail


async def test_unknown_grades_alone_are_unknown_grades(untouched: World) -> None:
    """Where every fault is a grade that nobody defined, the problem is of that kind."""
    bad = [part(grade="light-irn"), PART, part(grade="sherd")]
    problem = problem_of(await untouched.send(VALUATIONS, {**ASKED, "parts": bad}), "unknown-grade")
    assert where(problem) == ["#/parts/0/grade", "#/parts/2/grade"]


@pytest.mark.parametrize("on", ["0001-01-01", "0001-04-30", "9999-12-31"])
async def test_the_ends_of_the_calendar(untouched: World, on: str) -> None:
    """By a version that is named, the first and the last days there are find no prices, and say so."""
    body = {**ASKED, "on": on, "rulebook": "2020.1"}
    answer = (await untouched.send(VALUATIONS, body)).json()
    assert (answer["on"], answer["complete"], answer["totals"]["unpriced"]) == (on, False, 2)
    graded = {"observed": {"metal": "copper"}, "on": on, "rulebook": "2020.1", "region": "XO-KEL"}
    assert (await untouched.send(GRADINGS, graded)).json()["outcome"] == "undecided"


@pytest.mark.parametrize(
    ("known_at", "says"),
    [(0, "revision 0"), ("0001-01-01T00:00:00Z", "revision 0"), ("2026-05-04T09:11:59Z", "revision 0")],
)
async def test_before_a_rulebook_was_known(untouched: World, known_at: Any, says: str) -> None:
    """As known before any rulebook was published, there is none to value by unless one is named."""
    body = {**ASKED, "known_at": known_at}
    problem = problem_of(await untouched.send(VALUATIONS, body), "no-rulebook-in-force")
    assert where(problem) == ["#/known_at"]
    assert says in problem.detail


async def test_before_the_place_was_known(untouched: World) -> None:
    """As known before the region was made there is no such region to value in."""
    problem = problem_of(await untouched.send(VALUATIONS, {**ASKED, "known_at": 1}), "unknown-region")
    assert where(problem) == ["#/region"]
    assert "XO-KEL" in problem.detail


@pytest.mark.parametrize("path", ["", "/replay"])
async def test_there_is_no_such_valuation(untouched: World, path: str) -> None:
    """An id that is nobody's is 404, to read as to replay."""
    method = "POST" if path else "GET"
    response = await untouched.client.request(method, f"/v1/valuations/v-0123456789{path}")
    assert "keep: true" in problem_of(response, "not-found").detail


async def test_a_replay_takes_no_body(untouched: World) -> None:
    """What is replayed is what was kept: a body is refused."""
    response = await untouched.send("/v1/valuations/v-0123456789/replay", {"keep": True})
    problem_of(response, "malformed-request")


@pytest.mark.parametrize(
    ("weight", "says"), [("0 kg", "above zero"), ("99999999999 kg", "at most a million tonnes")]
)
async def test_a_weight_that_no_part_has(untouched: World, weight: str, says: str) -> None:
    """Nothing at all, and more than any yard weighs, are refused with the bound that was crossed."""
    part = {"name": "frame", "weight": weight, "grade": "copper-no2"}
    problem = problem_of(await untouched.send(VALUATIONS, {**ASKED, "parts": [part]}), "invalid-request")
    assert where(problem) == ["#/parts/0/weight"]
    assert says in problem.detail


async def test_a_list_full_of_faults_is_read_no_further(untouched: World) -> None:
    """A hundred faults are told: looking for what six thousand wrong words meant would hold others up."""
    wrong = {f"no_such_{number}": True for number in range(100)}
    parts = [{"name": f"part {number}", "weight": "1 kg", "observed": wrong} for number in range(60)]
    problem = problem_of(await untouched.send(VALUATIONS, {**ASKED, "parts": parts}), "invalid-request")
    assert len(problem.errors) == 100
    assert {pointer.split("/")[2] for pointer in where(problem)} == {"0"}
    assert "read no further" in problem.detail
