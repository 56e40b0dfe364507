"""House rules over HTTP: said from a day on, graded and valued by, lifted again, and never changed."""

from __future__ import annotations

import json
import re
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import date
from typing import Any

import pytest
from sqlalchemy.ext.asyncio import AsyncSession
from tests.api import World, only, posting, price, problem_of, small_rulebook
from tests.valuations.market import shipped
from tests.yards.saying import (
    CINDER_LANE,
    EIGHTH,
    KELDER_BAY,
    LIFTED,
    graded,
    say,
    sent,
    steel,
    valued,
)

from gradewright.accounts.service import Role
from gradewright.core.house_limits import HouseLimit
from gradewright.db.entries import canonical
from gradewright.ledger.entries import entries_between
from gradewright.rulebooks.service import HOUSES_KEPT
from gradewright.valuations.schemas import ValuationIn

AT_THE_GATE = "At Cinder Lane heavy steel begins at 1/8 in, since 2026-04-01 (6.35 mm in the rulebook)."


async def test_a_rule_is_told_as_it_was_said(world: World) -> None:
    """What was added comes back with its revision, author, day and reason, and stands in the history."""
    made = await say(world, CINDER_LANE, from_="2026-04-01", limits=[EIGHTH], refuses=["screws"])
    assert made["revision"] == await world.revision()
    (note,) = made["notes"]
    assert note == (
        "One of the worked examples has another answer here, by its limit: example 2 (metal: steel, "
        "thickness: 6.34 mm) is light-iron by the rulebook, and here steel-heavy, by rule thick-steel."
    )
    by = {"reason": "Sign at the gate.", "author": "sedge", "revision": made["revision"]}
    first = {
        **{"kind": "limit", **EIGHTH, "label": None, "grade": None, "lifted": False},
        **{"place": "cinder-lane", "from": "2026-04-01", **by},
    }
    assert made["rules"][0] == first
    found = await world.get(f"{CINDER_LANE}/house-rules")
    assert found["history"] == found["in_force"] == made["rules"]
    assert (found["on"], found["known_at"]) == ("2026-05-04", made["revision"])


async def test_what_is_in_force_is_told_for_any_day_and_revision(world: World) -> None:
    """`on` and `known_at` tell what held and what was known; the history is that of the place alone."""
    first = await say(world, KELDER_BAY, from_="2026-03-01", limits=[{**EIGHTH, "value": "5 mm"}])
    second = await say(world, CINDER_LANE, from_="2026-04-01", limits=[EIGHTH])
    third = await say(world, CINDER_LANE, from_="2026-05-01", limits=[LIFTED])
    holding = {}
    for on, known_at in (
        ("2026-02-28", third),
        ("2026-03-31", third),
        ("2026-04-30", third),
        ("2026-04-30", first),
        ("2026-05-01", second),
        ("2026-05-01", third),
    ):
        asked = {"on": on, "known_at": known_at["revision"]}
        found = await world.get(f"{CINDER_LANE}/house-rules", **asked)
        holding[on, known_at["revision"]] = [(rule["place"], rule["value"]) for rule in found["in_force"]]
        own = [made["revision"] for made in (second, third) if made["revision"] <= known_at["revision"]]
        assert [rule["revision"] for rule in found["history"]] == own
    assert list(holding.values()) == [
        [],
        [("XO-KEL", "5 mm")],
        [("cinder-lane", "1/8 in")],
        [("XO-KEL", "5 mm")],
        [("cinder-lane", "1/8 in")],
        [("XO-KEL", "5 mm")],
    ]


async def test_a_part_is_graded_by_the_limit_of_the_yard(world: World) -> None:
    """On the line and on both sides of it the yard's own limit decides at that yard, and nowhere else."""
    await say(world, CINDER_LANE, from_="2026-04-01", limits=[EIGHTH])
    for thickness, there, elsewhere in (
        ("3.174 mm", "light-iron", "light-iron"),
        ("3.175 mm", "steel-heavy", "light-iron"),
        ("3.176 mm", "steel-heavy", "light-iron"),
        ("6.349 mm", "steel-heavy", "light-iron"),
        ("6.35 mm", "steel-heavy", "steel-heavy"),
    ):
        assert (await graded(world, thickness, yard="cinder-lane"))["grade"] == there
        for where in ({"yard": "low-quay"}, {"region": "XO-KEL"}, {}):
            found = await graded(world, thickness, **where)
            assert (found["grade"], found["house_limits"]) == (elsewhere, [])


