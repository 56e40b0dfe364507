"""gradewright-client verify: what it finds good, what it refuses, and what it keeps."""

from __future__ import annotations

import base64
import json
from pathlib import Path
from typing import Any

import pytest
import rfc8785
from tests.sdk.conftest import Run

from gradewright.core.merkle import consistency_proof, leaf_hash, root_of
from gradewright.ledger.keys import Signer, new_signer
from gradewright_sdk.testing import FakeGradewright
from gradewright_sdk.testing._fake import Recorded

SIGNER = new_signer("ledger.example.org")


class Log:
    """A ledger behind the stand-in, which can be rewritten."""

    def __init__(self, fake: FakeGradewright, signer: Signer = SIGNER) -> None:
        self.entries: list[bytes] = []
        self.signer = signer
        text = {"Content-Type": "text/plain; charset=utf-8"}
        fake.answer("GET", "/v1/ledger/checkpoint", lambda _: self.note().encode(), headers=text)
        fake.answer("GET", "/v1/ledger/key", lambda _: f"{self.signer.key.text}\n".encode(), headers=text)
        fake.answer("GET", "/v1/ledger/proofs/consistency", self.consistency)
        headers = {"Content-Type": "application/x-ndjson", "Ledger-Upto": "3", "Ledger-Newest": "3"}
        fake.answer("GET", "/v1/ledger/entries", self.page, headers=headers)

    def write(self, count: int, says: str = "as it was") -> None:
        """Adds entries."""
        for number in range(len(self.entries), len(self.entries) + count):
            self.entries.append(rfc8785.dumps({"number": number, "kind": "region", "says": says}))

    @property
    def leaves(self) -> list[bytes]:
        """The hashes of its entries."""
        return [leaf_hash(entry) for entry in self.entries]

    def note(self) -> str:
        """Its newest checkpoint."""
        return self.signer.sign(len(self.entries), root_of(self.leaves))

    def consistency(self, request: Recorded) -> dict[str, Any]:
        """The proof that is asked for."""
        first, size = int(request.query["from"]), int(request.query["to"])
        path = consistency_proof(first, self.leaves[:size]) if first else []
        return {
            "from": first,
            "to": size,
            "from_root": _text(root_of(self.leaves[:first])),
            "root": _text(root_of(self.leaves[:size])),
            "path": [_text(each) for each in path],
        }

    def page(self, _: Recorded) -> bytes:
        """All entries, on one page."""
        return b"".join(entry + b"\n" for entry in self.entries)


def _text(hashed: bytes) -> str:
    return base64.b64encode(hashed).decode()


@pytest.fixture
def log(fake: FakeGradewright) -> Log:
    made = Log(fake)
    made.write(7)
    return made


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "checkpoint"


def test_the_first_time_it_is_kept_with_its_key(run: Run, log: Log, file: Path) -> None:
    """Without a checkpoint kept before, the newest and its key are kept, and the key is to be compared."""
    done = run("verify", str(file))
    assert done.exit_code == 0, done.output
    assert file.read_text(encoding="utf-8") == log.note()
    assert file.with_name("checkpoint.key").read_text() == SIGNER.key.text + "\n"
    assert "compare it with what the operator tells" in done.output
    assert "7 entries, signed by ledger.example.org" in done.output


def test_a_ledger_that_has_grown_is_proved_and_kept(run: Run, log: Log, file: Path) -> None:
    """The checkpoint kept before is proved to be the beginning of the newest, which takes its place."""
    run("verify", str(file))
    log.write(5)
    done = run("verify", str(file), "--entries")
    assert done.exit_code == 0, done.output
    assert "The 7 entries of the checkpoint kept before are its beginning" in done.output
    assert "Every entry was hashed again" in done.output
    assert file.read_text(encoding="utf-8") == log.note()
    told = json.loads(run("verify", str(file), "--json").stdout)
    assert (told["size"], told["before"], told["entries_hashed"]) == (12, 12, None)
    assert told["root"] == root_of(log.leaves).hex()


def _rewrite(log: Log) -> None:
    log.entries[3] = log.entries[3].replace(b"as it was", b"as it suits")


def _shorten(log: Log) -> None:
    del log.entries[5:]


