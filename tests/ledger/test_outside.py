"""The client verifies the real service: what it is told holds, and what was rewritten does not."""

from __future__ import annotations

from collections.abc import AsyncIterator
from typing import Any, cast

import httpx
import pytest
from tests.api import World, price
from tests.ledger.tampering import tampering, url_of

from gradewright.asgi import create_app
from gradewright.ledger.keys import new_signer
from gradewright.ledger.sealing import seal_batch
from gradewright.settings import Settings
from gradewright_sdk import AsyncClient
from gradewright_sdk.proofs import (
    ProofError,
    Tree,
    check_consistency,
    check_inclusion,
    open_checkpoint,
    read_key,
)

SIGNER = new_signer("ledger.example.org")


@pytest.fixture
async def outside(world: World) -> AsyncIterator[AsyncClient]:
    """A client of a worker that has a key."""
    settings = Settings(database_url=url_of(world), ledger_poll_seconds=0, checkpoint_key=SIGNER.text)
    app = create_app(settings, clock=world.clock)
    transport = httpx.ASGITransport(app=cast("Any", app))
    async with AsyncClient("http://test", http_client=httpx.AsyncClient(transport=transport)) as client:
        yield client
    await app.state["services"].database.close()


async def test_everything_that_is_told_leads_to_the_signed_root(world: World, outside: AsyncClient) -> None:
    """Entries hashed again, proofs of each, and that from an earlier checkpoint hold for signed roots."""
    key = read_key(await outside.ledger.key())
    before = open_checkpoint(await outside.ledger.checkpoint(), key)
    await world.post(
        *[price("copper-no1", "3.5", from_weight=f"{more} lb") for more in range(1, 6)], note="ä\n"
    )
    newest = open_checkpoint(await outside.ledger.checkpoint(), key)
    proof = await outside.ledger.consistency(before.size)
    check_consistency(before.size, newest.size, proof.path, before.root, newest.root)
    tree = Tree()
    async for entry in outside.ledger.entries(page_size=4):
        tree.add(entry.leaf)
        told = await outside.ledger.inclusion(entry.number, size=newest.size)
        check_inclusion(entry.leaf, entry.number, newest.size, told.path, newest.root)
    assert (tree.size, tree.root) == (newest.size, newest.root)


async def test_a_kept_valuation_is_tied_to_the_ledger(world: World, outside: AsyncClient) -> None:
    """Size and root of a kept valuation are proved to be the beginning of the newest checkpoint."""
    await world.post(price("copper-no2", "3.35"))
    parts = [{"name": "wire", "weight": "3 lb", "grade": "copper-no2"}]
    kept = await outside.valuations.value(parts, region="XO-KEL", keep=True)
    passing = await outside.valuations.value(parts, region="XO-KEL")
    await world.post(price("copper-no2", "3.95"))
    assert passing.ledger is None
    assert kept.ledger is not None
    assert kept.id is not None
    assert (await outside.valuations.get(kept.id)).ledger == kept.ledger
    newest = open_checkpoint(await outside.ledger.checkpoint(), read_key(SIGNER.key.text))
    size, root = kept.ledger
    proof = await outside.ledger.consistency(size)
    check_consistency(size, newest.size, proof.path, root, newest.root)


async def test_a_ledger_rewritten_with_all_its_hashes_is_found_out(
    world: World, outside: AsyncClient
) -> None:
    """Who has database and key can sign another history, but not prove an old checkpoint its beginning."""
    await world.post(price("copper-no2", "3.35"))
    key = read_key(SIGNER.key.text)
    before = open_checkpoint(await outside.ledger.checkpoint(), key)
    with tampering(world) as edit:
        edit("UPDATE entries SET price = '9.99'")
        edit("DELETE FROM leaves")
        edit("DELETE FROM nodes")
        edit("DELETE FROM trees WHERE revision > 0")
    async with world.services.database.write() as session:
        await seal_batch(session, 0, await world.revision())
    await world.post(price("copper-no2", "3.40"))
    settings = Settings(database_url=url_of(world), ledger_poll_seconds=0, checkpoint_key=SIGNER.text)
    transport = httpx.ASGITransport(app=cast("Any", create_app(settings, clock=world.clock)))
    async with AsyncClient("http://test", http_client=httpx.AsyncClient(transport=transport)) as client:
        newest = open_checkpoint(await client.ledger.checkpoint(), key)
        proof = await client.ledger.consistency(before.size)
    with pytest.raises(ProofError, match="not those of the earlier checkpoint"):
        check_consistency(before.size, newest.size, proof.path, before.root, newest.root)
