"""Checkpoints and proofs over HTTP, checked with the core's RFC 6962 and nothing of the service."""

from __future__ import annotations

import base64
import random
import stat
from pathlib import Path
from typing import Any

import pytest
from tests.api import World, price, problem_of
from tests.ledger.tampering import url_of

from gradewright.asgi import create_app
from gradewright.core.checkpoint import Checkpoint, CheckpointError, read_key
from gradewright.core.merkle import EMPTY_ROOT, is_consistent, is_included, leaf_hash, root_of
from gradewright.db.entries import canonical
from gradewright.db.leaves import add_leaves
from gradewright.db.session import Database
from gradewright.ledger.entries import entries_between
from gradewright.ledger.keys import NoCheckpointKey, find_signer, key_file, new_signer, open_checkpoint
from gradewright.ledger.tree import Tree
from gradewright.settings import Settings

KEY = new_signer("ledger.example.org")


@pytest.fixture
def keyed(world: World) -> World:
    """The district, whose service has a key to sign by."""
    world.services.ledger._settings = Settings(checkpoint_key=KEY.text)
    return world


async def _checkpoint(world: World) -> Checkpoint:
    note = await world.client.get("/v1/ledger/checkpoint")
    key = await world.client.get("/v1/ledger/key", headers={"Accept": "text/plain"})
    assert (note.status_code, key.status_code) == (200, 200), note.text
    assert note.headers["content-type"] == "text/plain; charset=utf-8"
    assert key.text == KEY.key.text + "\n"
    return open_checkpoint(note.text, read_key(key.text))


def _raw(hashes: list[str]) -> list[bytes]:
    return [base64.b64decode(each) for each in hashes]


async def _leaves(world: World) -> list[bytes]:
    async with world.services.database.read() as session:
        entries = await entries_between(session, 0, await world.revision())
    return [leaf_hash(canonical(entry)) for entry in entries]


async def test_a_checkpoint_stands_for_every_entry(keyed: World) -> None:
    """The signed root is the root over all entries as they are told, before and after a write."""
    world = keyed
    for number in (1, 2):
        await world.post(price("copper-no1", f"{number}.5"), price("copper-no2", "3"))
        leaves = await _leaves(world)
        assert await _checkpoint(world) == Checkpoint("ledger.example.org", len(leaves), root_of(leaves))


async def test_every_entry_is_proved(keyed: World) -> None:
    """Each entry's proof leads to the root of the checkpoint, at the newest size and at an earlier one."""
    world = keyed
    before = await _checkpoint(world)
    await world.post(*[price("copper-no1", "3.5", from_weight=f"{more} lb") for more in range(1, 8)])
    for made in (before, await _checkpoint(world)):
        for number, leaf in enumerate((await _leaves(world))[: made.size]):
            told = await world.get("/v1/ledger/proofs/inclusion", entry=number, size=made.size)
            assert _raw([told["leaf"], told["root"]]) == [leaf, made.root]
            assert is_included(leaf, number, made.size, _raw(told["path"]), made.root)
    newest = await world.get("/v1/ledger/proofs/inclusion", entry=0)
    assert newest["size"] == before.size + 7


async def test_an_earlier_checkpoint_is_the_beginning_of_a_later_one(world: World) -> None:
    """The proof between every two sizes holds for their roots; from nothing, it is empty."""
    await world.post(*[price("copper-no1", "3.5", from_weight=f"{more} lb") for more in range(1, 8)])
    leaves = await _leaves(world)
    for first in range(len(leaves) + 1):
        told = await world.get("/v1/ledger/proofs/consistency", from_=first)
        roots = _raw([told["from_root"], told["root"]])
        assert roots == [root_of(leaves[:first]), root_of(leaves)]
        assert (told["from"], told["to"]) == (first, len(leaves))
        assert is_consistent(first, len(leaves), _raw(told["path"]), *roots)


@pytest.mark.parametrize(
    ("path", "parameter"),
    [
        ("inclusion?entry=4&size=4", "entry"),
        ("inclusion?entry=0&size=999", "size"),
        ("inclusion?entry=-1", "entry"),
        ("inclusion?size=3", "entry"),
        ("inclusion?entry=9007199254740992", "entry"),
        ("consistency?from=999", "from"),
        ("consistency?from=3&to=2", "from"),
        ("consistency?from=3&to=999", "to"),
        ("consistency?from=3.0", "from"),
    ],
)
async def test_what_cannot_be_proved_is_told(untouched: World, path: str, parameter: str) -> None:
    """A number that is not in the tree, or not a number, is refused with the parameter that says it."""
    problem = problem_of(await untouched.client.get(f"/v1/ledger/proofs/{path}"), "invalid-request")
    assert [error.parameter for error in problem.errors] == [parameter]


