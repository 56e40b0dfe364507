"""The operator's commands: what they do, what they refuse, and that a refusal is one line."""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.served import run, serving


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


def test_the_description_is_written(make_url: Callable[..., str], tmp_path: Path) -> None:
    """`openapi FILE` writes the document, `openapi -` prints the same; no database is needed."""
    target = tmp_path / "folder" / "api.json"
    written = run(f"sqlite:///{tmp_path}/none.sqlite", "openapi", str(target))
    printed = run(f"sqlite:///{tmp_path}/none.sqlite", "openapi", "-")
    assert written.returncode == 0, written.stderr
    assert target.read_text(encoding="utf-8") == printed.stdout
    assert json.loads(printed.stdout)["openapi"] == "3.1.0"
    assert not (tmp_path / "none.sqlite").exists()


def test_serve_answers_and_stops(database_url: str) -> None:
    """`serve` answers over HTTP within a few seconds, and stops when it is told to."""
    with serving(database_url) as (port, printed):
        busy = refusal(run(database_url, "serve", "--port", str(port)))
        assert f"Cannot listen on 127.0.0.1:{port}" in busy
    assert "Traceback" not in printed[0]