async def test_the_trace_tells_the_limit_in_the_words_of_the_yard(world: World) -> None:
    """Trace, reason and sentence say what holds at the yard and from which day, beside the rulebook's own."""
    await say(world, CINDER_LANE, from_="2026-04-01", limits=[EIGHTH])
    found = await graded(world, yard="cinder-lane")
    assert found["trace"][-1]["why"] == (
        "metal is steel; thickness is 4 mm, "
        "at least 1/8 in (heavy_steel_thickness at Cinder Lane since 2026-04-01) is asked"
    )
    assert found["because"] == f"Thick enough. {AT_THE_GATE}"
    assert found["says"] == f"Heavy steel. Thick enough. {AT_THE_GATE}"
    assert found["house_limits"] == [
        {
            "limit": "heavy_steel_thickness",
            "value": "1/8 in",
            "instead_of": "6.35 mm",
            "place": "cinder-lane",
            "from": "2026-04-01",
            "says": AT_THE_GATE,
        }
    ]
    thin = await graded(world, "3 mm", yard="cinder-lane")
    assert thin["trace"][-2]["why"] == (
        "thickness is 3 mm; at least 1/8 in (heavy_steel_thickness at Cinder Lane since 2026-04-01) is asked"
    )


async def test_without_words_of_its_own_a_limit_is_told_by_its_name(world: World) -> None:
    """A region's limit without `says` is told by name and value, in the region."""
    await say(world, KELDER_BAY, from_="2026-04-01", limits=[{**EIGHTH, "says": None}])
    assert (await graded(world, region="XO-KEL"))["house_limits"][0]["says"] == (
        "In Kelder Bay heavy_steel_thickness is 1/8 in, since 2026-04-01 (6.35 mm in the rulebook)."
    )
    assert (await graded(world, yard="far-gate"))["grade"] == "light-iron"


async def test_a_limit_holds_from_its_day_until_it_is_lifted(world: World) -> None:
    """The day before it is not there, on its day it is, and from the day on which it is lifted no more."""
    await say(world, CINDER_LANE, from_="2026-04-01", limits=[EIGHTH])
    await say(world, CINDER_LANE, from_="2026-05-01", limits=[LIFTED])
    grades = [
        (await graded(world, yard="cinder-lane", on=on))["grade"]
        for on in ("2026-03-31", "2026-04-01", "2026-04-30", "2026-05-01")
    ]
    assert grades == ["light-iron", "steel-heavy", "steel-heavy", "light-iron"]


async def test_what_a_place_decides_is_not_told_as_published(world: World) -> None:
    """Where the yard's own limit gave the grade, how sure that is rests on the yard's word; where the
    rulebook's did, it is as the rule says. So by method 5 of valuations; by 4 it is told as it was."""
    await say(world, CINDER_LANE, from_="2026-04-01", limits=[EIGHTH])
    there, elsewhere = await graded(world, yard="cinder-lane"), await graded(world, "7 mm", yard="low-quay")
    assert (there["grade"], elsewhere["grade"]) == ("steel-heavy", "steel-heavy")
    assert (there["confidence"], elsewhere["confidence"]) == ("house-rule", "published")
    (line,) = (await valued(world, yard="cinder-lane")).json()["parts"]
    assert (line["grade"], line["confidence"]) == ("steel-heavy", "house-rule")
    parts = [{"name": "plate", "weight": "1 kg", "observed": steel()}]
    asked = ValuationIn.model_validate({"parts": parts, "yard": "cinder-lane"}).request()
    (line,) = json.loads((await world.services.valuations.value(asked, "4")).body)["parts"]
    assert (line["grade"], line["confidence"]) == ("steel-heavy", "published")


