"""Recoveries are kept and repeated like valuations: byte for byte, whatever has come since."""

from __future__ import annotations

import hashlib
from typing import Any

from gradewright.accounts.service import Role
from tests.api import World, price, problem_of
from tests.recoveries.asking import BOARDS, BRASS, CABLE, PATH, SAMPLE, STRIP, open_shop

ASKED: list[dict[str, Any]] = [
    {"cable": {**CABLE, "strip": STRIP}, "region": "XO-KEL"},
    {"sample": {**SAMPLE, "strip": STRIP}, "yard": "tern-row"},
    {"displacement": BRASS},
    {"assay": {**BOARDS, "metals": [{"metal": "gold", "benchmark": "gold"}]}},
]


async def test_kept_read_and_replayed_it_is_the_same(world_without_rulebook: World) -> None:
    """Kept (once under a key), read, replayed and asked again with its pins, an answer has the same bytes
    after prices and benchmarks have changed.
    """
    world = await open_shop(world_without_rulebook)
    kept = []
    for asked in ASKED:
        response = await world.send(PATH, {**asked, "keep": True})
        assert response.status_code == 201, response.text
        name = response.headers["recovery-id"]
        assert name.startswith("r-")
        assert response.headers["location"] == f"{PATH}/{name}"
        kept.append((asked, name, response))
    await world.post(
        price("copper-bright", "5.00", "kg"), price("wire-60", "4.00", "kg"), who="wren", on="2027-05-04"
    )
    benchmark = await world.client.post(
        "/v1/benchmarks/gold/values",
        content=b"date,value\n2027-05-04,2100\n",
        headers={**await world.key("sedge", Role.MAINTAINER), "Content-Type": "text/csv"},
    )
    assert benchmark.status_code == 201, benchmark.text
    world.later(days=3)
    for asked, name, first in kept:
        read = await world.client.get(f"{PATH}/{name}")
        replayed = await world.client.post(f"{PATH}/{name}/replay")
        assert (read.status_code, replayed.status_code) == (200, 200), replayed.text
        assert read.content == replayed.content == first.content
        pins, on = first.json()["pins"], first.json()["on"]
        pinned = {"on": on, "known_at": pins["revision"], "rulebook": pins["rulebook"]}
        assert (await world.send(PATH, {**asked, **pinned})).content == first.content
        without = first.content.replace(f',"sha256":"{pins["sha256"]}"'.encode(), b"")
        assert hashlib.sha256(without).hexdigest() == pins["sha256"]


async def test_what_was_not_kept_is_not_there(shop: World) -> None:
    """An id that no answer has is told as such, and so is that of another kind of answer."""
    for name in ("r-00", "v-00"):
        problem_of(await shop.client.get(f"{PATH}/{name}"), "not-found", 404)
        problem_of(await shop.client.post(f"{PATH}/{name}/replay"), "not-found", 404)
