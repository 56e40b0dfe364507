"""The operator's commands: what they do, what they refuse, and that a refusal is one line."""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from tests.served import serving
from tests.served import start as run


def refusal(done: subprocess.CompletedProcess[str]) -> str:
    """The one line on standard error of a command that was refused with exit code 2."""
    assert done.returncode == 2, done.stdout + done.stderr
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    (line,) = done.stderr.splitlines()
    assert line.startswith("gradewright: ")
    return line


@pytest.mark.parametrize("words", [[], ["keys"]], ids=["gradewright", "keys"])
def test_help_tells_every_command(words: list[str]) -> None:
    """`--help` answers without a database and names what there is."""
    done = run("sqlite:////nowhere/at/all.sqlite", *words, "--help")
    assert done.returncode == 0
    wanted = ["create", "list", "revoke"] if words else ["serve", "migrate", "openapi", "keys"]
    assert all(command in done.stdout for command in wanted)


def test_migrate_makes_the_tables_and_can_be_repeated(
    database_url: str, make_url: Callable[..., str]
) -> None:
    """`migrate` brings an empty database to the newest schema, and leaves one alone that is there already."""
    kind = database_url.partition(":")[0].partition("+")[0]
    url = make_url(kind, migrated=False)
    first, second = run(url, "migrate"), run(url, "migrate")
    assert first.returncode == second.returncode == 0, first.stderr + second.stderr
    assert first.stdout == second.stdout
    assert run(url, "keys", "list").returncode == 0


@pytest.mark.parametrize(
    "words", [["migrate"], ["serve"], ["keys", "list"]], ids=["migrate", "serve", "keys"]
)
@pytest.mark.parametrize(
    ("url", "says"),
    [
        ("postgresql://nobody@127.0.0.1:1/none", "Connection refused"),
        ("mysql://h/d", "no support for databases of the kind 'mysql'"),
        ("sqlite://", "must be a file"),
    ],
    ids=["down", "mysql", "memory"],
)
def test_a_database_that_cannot_be_used_is_told_in_one_line(words: list[str], url: str, says: str) -> None:
    """A server that is down, another kind of database, memory: one line, no traceback."""
    assert says in refusal(run(url, *words))


def test_a_bad_setting_is_told_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """A variable that cannot be read is named."""
    monkeypatch.setenv("GRADEWRIGHT_POOL_SIZE", "many")
    assert "GRADEWRIGHT_POOL_SIZE is 'many'" in refusal(run("sqlite:///x.sqlite", "migrate"))


def test_keys_are_made_listed_and_revoked(database_url: str) -> None:
    """A key is printed once, alone; the list shows its id, never the key; revoking shows there."""
    made = run(database_url, "keys", "create", "--handle", "wren", "--role", "member", "--label", "phone")
    assert made.returncode == 0, made.stderr
    assert re.fullmatch(r"gw_[A-Za-z0-9_-]{32}\n", made.stdout)
    listed = run(database_url, "keys", "list").stdout
    assert "wren" in listed
    assert "phone" in listed
    assert made.stdout.strip() not in listed
    (key_id,) = re.findall(r"[0-9a-f]{12}", listed)
    assert run(database_url, "keys", "revoke", key_id).returncode == 0
    assert len(re.findall(r"\d{4}-\d\d-\d\d \d\d:\d\d", run(database_url, "keys", "list").stdout)) == 2


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["keys", "create", "--handle", "Wren", "--role", "member"], "cannot be a handle"),
        (["keys", "create", "--handle", "wren", "--role", "admin"], "write member or maintainer"),
        (["keys", "revoke", "nonsense"], "not the id of a key"),
        (["keys", "revoke", "0123456789ab"], "There is no key"),
        (["serve", "--workers", "2"], "SQLite is served by one worker"),
    ],
)
def test_what_cannot_be_done_is_told_in_one_line(
    make_url: Callable[..., str], words: list[str], says: str
) -> None:
    """A refusal says what was wrong and what to write."""
    assert says in refusal(run(make_url("sqlite"), *words))


def test_a_key_that_cannot_be_used_is_told_at_the_start(
    make_url: Callable[..., str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """And not to the first who asks for a checkpoint: nothing is served."""
    monkeypatch.setenv("GRADEWRIGHT_CHECKPOINT_KEY", "abc")
    told = refusal(run(make_url("sqlite"), "serve"))
    assert "The key in GRADEWRIGHT_CHECKPOINT_KEY cannot be used: " in told


def test_the_description_is_written(make_url: Callable[..., str], tmp_path: Path) -> None:
    """`openapi FILE` writes the document, `openapi -` prints the same; no database is needed."""
    target = tmp_path / "folder" / "api.json"
    written = run(f"sqlite:///{tmp_path}/none.sqlite", "openapi", str(target))
    printed = run(f"sqlite:///{tmp_path}/none.sqlite", "openapi", "-")
    assert written.returncode == 0, written.stderr
    assert target.read_text(encoding="utf-8") == printed.stdout
    assert json.loads(printed.stdout)["openapi"] == "3.1.0"
    assert not (tmp_path / "none.sqlite").exists()


def test_where_the_description_is_written_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a path it goes into the folder openapi, told in full; where there is none, one is asked for."""
    monkeypatch.chdir(tmp_path)
    url = f"sqlite:///{tmp_path}/none.sqlite"
    assert "There is no folder openapi in" in refusal(run(url, "openapi"))
    assert list(tmp_path.iterdir()) == []
    (tmp_path / "openapi").mkdir()
    assert run(url, "openapi").stdout == f"Wrote {tmp_path}/openapi/gradewright.json.\n"
    assert (tmp_path / "openapi" / "gradewright.json").exists()


def test_keys_are_listed_for_scripts(make_url: Callable[..., str]) -> None:
    """`keys list --json` tells each key's id, owner, role, label and instants, and no key."""
    url = make_url("sqlite")
    assert json.loads(run(url, "keys", "list", "--json").stdout) == {"keys": []}
    made = run(url, "keys", "create", "--handle", "wren", "--role", "member", "--label", "phone").stdout
    listed = run(url, "keys", "list", "--json").stdout
    assert made.strip() not in listed
    (key,) = json.loads(listed)["keys"]
    assert (key["handle"], key["role"], key["label"], key["revoked_at"]) == ("wren", "member", "phone", None)
    assert re.fullmatch(r"[0-9a-f]{12}", key["id"])
    assert datetime.fromisoformat(key["created_at"]).tzinfo is not None


@pytest.mark.parametrize("words", [[], ["serve"], ["demo"], ["rulebooks"], ["keys", "list"]], ids=" ".join)
def test_help_is_plain(words: list[str]) -> None:
    """A flag is told as a flag, without a value, and only the whole program offers to complete commands."""
    told = run("sqlite:////nowhere/at/all.sqlite", *words, "--help").stdout
    assert "--help" in told
    assert "<bool>" not in told
    assert ("completion" in told) == (not words)


def test_a_start_without_a_rulebook_is_told(make_url: Callable[..., str]) -> None:
    """`serve` says in its log that nothing can be graded yet, and what to run."""
    with serving(make_url("sqlite")) as (_, printed):
        pass
    assert printed[0].count("gradewright rulebooks load") == 1


def test_serve_answers_and_stops(database_url: str) -> None:
    """`serve` answers over HTTP within a few seconds, and stops when it is told to."""
    with serving(database_url) as (port, printed):
        busy = refusal(run(database_url, "serve", "--port", str(port)))
        assert f"Cannot listen on 127.0.0.1:{port}" in busy
    assert "Traceback" not in printed[0]
