"""Every write of the service is sealed: its entries are leaves, in order, in their canonical form."""

from __future__ import annotations

import random
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import select
from tests.api import World, posting, price

from gradewright.core.merkle import leaf_hash, root_of
from gradewright.db.entries import Form, canonical
from gradewright.db.leaves import BLOCK, LeafRow, NodeRow, TreeRow, add_leaves, seal
from gradewright.db.ledger import next_revision
from gradewright.db.session import Database
from gradewright.ledger.entries import entries_between, spans
from gradewright.regions.models import RegionRow

values = st.one_of(st.none(), st.text(), st.integers(-(2**53) + 1, 2**53 - 1))


async def _all(world: World) -> list[dict[str, Any]]:
    async with world.services.database.read() as session:
        return await entries_between(session, 0, await world.revision())


async def _column(world: World, column: Any, order: Any) -> list[Any]:
    async with world.services.database.read() as session:
        return list(await session.scalars(select(column).order_by(order)))


@given(st.dictionaries(st.text(st.characters(max_codepoint=0x7F)), values))
def test_the_canonical_form_is_that_of_rfc_8785(entry: dict[str, Any]) -> None:
    """An independent implementation of RFC 8785 writes the same bytes, whatever the values say."""
    assert canonical(entry) == rfc8785.dumps(entry)


def test_every_sign_is_written_as_rfc_8785_wants_it() -> None:
    """Each sign of Unicode that can stand in a text is escaped, or not, as RFC 8785 says."""
    signs = "".join(chr(code) for code in range(0x110000) if not 0xD800 <= code < 0xE000)
    assert canonical({"note": signs}) == rfc8785.dumps({"note": signs})


async def test_each_write_is_sealed(world: World) -> None:
    """After rulebook, regions, yards and postings every entry's hash is a leaf, and every revision a tree."""
    await world.post(price("copper-no2", "3.350", from_weight="100 lb"), price("steel-heavy", "0.11"))
    await world.post(price("copper-no1", "3.60"), note="Schild am Tor: „Kupfer“\n2. Tag", evidence="sign")
    entries = await _all(world)
    hashes = [leaf_hash(rfc8785.dumps(entry)) for entry in entries]
    assert await _column(world, LeafRow.hash, LeafRow.number) == hashes
    assert [entry["number"] for entry in entries] == list(range(len(entries)))
    ends = {entry["revision"]: entry["number"] + 1 for entry in entries}
    sizes = await _column(world, TreeRow.size, TreeRow.revision)
    assert sizes == [0, *(ends[revision] for revision in range(1, await world.revision() + 1))]


async def test_an_entry_tells_all_of_itself(world: World) -> None:
    """A price tells its posting's members and its own as they were posted, and its place in the tree."""
    made = await world.post(
        price("copper-no2", "3.350", from_weight="100 lb"),
        {"label": "#1 Cu", "price": "3.60", "currency": "USD", "per": "lb"},
        note="Spring sale",
    )
    first, second = (await _all(world))[-2:]
    assert first == {
        "number": second["number"] - 1,
        "revision": made["revision"],
        "line": 1,
        "kind": "price",
        "recorded_at": "2026-05-04T09:12:00.000000Z",
        "posting": made["id"],
        "yard": "low-quay",
        "author": "wren",
        "observed_on": "2026-05-04",
        "evidence": "written-list",
        "note": "Spring sale",
        "grade": "copper-no2",
        "label": None,
        "price": "3.350",
        "currency": "USD",
        "per": "lb",
        "from_weight": "100 lb",
    }
    assert (second["line"], second["grade"], second["label"]) == (2, "copper-no1", "#1 Cu")


