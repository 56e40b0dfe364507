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
from gradewright.rulebooks.proofs import Busy
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


async def test_it_tells_what_it_looks_at_under_limits_of_places(world: World) -> None:
    """The steps under a place's own limits are told one by one, with which set of limits it is."""
    await house_rule(world, "8 mm")
    made = with_thin_steel(below="heavy_steel_thickness")
    await world.publish(made | {"version": "2027.1", "effective_from": "2027-02-01"})
    answer = await world.client.get("/v1/rulebooks/2027.1/proof", headers=JSONL)
    *steps, _ = (json.loads(line) for line in answer.text.splitlines())
    there = [step for step in steps if step["what"] == "limits of places, 1 of 1: rules"]
    assert [step["done"] for step in there] == list(range(len(made["rules"])))


async def test_whoever_waits_for_another_proof_is_told_so(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is told first is that another is worked out before, and nothing of it where none is."""
    first, second = await published(world, 2)
    slow = Slow(monkeypatch)
    alone = asyncio.create_task(world.client.get(f"/v1/rulebooks/{first}/proof", headers=JSONL))
    await waiting(world, 1)
    after = asyncio.create_task(world.client.get(f"/v1/rulebooks/{second}/proof", headers=JSONL))
    await waiting(world, 2)
    slow.go_on(2)
    lines = [[json.loads(line) for line in (await each).text.splitlines()] for each in (alone, after)]
    told = {"what": "another proof, which comes first", "done": 0, "of": 0}
    assert told not in lines[0]
    assert lines[1][0] == told
    assert lines[1].count(told) == 1


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


class Slow:
    """The solver, which does nothing before it is told how much; what it was asked to prove, in turn."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self._steps, self.begun = threading.Semaphore(0), list[str]()
        for name in ("prove", "in_place"):
            monkeypatch.setattr(proof, name, self._slowly(name, getattr(proof, name)))

    def _slowly(self, name: str, found: Any) -> Any:
        def slowly(rulebook: Any, *rest: Any) -> Any:
            self.begun.append(f"{rulebook.version} {name}")
            assert self._steps.acquire(timeout=60)
            return found(rulebook, *rest)

        return slowly

    def go_on(self, steps: int) -> None:
        """Lets it do so many."""
        self._steps.release(steps)


async def waiting(world: World, count: int) -> None:
    """Ends when so many proofs are worked out, or wait for that."""
    proofs = world.services.proofs._proofs._proofs
    for _ in range(3000):
        if len(proofs._running) == count:
            return
        await asyncio.sleep(0.01)
    raise AssertionError(f"{len(proofs._running)} are waiting")


async def house_rule(world: World, value: str) -> None:
    """A yard says from when on what steel is heavy there."""
    said = {"reason": "Sign.", "limits": [{"limit": "heavy_steel_thickness", "value": value}]}
    there = "/v1/yards/low-quay/house-rules"
    added = await world.send(there, said | {"from": "2027-01-01"}, "sedge", Role.MAINTAINER)
    assert added.status_code == 201, added.text


async def published(world: World, count: int) -> list[str]:
    """So many versions, each in force for a month."""
    names = [f"2027.{number}" for number in range(1, count + 1)]
    for month, name in enumerate(names, start=1):
        made = with_thin_steel(below="heavy_steel_thickness")
        await world.publish(made | {"version": name, "effective_from": f"2027-{month:02}-01"})
    return names


async def test_a_maintainer_waits_for_one_at_most(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """A check, under the limits of places too, is worked out before all that others wait for."""
    await house_rule(desk.world, "7 mm")
    names = await published(desk.world, MOST_WAITING)
    made = await desk.make(version="2028.1", effective_from="2028-01-01", base=names[-1])
    slow = Slow(monkeypatch)
    asked = []
    for number, name in enumerate(names, start=1):
        asked.append(asyncio.create_task(told(desk.world, name)))
        await waiting(desk.world, number)
    check = asyncio.create_task(desk.check(made["id"]))
    await waiting(desk.world, MOST_WAITING + 1)
    slow.go_on(2 * MOST_WAITING + 2)
    assert (await check)["proved"]
    await asyncio.gather(*asked)
    own = [begun for begun in slow.begun if begun.startswith("2028.1")]
    assert own == ["2028.1 prove", "2028.1 in_place"]
    assert slow.begun[1:3] == own


async def test_what_a_maintainer_asks_for_comes_first(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where others wait for the same already, it is worked out once, and before what they ask besides."""
    names = await published(desk.world, 3)
    proofs = desk.world.services.proofs._proofs
    slow = Slow(monkeypatch)
    asked = []
    for number, name in enumerate(names, start=1):
        asked.append(asyncio.create_task(told(desk.world, name)))
        await waiting(desk.world, number)
    rulebook = (await desk.world.services.rulebooks.get(names[2])).rulebook
    heard: list[str] = []
    mine = asyncio.create_task(
        proofs.of(rulebook, desk.world.clock(), lambda what, done, of: heard.append(what))
    )
    (work,) = (work for work, _ in proofs._proofs._running.values() if work.rulebook is rulebook)
    for _ in range(3000):
        if work.first:
            break
        await asyncio.sleep(0.01)
    slow.go_on(3)
    await asyncio.gather(mine, *asked)
    assert heard
    assert slow.begun == [f"{names[number]} prove" for number in (0, 2, 1)]


async def test_whoever_waits_is_not_turned_away_any_more(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a version under several sets of limits one waits once: nobody comes in between two of them."""
    await house_rule(world, "7 mm")
    names = await published(world, MOST_WAITING + 1)
    slow = Slow(monkeypatch)
    asked = [asyncio.create_task(told(world, name)) for name in names[:MOST_WAITING]]
    await waiting(world, MOST_WAITING)
    is_turned_away = asyncio.Event()

    async def insist() -> None:
        while True:
            try:
                await world.services.proofs.of(names[-1])
            except Busy:
                is_turned_away.set()
                await asyncio.sleep(0)
            else:
                return

    insisting = asyncio.create_task(insist())
    await asyncio.wait_for(is_turned_away.wait(), 30)  # while the others wait there is no room
    slow.go_on(2 * MOST_WAITING + 2)
    assert [found["limits"] for found in await asyncio.gather(*asked)] == [1] * MOST_WAITING
    await insisting