async def test_another_kind_of_answer_is_not_acceptable(untouched: World) -> None:
    """Who accepts neither text nor JSON gets no checkpoint."""
    response = await untouched.client.get("/v1/ledger/checkpoint", headers={"Accept": "image/png"})
    assert "text/plain" in problem_of(response, "not-acceptable").detail


async def test_roots_and_proofs_of_a_large_tree(database: Database) -> None:
    """Across the bounds of kept nodes, roots and proofs are those over all the leaves."""
    total = 66_500 if database.embedded else 2_000
    made = random.Random(6).randbytes(32 * total)
    leaves = [made[start : start + 32] for start in range(0, len(made), 32)]
    async with database.write() as session:
        await add_leaves(session, 0, leaves)
    tree, chance = Tree(), random.Random(7)
    sizes = [0, 1, 255, 256, 257, 511, 512, 1000, total, *[chance.randrange(1, total) for _ in range(6)]]
    if total > 65_536:
        sizes += [65_535, 65_536, 65_537]
    async with database.read() as session:
        for size in sizes:
            root = root_of(leaves[:size])
            assert await tree.root(session, size) == root
            if not size:
                continue
            for number in {0, size - 1, size // 2, chance.randrange(size)}:
                proof = await tree.inclusion(session, number, size)
                assert is_included(leaves[number], number, size, proof, root)
                path = await tree.consistency(session, number + 1, size)
                first = await tree.root(session, number + 1)
                assert is_consistent(number + 1, size, path, first, root)
    assert await tree.root(session, 0) == EMPTY_ROOT


def test_a_key_is_made_once_and_kept_from_others(tmp_path: Path) -> None:
    """Beside a SQLite file a key is made at first need, for its owner's eyes only, and found again later."""
    folder = tmp_path / "database"
    folder.mkdir()
    settings = Settings(database_url=f"sqlite:///{folder}/ledger.sqlite", ledger_name="ledger.example.org")
    assert find_signer(settings, make=False) is None
    made = find_signer(settings)
    file = key_file(settings)
    assert made is not None
    assert file == folder / "ledger.sqlite.checkpoint-key"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert made.key.name == "ledger.example.org"
    assert find_signer(settings) == made
    assert [path.name for path in folder.iterdir()] == [file.name]


def test_a_key_without_a_name_is_called_after_itself(tmp_path: Path) -> None:
    """Where the operator has given no name, each ledger still has one of its own."""
    names = {new_signer().key.name for _ in range(3)}
    assert len(names) == 3
    assert all(name.startswith("gradewright-ledger-") for name in names)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "begins with PRIVATE"),
        (KEY.text[:-8], "private key|another kind"),
        (KEY.text.replace(KEY.key.id.hex(), "00000000"), "damaged"),
    ],
    ids=["nothing", "cut short", "of another name"],
)
def test_a_damaged_key_is_never_replaced(tmp_path: Path, text: str, says: str) -> None:
    """A key file that cannot be read is told and stays as it is: a new key would be another ledger's."""
    file = tmp_path / "key"
    file.write_text(text)
    with pytest.raises(NoCheckpointKey, match=says):
        find_signer(Settings(checkpoint_key_file=str(file)))
    assert file.read_text() == text


async def test_without_a_key_the_service_says_what_to_do(world: World) -> None:
    """On a server without a key there are proofs and no checkpoints, and the fault names the settings."""
    settings = Settings(database_url="postgresql://nobody@127.0.0.1/none")
    world.services.ledger._settings = settings
    problem = problem_of(await world.client.get("/v1/ledger/checkpoint"), "unavailable")
    assert "GRADEWRIGHT_CHECKPOINT_KEY" in problem.detail
    assert (await world.get("/v1/ledger/proofs/inclusion", entry=0))["entry"] == 0


def test_workers_share_the_key_of_the_setting(world: World) -> None:
    """The key given in the environment goes before the file, and every worker signs by it."""
    workers = [create_app(Settings(database_url=url_of(world), checkpoint_key=KEY.text)) for _ in range(2)]
    signers = [worker.state["services"].ledger._settings for worker in workers]
    found: list[Any] = [find_signer(settings) for settings in signers]
    assert [signer.key for signer in found] == [KEY.key, KEY.key]
    with pytest.raises(CheckpointError):
        open_checkpoint(new_signer("ledger.example.org").sign(1, EMPTY_ROOT), KEY.key)