async def test_a_yard_comes_before_what_is_said_of_it(world: World) -> None:
    """In a yard's revision the yard is line 1, its labels follow by their folded text, then its refusals."""
    entries = await _all(world)
    told = [entry for entry in entries if entry.get("yard", entry.get("slug")) == "low-quay"]
    assert [(entry["line"], entry["kind"]) for entry in told] == [(1, "yard"), (2, "label"), (3, "label")]
    assert told[0]["cash_increment"] is None
    assert [(entry["folded"], entry["label"], entry["from"]) for entry in told[1:]] == [
        ("#1 cu", "#1 Cu", "2026-01-01"),
        ("#2 cu", "#2 Cu", "2026-01-01"),
    ]
    refused = [entry for entry in entries if entry["kind"] == "refusal"]
    assert [(entry["line"], entry["yard"], entry["grade"]) for entry in refused] == [
        (2, "tern-row", "steel-heavy")
    ]


def test_a_member_that_came_later_leaves_old_entries_as_they_were() -> None:
    """Where a column was added since, an entry without it has the bytes that it had before."""
    before = Form("region", RegionRow, ("code", "name"))
    since = Form("region", RegionRow, ("code", "name", "author"), added=frozenset({"author"}))
    assert canonical(since.entry(["XO", "Orvale", None])) == canonical(before.entry(["XO", "Orvale"]))
    assert since.entry(["XO", "Orvale", "wren"])["author"] == "wren"


async def test_a_refused_write_leaves_no_leaf(world: World) -> None:
    """What is rolled back leaves neither a revision nor a leaf nor a tree."""
    before = await _column(world, LeafRow.hash, LeafRow.number)
    assert (await world.send("/v1/postings", posting(price("copper-no9", "1")), "wren")).status_code == 422
    async with world.services.database.write() as session:
        await seal(session, await next_revision(session, world.clock()), [{"kind": "region"}])
        await session.rollback()
    assert await _column(world, LeafRow.hash, LeafRow.number) == before
    await world.post(price("copper-no2", "3.35"))
    assert len(await _column(world, LeafRow.hash, LeafRow.number)) == len(before) + 1


async def test_a_gap_is_refused(world: World) -> None:
    """Where a revision was taken and not sealed, the next write is refused and says what to run."""
    world.tampered = True
    async with world.services.database.write() as session:
        await next_revision(session, world.clock())
    response = await world.send("/v1/postings", posting(price("copper-no2", "3.35")), "wren")
    assert response.status_code == 503
    assert "gradewright migrate" in response.json()["detail"]


@pytest.mark.parametrize("together", [1, 300, 70_000])
async def test_nodes_stand_for_complete_subtrees(database: Database, together: int) -> None:
    """However many leaves come at once, each complete subtree of 256 and 65,536 has its root kept."""
    total = 70_000 if together > 1 else 600
    if not database.embedded:
        total = min(total, 1_500)
    made = random.Random(together).randbytes(32 * total)
    hashes = [made[start : start + 32] for start in range(0, len(made), 32)]
    for first in range(0, total, together):
        async with database.write() as session:
            await add_leaves(session, first, hashes[first : first + together])
    async with database.read() as session:
        nodes = await session.execute(select(NodeRow.level, NodeRow.number, NodeRow.hash))
        kept = {(level, number): found for level, number, found in nodes}
    wanted = {
        (level, number): root_of(hashes[number * BLOCK**level :][: BLOCK**level])
        for level in (1, 2)
        for number in range(total // BLOCK**level)
    }
    assert kept == wanted


async def test_spans_cover_every_revision_in_short_steps(world: World) -> None:
    """The stops on the way lead to the end, and between two of them lie no more entries than asked for."""
    for number in range(6):
        await world.post(*[price(grade, f"{number + 1}.5") for grade in ("copper-no1", "copper-no2")])
    newest = await world.revision()
    async with world.services.database.read() as session:
        stops = [stop async for stop in spans(session, 0, newest, 5)]
        counts = [
            len(await entries_between(session, after, upto))
            for after, upto in zip([0, *stops], stops, strict=False)
        ]
    assert stops[-1] == newest
    assert sum(counts) == len(await _all(world))
    assert max(counts) <= 5