async def test_a_valuation_goes_by_the_limit_and_can_be_repeated(world: World) -> None:
    """The line tells the limit that decided; what was valued before and under it replays byte for byte,
    after the limit has been lifted as well."""
    await world.post(price("steel-heavy", "0.20"), price("light-iron", "0.10"))
    asked = {"yard": "cinder-lane", "keep": True}
    before = await valued(world, **asked)
    await say(world, CINDER_LANE, from_="2026-04-01", limits=[EIGHTH])
    under = await valued(world, **asked)
    await say(world, CINDER_LANE, from_="2026-04-01", limits=[LIFTED])
    after = await valued(world, **asked)
    lines = [answer.json()["parts"][0] for answer in (before, under, after)]
    assert [line["grade"] for line in lines] == ["light-iron", "steel-heavy", "light-iron"]
    assert [line.get("house_limits") for line in (lines[0], lines[2])] == [None, None]
    assert lines[1]["house_limits"][0]["says"] == AT_THE_GATE
    assert lines[1]["because"] == f"Thick enough. {AT_THE_GATE}"
    for answer in (before, under, after):
        kept = answer.headers["valuation-id"]
        again = await world.client.post(f"/v1/valuations/{kept}/replay")
        assert again.status_code == 200, again.text
        assert again.content == answer.content
    async with world.another() as other:
        again = await other.client.post(f"/v1/valuations/{under.headers['valuation-id']}/replay")
        assert again.content == under.content
    pins = under.json()["pins"]["revision"]
    asked_then = {"yard": "cinder-lane", "known_at": pins, "on": "2026-05-04"}
    assert (await valued(world, **asked_then)).content == under.content


async def test_another_worker_notices_a_new_rule(world: World) -> None:
    """A worker that has graded and valued at the yard goes by a rule that another has taken in since."""
    async with world.another() as other:
        assert (await graded(other, yard="cinder-lane"))["grade"] == "light-iron"
        await say(world, CINDER_LANE, from_="2026-04-01", limits=[EIGHTH])
        await say(world, KELDER_BAY, from_="2026-04-01", refuses=["steel-heavy"])
        assert (await graded(other, yard="cinder-lane"))["grade"] == "steel-heavy"
        line = (await valued(other, yard="cinder-lane")).json()["parts"][0]
        assert line["unpriced"].startswith("Yards in Kelder Bay do not take Heavy steel, since 2026-04-01")