def _replace_key(log: Log) -> None:
    log.signer = new_signer("ledger.example.org")


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (_rewrite, "not those of the earlier checkpoint"),
        (_shorten, "some were lost"),
        (_replace_key, "not signed by"),
    ],
)
def test_a_ledger_that_is_another_is_refused(run: Run, log: Log, file: Path, change: Any, says: str) -> None:
    """A history rewritten, shortened or signed by another key ends with 1, and the old checkpoint stays."""
    run("verify", str(file))
    before = file.read_text(encoding="utf-8")
    change(log)
    if change is _rewrite:
        log.write(2)
    done = run("verify", str(file))
    assert done.exit_code == 1
    assert says in done.output
    assert file.read_text(encoding="utf-8") == before


def test_a_rewritten_ledger_of_the_same_size_is_refused(run: Run, log: Log, file: Path) -> None:
    """Where nothing was added, the roots themselves are compared."""
    run("verify", str(file))
    _rewrite(log)
    done = run("verify", str(file))
    assert done.exit_code == 1
    assert "do not go together" in done.output


def test_entries_that_are_not_those_of_the_checkpoint_are_refused(
    run: Run, log: Log, file: Path, fake: FakeGradewright
) -> None:
    """A service that tells other entries than it has signed is found out by --entries."""
    told = [entry.replace(b"as it was", b"as it suits") for entry in log.entries]
    headers = {"Content-Type": "application/x-ndjson", "Ledger-Upto": "3", "Ledger-Newest": "3"}
    fake.answer("GET", "/v1/ledger/entries", b"\n".join(told) + b"\n", headers=headers)
    assert run("verify", str(file)).exit_code == 0
    done = run("verify", str(file), "--entries")
    assert done.exit_code == 1
    assert "not those of its checkpoint" in done.output


def test_entries_that_are_missing_are_refused(run: Run, log: Log, file: Path, fake: FakeGradewright) -> None:
    """A service that tells fewer entries than it has signed is found out."""
    headers = {"Content-Type": "application/x-ndjson", "Ledger-Upto": "3", "Ledger-Newest": "3"}
    fake.answer("GET", "/v1/ledger/entries", b"\n".join(log.entries[:5]) + b"\n", headers=headers)
    done = run("verify", str(file), "--entries", "--json")
    assert done.exit_code == 1
    assert "told 5 entries" in json.loads(done.stderr)["detail"]
    assert not file.exists()


def test_the_key_can_be_given(run: Run, log: Log, file: Path) -> None:
    """With --key the key is not asked for, and one that is not the ledger's is refused."""
    assert run("verify", str(file), "--key", SIGNER.key.text).exit_code == 0
    assert not file.with_name("checkpoint.key").exists()
    other = new_signer("ledger.example.org").key.text
    assert run("verify", str(file), "--key", other).exit_code == 1
    assert "name+id+key" in run("verify", str(file), "--key", "nonsense").output


def test_a_file_that_is_no_checkpoint_is_refused(run: Run, log: Log, file: Path) -> None:
    """A file with something else in it is left alone."""
    file.write_text("a shopping list", encoding="utf-8")
    done = run("verify", str(file))
    assert done.exit_code == 1
    assert "not a checkpoint" in done.output
    assert file.read_text(encoding="utf-8") == "a shopping list"


@pytest.mark.parametrize("name", ["checkpoint", "checkpoint.key"])
def test_a_file_that_is_not_text_is_named(run: Run, log: Log, file: Path, name: str) -> None:
    """What is no UTF-8 is no checkpoint or key: said of the file by its name, and it is left alone."""
    run("verify", str(file))
    other = file.with_name(name)
    other.write_bytes("\ufeff7\n".encode("utf-16-le"))
    done = run("verify", str(file))
    assert done.exit_code == 2
    assert f"{other}: line 1: this is not UTF-8; save the file as UTF-8 text" in done.stderr
    assert "Nothing was verified." in done.stderr
    assert other.read_bytes().startswith(b"\xff\xfe")
    told = json.loads(run("verify", str(file), "--json").stderr)
    assert (told["type"], told["errors"][0]["file"]) == ("faulty-file", str(other))


def test_a_folder_that_is_not_there_is_named(run: Run, log: Log, tmp_path: Path) -> None:
    """Where what was found cannot be kept, the file that was meant is named, and what keeps it from it."""
    file = tmp_path / "missing" / "checkpoint"
    done = run("verify", str(file), "--key", SIGNER.key.text)
    assert done.exit_code == 2
    assert done.stderr.strip() == f"Cannot write {file}: there is no folder {file.parent}."
    done = run("verify", str(file), "--json")
    assert json.loads(done.stderr)["type"] == "unwritable-file"
    assert f"Cannot write {file}.key: there is no folder" in json.loads(done.stderr)["detail"]
