"""Whether a published version can be relied on, told to everybody."""

from __future__ import annotations

import asyncio
import json
import re
import threading
from typing import Any

import pytest

from gradewright.accounts.service import Role
from gradewright.drafts.published import MOST_WAITING
from gradewright.rulebooks import proof
from tests.api import World, problem_of
from tests.drafts.desk import Desk
from tests.drafts.test_proving import with_thin_steel

JSONL = {"Accept": "application/jsonl"}


async def revision(world: World) -> int:
    """The newest revision of the ledger."""
    return (await world.services.database.newest()).number


async def told(world: World, version: str) -> Any:
    """The proof of a version, as anybody is told it."""
    answer = await world.client.get(f"/v1/rulebooks/{version}/proof")
    assert answer.status_code == 200, answer.text
    return answer.json()


async def test_anybody_is_told_that_a_version_is_proved(world: World) -> None:
    """Without a key; with its digest, and the pairs of rules whose order decides."""
    made = with_thin_steel(below="heavy_steel_thickness")
    made["rules"][2]["when"]["thickness"] = {"at_least": "3 mm"}
    made["examples"] = [example for example in made["examples"] if example["part"].get("metal") != "steel"]
    await world.publish(made)
    found = await told(world, "2027.1")
    assert (found["version"], found["sound"], found["complete"], found["findings"]) == (
        "2027.1",
        True,
        True,
        [],
    )
    assert found["sha256"] == (await world.get("/v1/rulebooks/2027.1"))["sha256"]
    assert [(pair["first"], pair["second"]) for pair in found["pairs"]] == [("thick-steel", "thin-steel")]


async def test_what_does_not_hold_of_a_version_is_told(world: World) -> None:
    """Loaded by the operator without a check: each hole with its place and the smallest part."""
    await world.publish(with_thin_steel(below="3 mm"))
    found = await told(world, "2027.1")
    assert not found["sound"]
    assert found["findings"]
    for one in found["findings"]:
        assert (one["pointer"], one["place"], one["within"], one["fault"]) == ("#/rules", "rules", None, True)
        assert one["kind"] == "no-answer"
        # A version never changes: how to mend it is told to those who write the next.
        assert re.fullmatch(
            "a part of which this is known gets no grade: [^.]+([.][0-9]+ mm[^.]*)?[.]", one["detail"]
        )
        assert 3 <= float(one["part"]["thickness"].removesuffix(" mm")) < 6.35
        assert one["alike"]
        assert one["ranges"]["thickness"].startswith("at least 3 mm")


async def test_a_version_that_is_over_is_not_held_against_later_limits(desk: Desk) -> None:
    """A yard's limit tells against a version, under the yard's name, where it begins before another version
    takes over; later it is none of its own."""
    world = desk.world
    said = {"reason": "Sign.", "limits": [{"limit": "heavy_steel_thickness", "value": "8 mm"}]}
    added = await world.send(
        "/v1/yards/low-quay/house-rules", said | {"from": "2027-03-01"}, "sedge", Role.MAINTAINER
    )
    assert added.status_code == 201, added.text
    await world.publish(with_thin_steel(below="6.35 mm"))
    found = await told(world, "2027.1")
    assert [(one["within"], one["fault"]) for one in found["findings"]] == [("at Low Quay", True)]
    detail = found["findings"][0]["detail"]
    assert detail.startswith("At Low Quay (heavy_steel_thickness 8 mm), a part")
    assert detail.endswith(" The version's own limits do not do this.")
    assert "dd a rule" not in detail
    assert (found["revision"], found["places"], found["limits"]) == (await revision(world), 1, 1)
    follows = with_thin_steel(below="heavy_steel_thickness")
    await world.publish(follows | {"version": "2027.2", "effective_from": "2027-02-01"})
    before, after = await told(world, "2027.1"), await told(world, "2027.2")
    assert (before["sound"], before["places"], before["limits"]) == (True, 0, 0)
    assert (after["sound"], after["places"], after["limits"]) == (True, 1, 1)


async def test_it_tells_how_far_it_is_and_is_kept(world: World) -> None:
    """As JSON Lines, the last with the same as one answer; once it is kept that line alone."""
    answers = [await world.client.get("/v1/rulebooks/2020.1/proof", headers=JSONL) for _ in "12"]
    first, second = ([json.loads(line) for line in answer.text.splitlines()] for answer in answers)
    *steps, last = first
    assert {"rules", "conditions", "pairs of rules"} <= {step["what"] for step in steps}
    assert second == [last]
    assert last == {"proof": await told(world, "2020.1")}


@pytest.mark.parametrize("headers", [{}, JSONL])
async def test_of_no_version_there_is_no_proof(world: World, headers: dict[str, str]) -> None:
    """An unknown name is refused as anywhere, with those that there are."""
    answer = await world.client.get("/v1/rulebooks/2031.1/proof", headers=headers)
    problem = problem_of(answer, "no-rulebook-in-force", 404)
    assert "2020.1" in str(problem.detail)


async def test_few_wait_for_proofs(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """One is worked out at a time; whoever asks for more than may wait is asked to come again."""
    go_on, at_once, most_at_once = threading.Event(), 0, 0
    prove = proof.prove

    def slowly(rulebook: Any, houses: Any = (), progress: Any = None) -> proof.Proof:
        nonlocal at_once, most_at_once
        at_once += 1
        most_at_once = max(most_at_once, at_once)
        assert go_on.wait(60)
        found = prove(rulebook, houses, progress)
        at_once -= 1
        return found

    monkeypatch.setattr(proof, "prove", slowly)
    names = [f"2027.{number}" for number in range(1, MOST_WAITING + 2)]
    for month, name in enumerate(names, start=1):
        made = with_thin_steel(below="heavy_steel_thickness")
        await world.publish(made | {"version": name, "effective_from": f"2027-{month:02}-01"})
    asked = [asyncio.create_task(told(world, name)) for name in names[:MOST_WAITING]]
    await asyncio.sleep(0.2)
    try:
        refused = await world.client.get(f"/v1/rulebooks/{names[-1]}/proof")
        problem_of(refused, "unavailable", 503)
    finally:
        go_on.set()
    assert all(found["sound"] for found in await asyncio.gather(*asked))
    assert most_at_once == 1
    assert (await told(world, names[-1]))["sound"]
