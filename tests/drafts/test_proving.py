"""A document without faults of its own is proved before anyone relies on it."""

from __future__ import annotations

import json
from typing import Any

import pytest

from gradewright.accounts.service import Role
from gradewright.db.session import Database
from gradewright.rulebooks import proof, proofs, repository
from gradewright.rulebooks.comparing import Busy
from gradewright.web.problems import Problem
from tests.api import Body, problem_of
from tests.drafts.desk import NEXT, RAIL, SEDGE, Desk
from tests.samples import document


def with_thin_steel(**bounds: str) -> Body:
    """The small rulebook with other bounds of thin steel, and without the example between 3 and 6.35 mm."""
    made = document(**NEXT, title="Another small rulebook")
    made["grades"]["copper-no2"]["by_name_only"] = True
    made["rules"][3]["when"]["thickness"] = bounds
    del made["examples"][1]
    return made


async def drafted(desk: Desk, made: Body) -> str:
    """The name of a draft with a document."""
    name: str = (await desk.make(body={"document": made}, base="2020.1"))["id"]
    return name


async def test_a_part_without_an_answer_is_shown(desk: Desk) -> None:
    """A hole between two rules is a fault with the smallest part that falls into it; submission names it."""
    name = await drafted(desk, with_thin_steel(below="3 mm"))
    found = await desk.check(name)
    assert found["proved"]
    assert not found["sound"]
    assert {"metal": "steel"} in [
        {attribute: value for attribute, value in fault["part"].items() if attribute != "thickness"}
        for fault in found["faults"]
    ]
    for fault in found["faults"]:
        assert len(fault["part"]) == 2
        assert 3 <= float(fault["part"]["thickness"].removesuffix(" mm")) < 6.35
        assert fault["pointer"] == "#/rules"
    problem = problem_of(await desk.step(name, "submission", SEDGE), "unsound-rulebook", 422)
    assert [error.detail for error in problem.errors] == [fault["detail"] for fault in found["faults"]]


async def test_the_part_that_is_shown_mends_it_as_an_example(desk: Desk) -> None:
    """The part is fit to be pasted: with a rule for it and it as an example, the draft is proved."""
    made = with_thin_steel(below="3 mm")
    name = await drafted(desk, made)
    faults = (await desk.check(name))["faults"]
    assert faults
    made["rules"].append({**made["rules"][3], "id": "between", "when": {"metal": "steel", "thickness":
                          {"at_least": "3 mm", "below": "heavy_steel_thickness"}}})  # fmt: skip
    for fault in faults:
        made["examples"].append({"part": fault["part"], "grade": "light-iron", "note": "between the two"})
    put = await desk.put(name, made, (await desk.read(name))["etag"])
    assert put.status_code == 200, put.text
    found = await desk.check(name)
    assert (found["sound"], found["faults"]) == (True, [])


async def test_pairs_whose_order_decides_are_listed(desk: Desk) -> None:
    """Rules of different grades that one part meets both are no fault, and are told with such a part."""
    made = with_thin_steel(below="heavy_steel_thickness")
    made["rules"][2]["when"]["thickness"] = {"at_least": "3 mm"}
    made["examples"] = [example for example in made["examples"] if example["part"].get("metal") != "steel"]
    found = await desk.check(await drafted(desk, made))
    assert found["sound"], found["faults"]
    [pair] = found["pairs"]
    assert (pair["first"], pair["second"]) == ("thick-steel", "thin-steel")
    assert (pair["first_grade"], pair["second_grade"]) == ("steel-heavy", "light-iron")
    assert set(pair["part"]) == {"metal", "thickness"}


async def test_a_document_with_other_faults_is_proved_too(desk: Desk) -> None:
    """A day gone by, the base's summary, an example that does not come true: what the solver finds comes
    after them, each once."""
    made = with_thin_steel(below="3 mm")
    made |= {"effective_from": "2026-05-04", "summary": document()["summary"]}
    made["examples"][0]["grade"] = "light-iron"
    found = await desk.check(await drafted(desk, made))
    assert (found["proved"], found["sound"]) == (True, False)
    *cheap, hole = found["faults"]
    assert [fault["pointer"] for fault in cheap] == ["#/effective_from", "#/summary", "#/examples/0"]
    assert [fault["part"] for fault in cheap] == [None] * 3
    assert "gets no grade" in hole["detail"]
    assert hole["part"]["metal"] == "steel"


