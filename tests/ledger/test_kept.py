"""A kept valuation tells the ledger that it was worked out from, and bears witness to it."""

from __future__ import annotations

import base64
from typing import Any

import httpx
from tests.api import Body, World, price, problem_of
from tests.ledger.tampering import tampering

from gradewright.ledger.verify import verify
from gradewright.valuations.witnesses import witnesses

PARTS: list[Body] = [{"name": "wire", "weight": "3 lb", "grade": "copper-no2"}]


async def _value(world: World, *, keep: bool, **more: Any) -> httpx.Response:
    body = {"region": "XO-KEL", "on": "2026-05-04", "parts": PARTS, "keep": keep, **more}
    response = await world.send("/v1/valuations", body)
    assert response.status_code == (201 if keep else 200), response.text
    return response


def _tree(response: httpx.Response) -> tuple[int, bytes]:
    headers = response.headers
    return int(headers["ledger-size"]), base64.b64decode(headers["ledger-root"])


async def test_a_kept_valuation_tells_the_tree_it_was_worked_out_from(world: World) -> None:
    """Size and root are those of the ledger at the revision of its pins, then and ever after."""
    await world.post(price("copper-no2", "3.35"))
    before = await world.services.ledger.tree_at(await world.revision())
    kept = await _value(world, keep=True)
    await world.post(price("copper-no2", "3.95"))
    path = kept.headers["location"]
    later = [await world.client.get(path), await world.client.post(f"{path}/replay")]
    assert {_tree(response) for response in (kept, *later)} == {(before.size, before.root)}
    assert {response.content for response in later} == {kept.content}
    at = await _value(world, keep=True, known_at=before.revision)
    assert _tree(at) == (before.size, before.root)


async def test_the_answer_is_the_same_kept_or_not(world: World) -> None:
    """The tree stands beside the answer: what is not kept has the same bytes and waits for no root."""
    await world.post(price("copper-no2", "3.35"))
    kept, passing = await _value(world, keep=True), await _value(world, keep=False)
    assert kept.content == passing.content
    assert "ledger-root" not in passing.headers


async def test_one_kept_before_there_was_a_tree_is_repeated(world: World) -> None:
    """A valuation without a tree is read and repeated as it was, and nothing is told of a tree."""
    await world.post(price("copper-no2", "3.35"))
    kept = await _value(world, keep=True)
    with tampering(world) as edit:
        edit("UPDATE valuations SET tree_size = NULL, tree_root = NULL")
    path = kept.headers["location"]
    for response in (await world.client.get(path), await world.client.post(f"{path}/replay")):
        assert (response.status_code, response.content) == (200, kept.content)
        assert "ledger-size" not in response.headers
    assert await witnesses(world.services.database) == []


async def test_a_ledger_that_was_rewritten_since_is_told(world: World) -> None:
    """Where the ledger at its revision has another root, the repetition says so; verification names it."""
    await world.post(price("copper-no2", "3.35"))
    kept = await _value(world, keep=True)
    database = world.services.database
    assert (await verify(database, witnesses=await witnesses(database))).sound
    with tampering(world) as edit:
        edit("UPDATE valuations SET tree_root = :root", root=b"x" * 32)
    response = await world.client.post(f"{kept.headers['location']}/replay")
    assert "gradewright verify" in problem_of(response, "internal-error", 500).detail
    report = await verify(database, witnesses=await witnesses(database))
    assert [(found.of, found.detail.split(":")[0]) for found in report.differences] == [
        ("valuation", kept.headers["valuation-id"])
    ]
