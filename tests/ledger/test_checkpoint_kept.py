"""`gradewright ledger checkpoint FILE`: what was kept there before is held against the ledger first."""

from __future__ import annotations

import asyncio
import os
from pathlib import Path
from typing import Any

import pytest
from tests.api import World, price
from tests.ledger.tampering import tampering, url_of
from typer.testing import CliRunner

from gradewright.cli import app
from gradewright.ledger.keys import new_signer, open_checkpoint

KEY = new_signer("ledger.example.org")
ROOT = b"r" * 32


@pytest.fixture
async def operated(world: World, monkeypatch: pytest.MonkeyPatch) -> World:
    """The district with a posting in it, whose operator has set database and key."""
    await world.post(price("copper-no1", "3.60"), price("copper-no2", "3.35"))
    monkeypatch.setenv("GRADEWRIGHT_DATABASE_URL", url_of(world))
    monkeypatch.setenv("GRADEWRIGHT_CHECKPOINT_KEY", KEY.text)
    return world


async def _keep(file: Path) -> Any:
    """The command, aside: it runs an event loop of its own."""
    return await asyncio.to_thread(CliRunner().invoke, app, ["ledger", "checkpoint", str(file)])


def _size(file: Path) -> int:
    return open_checkpoint(file.read_text(encoding="utf-8"), KEY.key).size


async def test_what_goes_on_from_the_kept_one_takes_its_place(operated: World, tmp_path: Path) -> None:
    """The first is written; a longer one of the same ledger is written over it, and says so."""
    (folder := tmp_path / "kept").mkdir()
    file = folder / "kept.checkpoint"
    assert (await _keep(file)).output == f"Wrote {file}: 14 entries.\n"
    await operated.post(price("copper-no2", "3.40"))
    done = await _keep(file)
    assert done.exit_code == 0, done.output
    assert "Wrote" in done.output
    assert "15 entries" in done.output
    assert "The 14 entries of the checkpoint that was kept there are its beginning." in done.output
    assert _size(file) == 15
    assert os.listdir(folder) == ["kept.checkpoint"]  # nothing is left beside it


async def test_of_the_same_entries_what_is_kept_stays(operated: World, tmp_path: Path) -> None:
    """Nothing is written where nothing came: others may have signed the kept one too."""
    file = tmp_path / "kept.checkpoint"
    await _keep(file)
    file.write_text(file.read_text(encoding="utf-8") + "— witness.example.org AAAAAAAA\n", encoding="utf-8")
    before = file.read_bytes()
    done = await _keep(file)
    assert done.exit_code == 0, done.output
    assert "14 entries already" in done.output
    assert file.read_bytes() == before


@pytest.mark.parametrize(
    ("size", "says"),
    [
        (9, "The first 9 entries of this ledger are not those of the checkpoint that was kept there"),
        (14, "The first 14 entries of this ledger are not those of the checkpoint that was kept there"),
        (40, "This ledger has 14 entries; the checkpoint that was kept there is of 40"),
    ],
)
async def test_what_is_no_beginning_of_the_ledger_is_never_lost(
    operated: World, tmp_path: Path, size: int, says: str
) -> None:
    """A kept one that this ledger does not go on from stays byte for byte, and it is said what to do."""
    file = tmp_path / "kept.checkpoint"
    file.write_text(KEY.sign(size, ROOT), encoding="utf-8")
    done = await _keep(file)
    assert done.exit_code == 2
    assert says in done.output
    assert "was left as it is" in done.output
    assert f"gradewright verify --checkpoint {file}" in done.output
    assert "another FILE" in done.output
    assert file.read_text(encoding="utf-8") == KEY.sign(size, ROOT)


async def test_a_leaf_that_was_rewritten_since_is_told(operated: World, tmp_path: Path) -> None:
    """An entry that was changed together with its hash is seen by the kept checkpoint alone: it stays."""
    file = tmp_path / "kept.checkpoint"
    await _keep(file)
    before = file.read_bytes()
    with tampering(operated) as edit:
        edit("UPDATE leaves SET hash = :hash WHERE number = 12", hash=ROOT)
    await operated.post(price("copper-no2", "3.40"))
    done = await _keep(file)
    assert done.exit_code == 2
    assert "The first 14 entries of this ledger are not those" in done.output
    assert file.read_bytes() == before


async def test_another_key_does_not_write_over_it(
    operated: World, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With another key it is another ledger to who holds the file: it stays, and the key is named."""
    file = tmp_path / "kept.checkpoint"
    await _keep(file)
    before = file.read_bytes()
    monkeypatch.setenv("GRADEWRIGHT_CHECKPOINT_KEY", new_signer("ledger.example.org").text)
    done = await _keep(file)
    assert done.exit_code == 2
    assert "is not signed by ledger.example.org with the key" in done.output
    assert "GRADEWRIGHT_CHECKPOINT_KEY" in done.output
    assert file.read_bytes() == before


async def test_no_key_is_made_where_one_has_signed_before(
    operated: World, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beside a kept checkpoint no new key is made: it could not be the one that signed it."""
    file, key = tmp_path / "kept.checkpoint", tmp_path / "key"
    await _keep(file)
    monkeypatch.delenv("GRADEWRIGHT_CHECKPOINT_KEY")
    monkeypatch.setenv("GRADEWRIGHT_CHECKPOINT_KEY_FILE", str(key))
    done = await _keep(file)
    assert done.exit_code == 2
    assert "no key" in done.output
    assert not key.exists()


@pytest.mark.parametrize("content", [b"a shopping list\n", b"\xff\xfe", b""])
async def test_what_is_no_checkpoint_is_left_alone(operated: World, tmp_path: Path, content: bytes) -> None:
    """A file of another kind is not written over."""
    file = tmp_path / "notes.txt"
    file.write_bytes(content)
    done = await _keep(file)
    assert done.exit_code == 2
    assert "another FILE" in done.output
    assert file.read_bytes() == content


async def test_a_place_that_is_none_is_told_plainly(operated: World, tmp_path: Path) -> None:
    """A missing folder and a folder in the file's place are said in a sentence, without numbers."""
    for file, says in (
        (tmp_path / "no" / "x", f"there is no folder {tmp_path / 'no'}"),
        (tmp_path, "a folder"),
    ):
        done = await _keep(file)
        assert done.exit_code == 2
        assert says in done.output
        assert "Errno" not in done.output


async def test_behind_a_link_what_it_leads_to_is_renewed(operated: World, tmp_path: Path) -> None:
    """A link to where checkpoints are kept stays a link; the mode of the file stays too."""
    file, link = tmp_path / "kept.checkpoint", tmp_path / "link"
    await _keep(file)
    file.chmod(0o604)
    link.symlink_to(file)
    await operated.post(price("copper-no2", "3.40"))
    assert (await _keep(link)).exit_code == 0
    assert link.is_symlink()
    assert _size(file) == 15
    assert os.stat(file).st_mode & 0o777 == 0o604