async def test_a_valuation_under_house_rules_reads_no_database(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At today's prices, once the list and the limits are known, nothing is read."""
    await say(world, CINDER_LANE, from_="2026-04-01", limits=[EIGHTH], refuses=["light-iron"])
    first = await valued(world, yard="cinder-lane")
    database = world.services.database
    monkeypatch.setattr(database, "_poll_seconds", 3600)

    @asynccontextmanager
    async def nothing() -> AsyncIterator[AsyncSession]:
        raise AssertionError("the database was read")
        yield

    monkeypatch.setattr(database, "read", nothing)
    assert (await valued(world, yard="cinder-lane")).content == first.content


async def test_a_place_without_limits_has_the_grader_of_the_version(world: World) -> None:
    """Only a place with limits of its own has a grader compiled for it, once; and only so many are kept."""
    version = await world.services.rulebooks.get("2020.1")
    atlas = await world.services.yards.atlas()
    day = world.clock().date()
    assert await version.under(atlas.limits("XO-KEL", "cinder-lane", day)) is version
    await say(world, CINDER_LANE, limits=[EIGHTH])
    limits = (await world.services.yards.atlas()).limits("XO-KEL", "cinder-lane", day)
    own = await version.under(limits)
    assert own is not version
    assert await version.under(limits) is own
    for number in range(HOUSES_KEPT + 5):
        await version.under((limit(f"{number + 1} mm"),))
    assert len(version._houses) == HOUSES_KEPT


def limit(given: str) -> HouseLimit:
    """Heavy steel of some thickness at a yard."""
    return HouseLimit("heavy_steel_thickness", given, "far-gate", "at Far Gate", date(2026, 1, 1))


async def test_a_refusal_of_the_region_counts_for_its_list_and_its_yards(world: World) -> None:
    """The region's list and those of its yards name the refusal and why; a yard that takes the grade all
    the same prices it."""
    await world.post(price("light-iron", "0.10"))
    await say(world, KELDER_BAY, from_="2026-05-02", reason="By-law 12.", refuses=["light-iron"])
    await say(world, "/v1/yards/low-quay", from_="2026-05-03", takes=["light-iron"])
    because = (
        "Yards in Kelder Bay do not take Light iron, since 2026-05-02: By-law 12. "
        "Try another region, or ask one of the yards."
    )
    for where in ({"region": "XO-KEL"}, {"yard": "cinder-lane"}):
        found = await world.get("/v1/prices", **where)
        assert found["refuses"] == ["light-iron"]
        assert {"grade": "light-iron", "because": because} in found["unpriced"]
    for where in ({"yard": "low-quay"}, {"region": "XO"}, {"yard": "far-gate"}):
        found = await world.get("/v1/prices", **where)
        assert found["refuses"] == []
        assert [line["grade"] for line in found["prices"]] == ["light-iron"]
    assert (await world.get("/v1/prices", region="XO-KEL", on="2026-05-01"))["refuses"] == []


async def test_a_yard_tells_what_is_not_taken_there_by_whose_word(world: World) -> None:
    """Its own refusals and its region's that are in force today, and not what it takes all the same, nor what
    is refused from a later day on."""
    await say(world, KELDER_BAY, from_="2026-05-02", refuses=["light-iron", "copper-no1"])
    await say(world, KELDER_BAY, from_="2026-05-05", refuses=["steel-heavy"])
    await say(world, "/v1/yards/low-quay", from_="2026-05-03", takes=["light-iron"], refuses=["copper-no2"])
    meant = [
        {"grade": "copper-no1", "own": False, "by": "Kelder Bay", "from": "2026-05-02"},
        {"grade": "copper-no2", "own": True, "by": "Low Quay", "from": "2026-05-03"},
    ]
    assert (await world.get("/v1/yards/low-quay"))["not_taken"] == meant
    listed = {one["slug"]: one for one in (await world.get("/v1/yards"))["yards"]}
    assert listed["low-quay"]["not_taken"] == meant
    assert listed["low-quay"]["refuses"] == ["copper-no2"]
    assert [one["grade"] for one in listed["cinder-lane"]["not_taken"]] == ["copper-no1", "light-iron"]
    assert listed["far-gate"]["not_taken"] == []


async def test_a_refusal_is_told_with_the_grade(world: World) -> None:
    """A part that is graded as what the yard does not take is told so."""
    await say(world, CINDER_LANE, from_="2026-05-01", refuses=["light-iron"])
    assert (await graded(world, "3 mm", yard="cinder-lane"))["says"].endswith(
        "Cinder Lane does not take Light iron, since 2026-05-01: Sign at the gate. "
        "Try another yard, or the whole region."
    )


async def test_postings_go_by_the_labels_and_refusals_of_their_day(world: World) -> None:
    """A region's label can be posted by from its day on, a refused grade cannot until it is taken again."""
    await say(
        world,
        KELDER_BAY,
        from_="2026-05-01",
        labels=[{"label": "Girder", "grade": "steel-heavy"}],
        refuses=["light-iron"],
    )
    girder = {"label": "girder", "price": "0.10", "currency": "USD", "per": "lb"}
    made = await world.post(girder, on="2026-05-01")
    assert (made["prices"][0]["grade"], made["prices"][0]["label"]) == ("steel-heavy", "girder")
    early = await world.send("/v1/postings", posting(girder, on="2026-04-30"), "wren")
    assert problem_of(early, "unknown-grade").errors[0].pointer == "#/prices/0/label"
    tin = await world.send("/v1/postings", posting(price("tin", "0.10")), "wren")
    assert problem_of(tin, "invalid-request").errors[0].detail == (
        "low-quay does not take Light iron, as yards in Kelder Bay do not, since 2026-05-01. "
        "If that has changed, tell a maintainer."
    )
    await world.post(price("tin", "0.10"), on="2026-04-30")
    await say(world, KELDER_BAY, from_="2026-05-03", takes=["light-iron"])
    await world.post(price("tin", "0.10"), on="2026-05-03")


async def test_a_label_goes_out_of_use(world: World) -> None:
    """A yard that no longer uses a label does not show it, and its region's does not step in."""
    await say(world, KELDER_BAY, from_="2026-01-01", labels=[{"label": "#2 Cu", "grade": "copper-no1"}])
    await say(world, "/v1/yards/low-quay", from_="2026-05-02", labels=[{"label": "#2 cu", "grade": None}])
    shown = await world.get("/v1/yards/low-quay")
    assert [label["label"] for label in shown["labels"]] == ["#1 Cu"]
    line = {"label": "#2 Cu", "price": "3", "currency": "USD", "per": "lb"}
    refused = await world.send("/v1/postings", posting(line, on="2026-05-02"), "wren")
    assert problem_of(refused, "unknown-grade").errors[0].pointer == "#/prices/0/label"
    assert (await world.post(line, on="2026-05-01"))["prices"][0]["grade"] == "copper-no2"


async def test_a_refusal_that_was_lifted_is_not_shown(world: World) -> None:
    """A yard made with a refusal takes the grade again from a day on."""
    await say(world, "/v1/yards/tern-row", takes=["steel-heavy"])
    assert (await world.get("/v1/yards/tern-row"))["refuses"] == []
    await world.post(price("steel-heavy", "0.10"), yard="tern-row")


async def test_every_fault_is_told_at_once_and_nothing_is_stored(untouched: World) -> None:
    """Each fault has its place, and what may have been meant."""
    response = await sent(
        untouched,
        CINDER_LANE,
        limits=[
            {"limit": "heavy_steel", "value": "3 mm"},
            {"limit": "heavy_steel_thickness", "value": "3 kg"},
            {"limit": "heavy_steel_thickness", "value": None},
        ],
        labels=[
            {"label": "a", "grade": "copper-no9"},
            {"label": "A", "grade": "copper-no1"},
            {"label": "Grader", "grade": None},
        ],
        refuses=["tin", "copper-no1"],
        takes=["copper-no1"],
    )
    problem = problem_of(response, "invalid-request")
    assert problem.detail.endswith(f" Nothing was stored. (and {len(problem.errors) - 1} more)")
    told = {error.pointer: (error.detail, error.suggestions) for error in problem.errors}
    assert told["#/limits/0/limit"] == (
        "'heavy_steel' is not a limit of rulebook 2020.1. Did you mean heavy_steel_thickness?",
        ["heavy_steel_thickness"],
    )
    assert told["#/limits/1/value"][0] == (
        "heavy_steel_thickness: 'kg' is not a unit of length: write one of mm, cm, m, km, in, ft, AWG."
    )
    assert "said twice" in told["#/limits/2/limit"][0]
    assert "nothing to lift" in told["#/limits/2/value"][0]
    assert "not the slug of a grade" in told["#/labels/0/grade"][0]
    assert "said twice" in told["#/labels/1/label"][0]
    assert "not in use" in told["#/labels/2/label"][0]
    assert told["#/refuses/0"][1] == ["light-iron"]
    assert "takes/0" in " ".join(told)


@pytest.mark.parametrize("value", ["3.175", "0 mm", "-3 mm", "5 %", "thin", ""])
async def test_a_value_that_the_limit_cannot_have_is_refused(untouched: World, value: str) -> None:
    """Without a unit, of another kind, nothing or less: it is said what to write."""
    response = await sent(untouched, CINDER_LANE, limits=[{"limit": "heavy_steel_thickness", "value": value}])
    (error,) = problem_of(response, "invalid-request").errors
    assert error.pointer == "#/limits/0/value"
    assert "write" in error.detail


@pytest.mark.parametrize(
    ("said", "pointer"),
    [
        pytest.param({}, "#", id="nothing is said"),
        pytest.param({"refuses": ["screws"], "reason": None}, "#/reason", id="without a reason"),
        pytest.param({"refuses": ["screws"], "from_": "2019-12-31"}, "#/from", id="before any rulebook"),
        pytest.param({"refuses": ["screws"], "form": "2026-05-01"}, "#/form", id="a misspelt field"),
        pytest.param({"limits": [{"limit": "heavy_steel_thickness"}]}, "#/limits/0/value", id="no value"),
    ],
)
async def test_what_cannot_be_read_is_pointed_at(
    untouched: World, said: dict[str, Any], pointer: str
) -> None:
    """A body that is not of the form is refused, with the place."""
    response = await sent(untouched, CINDER_LANE, **said)
    assert response.status_code == 422
    assert pointer in [error.get("pointer") for error in response.json()["errors"]]


async def test_only_maintainers_say_house_rules(untouched: World) -> None:
    """A member is refused, and so is who has no key; places that are not there are 404."""
    body = {"reason": "x", "refuses": ["screws"]}
    path = f"{CINDER_LANE}/house-rules"
    problem_of(await untouched.send(path, body, "wren"), "forbidden")
    problem_of(await untouched.send(path, body), "unauthorized")
    for place, slug in (("/v1/yards/cinder", "unknown-yard"), ("/v1/regions/XO-NO", "unknown-region")):
        problem_of(await sent(untouched, place, refuses=["screws"]), slug, 404)
        problem_of(await untouched.client.get(f"{place}/house-rules"), slug, 404)


async def test_a_repeated_request_is_taken_once(world: World) -> None:
    """Under one Idempotency-Key the rules are added once, and the first answer comes again."""
    body = {"reason": "x", "refuses": ["screws"]}
    answers = [
        await world.send(f"{KELDER_BAY}/house-rules", body, "sedge", Role.MAINTAINER, Idempotency_Key="again")
        for _ in range(2)
    ]
    assert answers[0].content == answers[1].content
    assert len((await world.get(f"{KELDER_BAY}/house-rules"))["history"]) == 1


async def test_a_rule_that_no_part_can_end_at_any_more_is_told(world: World) -> None:
    """Heavy steel from 1/8 in on leaves nothing to the rule for No. 2, which begins there: it is told, as is
    a word of a later day that stands already."""
    world.clock.now = world.clock.now.replace(year=2025)
    await world.publish(shipped("2018.1"))
    await world.publish({**small_rulebook(), "version": "2021.1", "effective_from": "2026-01-01"})
    await say(world, CINDER_LANE, from_="2025-06-01", limits=[{**EIGHTH, "value": "7 mm"}])
    made = await say(world, CINDER_LANE, from_="2019-05-01", limits=[EIGHTH])
    assert made["notes"][0] == (
        "heavy_steel_thickness: what was said from 2025-06-01 on holds from that day all the same."
    )
    rule = [note for note in made["notes"] if note.startswith("rule steel-heavy-medium ")]
    [told] = rule
    assert told.startswith(
        "rule steel-heavy-medium is not needed here: whatever meets it meets steel-heavy-thick before it. "
        "Such a part: form: "
    )
    assert "of the worked examples have another answer here, by its limit: example " in made["notes"][-1]


async def test_notes_do_not_speak_as_of_faults(world: World) -> None:
    """What a limit makes of a version is told as what holds in the place; nothing in it calls for a mend."""
    world.clock.now = world.clock.now.replace(year=2025)
    await world.publish(shipped("2018.1"))
    made = await say(world, CINDER_LANE, from_="2019-05-01", limits=[EIGHTH])
    notes = [note for note in made["notes"] if "heavy_steel_thickness: " not in note]
    assert notes
    for note in notes:
        assert " here" in note
        assert not any(word in note for word in ("expected", "is found", "never decides", "any more"))


async def test_a_limit_that_leaves_parts_without_an_answer_is_refused(world: World) -> None:
    """Where thin steel ends at 6.35 mm in so many words, heavy steel from 8 mm on would leave a hole: refused
    with the smallest part that falls into it, and nothing is stored. Within the words it may be moved."""
    made = small_rulebook(version="2021.1", effective_from="2021-01-01")
    made["rules"][3]["when"]["thickness"] = {"below": "6.35 mm"}
    await world.publish(made)
    body = {"reason": "x", "limits": [{"limit": "heavy_steel_thickness", "value": "8 mm"}]}
    path = "/v1/yards/low-quay/house-rules"
    problem = problem_of(await world.send(path, body, "sedge", Role.MAINTAINER), "invalid-request")
    assert only(problem).pointer == "#/limits/0/value"
    assert "steel-heavy by rulebook 2021.1 have no answer any more, such as " in problem.detail
    hole = re.search(r"thickness: ([0-9.]+) mm", problem.detail)
    assert hole, problem.detail
    assert 6.35 <= float(hole[1]) < 8
    assert "limit" not in {each["kind"] for each in (await world.get(path))["history"]}
    body["limits"] = [{"limit": "heavy_steel_thickness", "value": "6 mm"}]
    assert (await world.send(path, body, "sedge", Role.MAINTAINER)).status_code == 201


async def test_what_is_without_an_answer_already_is_no_fault_of_another_word(world: World) -> None:
    """Where a version has a hole under a place's limit, as one that was loaded unproved may, the next value
    that makes it no worse is kept: of parts of another grade it would be refused."""
    body = {"reason": "x", "limits": [{"limit": "heavy_steel_thickness", "value": "8 mm"}]}
    path = "/v1/yards/low-quay/house-rules"
    assert (await world.send(path, body, "sedge", Role.MAINTAINER)).status_code == 201
    made = small_rulebook(version="2027.1", effective_from="2027-01-01")
    made["rules"][3]["when"]["thickness"] = {"below": "6.35 mm"}
    await world.publish(made)
    world.later(days=300)
    body["limits"] = [{"limit": "heavy_steel_thickness", "value": "9 mm"}]
    assert (await world.send(path, body, "sedge", Role.MAINTAINER)).status_code == 201


async def test_each_word_is_an_entry_of_the_ledger(world: World) -> None:
    """Limit, label and refusal are sealed with who said them and why, lifted ones too."""
    said = {"labels": [{"label": "Girder", "grade": "steel-heavy"}], "refuses": ["screws"]}
    first = await say(world, KELDER_BAY, from_="2026-04-01", limits=[EIGHTH], **said)
    await say(
        world,
        CINDER_LANE,
        labels=[{"label": "GIRDER", "grade": None}],
        limits=[EIGHTH],
        takes=["screws"],
    )
    async with world.services.database.read() as session:
        entries = await entries_between(session, first["revision"] - 1, await world.revision())
    told = [json.loads(canonical(entry)) for entry in entries]
    by = {"author": "sedge", "reason": "Sign at the gate.", "recorded_at": told[0]["recorded_at"]}
    assert [(entry["line"], entry["kind"], entry.get("lifted")) for entry in told] == [
        (1, "label", 0),
        (2, "refusal", 0),
        (3, "limit", None),
        (1, "label", 1),
        (2, "refusal", 1),
        (3, "limit", None),
    ]
    assert told[2] == {
        "kind": "limit",
        "region": "XO-KEL",
        "limit": "heavy_steel_thickness",
        "value": "1/8 in",
        "says": "heavy steel begins at 1/8 in",
        "from": "2026-04-01",
        "number": told[2]["number"],
        "revision": first["revision"],
        "line": 3,
        **by,
    }
    assert told[3]["grade"] == "steel-heavy"


async def test_what_is_not_taken_leaves_a_gap_in_its_series(world: World) -> None:
    """On the days on which the region, or the yard by the region's word, does not take the grade."""
    await world.post(price("light-iron", "0.10"), on="2026-05-01")
    await say(world, KELDER_BAY, from_="2026-05-02", refuses=["light-iron"])
    await say(world, "/v1/yards/low-quay", from_="2026-05-03", takes=["light-iron"])
    span = {"from_": "2026-05-01", "to": "2026-05-04"}
    for place, taken in (
        ("prices/XO-KEL/", [True, False, False, False]),
        ("yards/low-quay/prices/", [True, False, True, True]),
        ("prices/XO/", [True, True, True, True]),
    ):
        series = await world.get(f"/v1/{place}light-iron/series", step="day", **span)
        assert [point["likely"] is not None for point in series["points"]] == taken
