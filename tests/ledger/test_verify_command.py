"""`gradewright verify` and `gradewright ledger`, as an operator runs them."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from typing import Any

import pytest
from tests.api import World, price
from tests.ledger.tampering import tampering, url_of
from typer.testing import CliRunner

from gradewright.cli import app
from gradewright.core.checkpoint import read_key
from gradewright.ledger.keys import new_signer, open_checkpoint, read_signer

KEY = new_signer("ledger.example.org")


@pytest.fixture
async def operated(world: World, monkeypatch: pytest.MonkeyPatch) -> World:
    """The district with a posting in it, whose operator has set database and key."""
    await world.post(price("copper-no1", "3.60"), price("copper-no2", "3.35"))
    monkeypatch.setenv("GRADEWRIGHT_DATABASE_URL", url_of(world))
    monkeypatch.setenv("GRADEWRIGHT_CHECKPOINT_KEY", KEY.text)
    return world


async def _run(*arguments: str) -> Any:
    """A command, aside: it runs an event loop of its own."""
    return await asyncio.to_thread(CliRunner().invoke, app, list(arguments))


async def test_a_sound_history_is_told_so(operated: World, tmp_path: Path) -> None:
    """Against a checkpoint kept earlier the command says that all agrees, and exits with 0."""
    made = await _run("ledger", "checkpoint")
    file = tmp_path / "checkpoint"
    file.write_text(made.output, encoding="utf-8")
    await operated.post(price("copper-no2", "3.40"))
    done = await _run("verify", "--checkpoint", str(file))
    assert done.exit_code == 0, done.output
    assert "Sound: 15 entries" in done.output
    assert "1 root told earlier" in done.output
    told = json.loads((await _run("verify", "--json", "--checkpoint", str(file))).stdout)
    assert (told["sound"], told["entries"], told["held_against"], told["differences"]) == (True, 15, 1, [])


async def test_a_difference_is_named_and_ends_the_command_with_1(operated: World) -> None:
    """A price edited in the database is told by entry, revision and line; as JSON with the row as it is."""
    with tampering(operated) as edit:
        edit("UPDATE entries SET price = '9.99' WHERE line = 2")
    newest = await operated.revision()
    done = await _run("verify")
    assert done.exit_code == 1
    assert "NOT sound: 1 difference in 14 entries" in done.output
    assert f"entry 13 (revision {newest}, line 2, price): changed" in done.output
    told = json.loads((await _run("verify", "--json")).stdout)
    (found,) = told["differences"]
    assert (found["of"], found["what"], found["entry"], found["line"]) == ("entry", "changed", 13, 2)
    assert found["row"]["price"] == "9.99"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda note: note.replace("ledger.example.org\n", "ledger.example.org\n1", 1), "does not hold"),
        (lambda note: note.replace("— ledger", "— another"), "not signed by"),
        (lambda note: "nonsense", "not a signed note"),
        (lambda note: note.replace("—", "\x97"), "this is not UTF-8. Save it as UTF-8 text"),
    ],
)
async def test_a_checkpoint_that_was_tampered_with_is_no_measure(
    operated: World, tmp_path: Path, change: Any, says: str
) -> None:
    """A checkpoint whose signature does not hold stops the command: it says nothing about the ledger."""
    file = tmp_path / "checkpoint"
    changed = change((await _run("ledger", "checkpoint")).output)
    file.write_text(changed, encoding="latin-1" if "\x97" in changed else "utf-8")
    done = await _run("verify", "--checkpoint", str(file))
    assert done.exit_code == 2
    assert says in done.output


async def test_a_checkpoint_is_checked_by_the_key_that_is_named(operated: World, tmp_path: Path) -> None:
    """With --key another key's checkpoints are checked, and those of this service are not taken."""
    other, file = new_signer("elsewhere.example.org"), tmp_path / "checkpoint"
    file.write_text((await _run("ledger", "checkpoint")).output, encoding="utf-8")
    done = await _run("verify", "--checkpoint", str(file), "--key", other.key.text)
    assert done.exit_code == 2
    assert "not signed by elsewhere.example.org" in done.output


async def test_the_key_and_its_checkpoint_belong_together(operated: World) -> None:
    """The printed key opens the printed checkpoint; a new key is a private and a public one."""
    key = read_key((await _run("ledger", "key")).output)
    assert open_checkpoint((await _run("ledger", "checkpoint")).output, key).size == 14
    made = await _run("ledger", "make-key", "--name", "new.example.org")
    signer = read_signer(made.stdout.strip().splitlines()[-1])
    assert signer.key.name == "new.example.org"
    assert signer.key.text in made.output
