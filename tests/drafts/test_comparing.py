"""What a draft would change, before anyone relies on it."""

from __future__ import annotations

from typing import Any

from tests.api import only, problem_of, small_rulebook, where
from tests.drafts.desk import LIMIT, NEXT, SEDGE, Desk


async def compared(desk: Desk, name: str, **query: Any) -> Any:
    """What a draft changes, as it is answered."""
    found = await desk.send("GET", f"/{name}/comparison", SEDGE, **query)
    assert found.status_code == 200, found.text
    return found.json()


async def test_a_draft_is_compared_with_what_it_builds_on(desk: Desk) -> None:
    """A limit that moves is told with the grades that change and a part that does; as the draft goes on, so
    does the comparison."""
    made = await desk.make()
    before = await compared(desk, made["id"])
    assert (before["before"], before["after"], before["moves"]) == ("2020.1", "2027.1", [])
    await desk.patch(made["id"], LIMIT, made["etag"])
    after = await compared(desk, made["id"])
    assert after["kind"] == "changes"
    [move] = after["moves"]
    assert (move["before"]["grade"], move["after"]["grade"]) == ("light-iron", "steel-heavy")
    assert 6.345 <= float(move["ways"][0]["part"]["thickness"].removesuffix(" mm")) < 6.35
    assert after["limits"] == [{"name": "heavy_steel_thickness", "before": "6.35 mm", "after": "6.345 mm"}]


async def test_a_draft_is_compared_with_any_version(desk: Desk) -> None:
    """A version that is named is taken in place of the one that it builds on; one that is unknown is told."""
    await desk.world.publish(small_rulebook(version="2026.9", effective_from="2026-09-01", title="Another"))
    made = await desk.make()
    assert (await compared(desk, made["id"], **{"with": "2026.9"}))["before"] == "2026.9"
    unknown = await desk.send("GET", f"/{made['id']}/comparison", SEDGE, **{"with": "2026.8"})
    assert only(problem_of(unknown, "no-rulebook-in-force", 422)).parameter == "with"


async def test_what_cannot_be_compared_is_told(desk: Desk) -> None:
    """A document that builds on nothing known, and one that is no rulebook, are refused with the reason."""
    made = await desk.make(body={"document": {**small_rulebook(), **NEXT}})
    nothing = await desk.send("GET", f"/{made['id']}/comparison", SEDGE)
    assert only(problem_of(nothing, "invalid-request")).parameter == "with"
    await desk.put(made["id"], {"version": "2027.1"}, made["etag"], base="2020.1")
    problem = problem_of(await desk.send("GET", f"/{made['id']}/comparison", SEDGE), "unsound-rulebook", 422)
    assert {"#/effective_from", "#/rules"} <= set(where(problem))
    problem_of(await desk.send("GET", f"/{made['id']}/comparison", None), "unauthorized")