async def test_a_document_with_a_fault_in_its_rules_is_not_proved(desk: Desk) -> None:
    """Where a rule can never decide that is mended first: the check says that nothing was proved."""
    made = with_thin_steel(below="3 mm")
    made["rules"].append({**made["rules"][3], "id": "again"})
    found = await desk.check(await drafted(desk, made))
    assert (found["proved"], [fault["pointer"] for fault in found["faults"]]) == (False, ["#/rules/4"])


async def test_it_tells_how_far_it_is(desk: Desk) -> None:
    """As JSON Lines there is a line for each step of the proof, and the last has the same as one answer; once
    the proof is kept there is that line alone."""
    made = await desk.make()
    accept = {"Accept": "application/jsonl"}
    answers = [await desk.send("POST", f"/{made['id']}/check", SEDGE, headers=accept) for _ in "12"]
    first, second = ([json.loads(line) for line in answer.text.splitlines()] for answer in answers)
    assert answers[0].headers["content-type"].startswith("application/jsonl")
    *steps, last = first
    assert {"rules", "conditions", "pairs of rules"} <= {step["what"] for step in steps}
    assert all(0 <= step["done"] <= step["of"] for step in steps)
    assert second == [last]
    assert last == {"check": await desk.check(made["id"])}


async def test_what_breaks_under_way_is_told_as_a_problem(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once the head of the answer is sent, the last line says it: in the shape of every problem."""

    made = await desk.make()
    for error, slug, status in (
        (ValueError("No such formula."), "internal-error", 500),
        (Busy("Come again."), "unavailable", 503),
    ):

        def breaks(rulebook: Any, houses: Any = (), progress: Any = None, error: Exception = error) -> None:
            progress("rules", 0, 4)
            raise error

        monkeypatch.setattr(proof, "prove", breaks)
        accept = {"Accept": "application/jsonl"}
        answer = await desk.send("POST", f"/{made['id']}/check", SEDGE, headers=accept)
        *steps, last = [json.loads(line) for line in answer.text.splitlines()]
        assert steps == [{"what": "rules", "done": 0, "of": 4}]
        problem = Problem.model_validate(last["problem"])
        assert (problem.type, problem.status) == (f"/problems/{slug}", status)


async def test_a_proof_is_kept(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """One document is proved once, for check, submission and approval, and by whichever worker."""
    proved: list[str] = []
    prove = proof.prove

    def counted(rulebook: Any, houses: Any = (), progress: Any = None) -> proof.Proof:
        proved.append(rulebook.sha256)
        return prove(rulebook, houses, progress)

    monkeypatch.setattr(proof, "prove", counted)
    made = await desk.make()
    first = await desk.check(made["id"])
    async with desk.world.another() as other:
        other.keys[SEDGE] = await desk.world.key(SEDGE, Role.MAINTAINER)
        assert await Desk(other).check(made["id"]) == first
    await desk.taken(made["id"], "submission", SEDGE)
    await desk.taken(made["id"], "approval", RAIL)
    assert proved == [made["sha256"]]
    database: Database = desk.world.services.database
    async with database.read() as session:
        assert await repository.proof(session, made["sha256"], proofs.asked()) is not None


async def test_another_limit_of_a_place_takes_a_proof_of_its_own_alone(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was found of the document, and under other sets of limits, is kept: only the new set is proved,
    once for all places that have it."""
    proved: list[str] = []
    prove, in_place = proof.prove, proof.in_place

    def counted(rulebook: Any, *args: Any) -> proof.Proof:
        proved.append("own")
        return prove(rulebook, *args)

    def counted_there(rulebook: Any, limits: Any, *args: Any) -> proof.InPlace:
        proved.append(limits[0].given)
        return in_place(rulebook, limits, *args)

    monkeypatch.setattr(proof, "prove", counted)
    monkeypatch.setattr(proof, "in_place", counted_there)
    name = await drafted(desk, with_thin_steel(below="heavy_steel_thickness"))
    for place, value in (("yards/low-quay", "8 mm"), ("yards/cinder-lane", "9 mm"), ("regions/XO", "8 mm")):
        said = {"reason": "Sign.", "limits": [{"limit": "heavy_steel_thickness", "value": value}]}
        added = await desk.world.send(f"/v1/{place}/house-rules", said, "sedge", Role.MAINTAINER)
        assert added.status_code == 201, added.text
        assert (await desk.check(name))["proved"]
    assert proved == ["own", "8 mm", "9 mm"]


async def test_limits_of_places_are_proved_too(desk: Desk) -> None:
    """What a yard's own limit makes of a version is a fault that names the yard, while it has the limit."""
    name = await drafted(desk, with_thin_steel(below="6.35 mm"))
    assert (await desk.check(name))["notes"] == []
    said = {"reason": "Sign.", "limits": [{"limit": "heavy_steel_thickness", "value": "8 mm"}]}
    added = await desk.world.send("/v1/yards/low-quay/house-rules", said, "sedge", Role.MAINTAINER)
    assert added.status_code == 201, added.text
    found = await desk.check(name)
    assert (found["sound"], found["notes"]) == (False, [])
    for fault in found["faults"]:
        assert fault["detail"].startswith("At Low Quay (heavy_steel_thickness 8 mm), a part")
        assert "gets no grade" in fault["detail"]
        assert 6.35 <= float(fault["part"]["thickness"].removesuffix(" mm")) < 8
    problem_of(await desk.step(name, "submission", SEDGE), "unsound-rulebook", 422)
    lifted = {"reason": "The sign is gone.", "limits": [{"limit": "heavy_steel_thickness", "value": None}]}
    await desk.world.send("/v1/yards/low-quay/house-rules", lifted, "sedge", Role.MAINTAINER)
    assert (await desk.check(name))["sound"]


async def test_a_limit_that_a_place_has_later_is_proved_too(desk: Desk) -> None:
    """What a yard will say while the version holds is looked at; what it has taken back by then is not."""
    name = await drafted(desk, with_thin_steel(below="6.35 mm"))
    for day, value in (("2027-12-01", "8 mm"), ("2026-06-01", "9 mm"), ("2026-12-31", None)):
        said = {"reason": "Sign.", "limits": [{"limit": "heavy_steel_thickness", "value": value}]}
        body = {**said, "from": day}
        added = await desk.world.send("/v1/yards/low-quay/house-rules", body, "sedge", Role.MAINTAINER)
        assert added.status_code == 201, added.text
    found = await desk.check(name)
    assert not found["sound"]
    for fault in found["faults"]:
        assert fault["detail"].startswith("At Low Quay (heavy_steel_thickness 8 mm), a part")
        assert 6.35 <= float(fault["part"]["thickness"].removesuffix(" mm")) < 8


async def test_what_comes_to_nothing_in_a_place_alone_is_a_note(desk: Desk) -> None:
    """A yard that calls steel heavy from the line of another rule on leaves that rule no part, as it may."""
    made = with_thin_steel(below="3 mm")
    between = {"metal": "steel", "thickness": {"at_least": "3 mm", "below": "heavy_steel_thickness"}}
    made["rules"].append({**made["rules"][3], "id": "between", "when": between})
    name = await drafted(desk, made)
    said = {"reason": "Sign.", "limits": [{"limit": "heavy_steel_thickness", "value": "3 mm"}]}
    added = await desk.world.send("/v1/yards/low-quay/house-rules", said, "sedge", Role.MAINTAINER)
    assert added.status_code == 201, added.text
    found = await desk.check(name)
    assert (found["sound"], found["faults"]) == (True, [])
    assert found["notes"]
    for note in found["notes"]:
        assert note.startswith("At Low Quay (heavy_steel_thickness 3 mm), rule between: ")
