"""The operator's commands: what they do, what they refuse, and that a refusal is one line."""

from __future__ import annotations

import json
import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest

ROOT = Path(__file__).resolve().parents[1]
Run = Callable[..., subprocess.CompletedProcess[str]]


def environment(url: str) -> dict[str, str]:
    """The environment of a command over one database."""
    paths = f"{ROOT / 'service'}:{ROOT / 'sdk' / 'src'}"
    return {**os.environ, "GRADEWRIGHT_DATABASE_URL": url, "PYTHONPATH": paths, "COLUMNS": "200"}


def run(url: str, *words: str) -> subprocess.CompletedProcess[str]:
    """Runs a command to its end."""
    command = [sys.executable, "-m", "gradewright.cli", *words]
    return subprocess.run(
        command, capture_output=True, text=True, env=environment(url), check=False, timeout=60
    )


def refusal(done: subprocess.CompletedProcess[str]) -> str:
    """The one line on standard error of a command that was refused with exit code 2."""
    assert done.returncode == 2, done.stdout + done.stderr
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    (line,) = done.stderr.splitlines()
    assert line.startswith("gradewright: ")
    return line


def free_port() -> int:
    """A port that nobody listens on just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.mark.parametrize("words", [[], ["keys"]], ids=["gradewright", "keys"])
def test_help_tells_every_command(words: list[str]) -> None:
    """`--help` answers without a database and names what there is."""
    done = run("sqlite:////nowhere/at/all.sqlite", *words, "--help")
    assert done.returncode == 0
    wanted = ["create", "list", "revoke"] if words else ["serve", "migrate", "openapi", "keys"]
    assert all(command in done.stdout for command in wanted)


@pytest.mark.parametrize("words", [["serve"], ["keys", "list"]], ids=["serve", "keys"])
def test_an_empty_database_is_to_be_migrated(tmp_path: Path, words: list[str]) -> None:
    """Before the first migration a command that needs tables says what to run."""
    line = refusal(run(f"sqlite:///{tmp_path}/new.sqlite", *words))
    assert "Run: gradewright migrate" in line


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
    port = free_port()
    command = [sys.executable, "-m", "gradewright.cli", "serve", "--port", str(port)]
    server = subprocess.Popen(
        command, env=environment(database_url), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    try:
        deadline = time.monotonic() + 20
        while True:
            try:
                response = httpx.get(f"http://127.0.0.1:{port}/healthz")
                break
            except httpx.TransportError:
                assert time.monotonic() < deadline, "did not start"
                assert server.poll() is None, server.stdout.read() if server.stdout else ""
                time.sleep(0.05)
        assert response.json() == {"status": "ok"}
        busy = refusal(run(database_url, "serve", "--port", str(port)))
        assert f"Cannot listen on 127.0.0.1:{port}" in busy
    finally:
        server.terminate()
        output, _ = server.communicate(timeout=20)
    assert "Traceback" not in output
