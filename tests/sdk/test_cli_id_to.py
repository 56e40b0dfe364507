"""--id-to: the id of what was kept in a file, alike for every command that keeps."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk.cli._ticket import TEMPLATE
from gradewright_sdk.testing import FakeGradewright, samples

REGION = ("--region", "XO-KEL")
COMMANDS = [
    ("valuations", "v-7", ("value", "-", *REGION), "name,weight,grade\na,1 kg,tin\n"),
    ("hauls", "h-1", ("haul", "--bin", "tin 4 lb", *REGION), None),
    ("settlements", "s-1", ("settle", "-", "--yard", "low-quay", "--bin", "tin 4 lb"), TEMPLATE),
    ("teardowns", "t-1", ("teardown", "--kind", "treadmill", "--weight", "70 kg", *REGION), None),
    ("recoveries", "r-1", ("recovery", "sample", "--weight", "512 g", "--copper", "297 g"), None),
]


@pytest.mark.parametrize(("room", "kept", "words", "given"), COMMANDS)
def test_the_id_is_written_to_a_file(
    fake: FakeGradewright, run: Run, tmp_path: Path, room: str, kept: str, words: tuple[str, ...], given: str
) -> None:
    """It asks to keep, standard output stays the answer's bytes, and the file has the id on a line."""
    one = {"recoveries": "recovery"}.get(room, room[:-1])
    answer = json.dumps(getattr(samples, one)()).encode()
    fake.answer("POST", f"/v1/{room}", answer, status=201, headers={f"{one.capitalize()}-Id": kept})
    file = tmp_path / "id"
    ended = run(*words, "--json", "--id-to", str(file), input=given)
    assert ended.exit_code == 0, ended.output
    assert ended.stdout_bytes == answer + b"\n"
    assert file.read_text() == f"{kept}\n"
    assert fake.requests[-1].json["keep"] is True


def test_an_id_that_cannot_be_written_is_told(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """What is kept is not lost with the file: the failure names it."""
    fake.answer("POST", "/v1/hauls", samples.haul(), status=201, headers={"Haul-Id": "h-1"})
    ended = run("haul", "--bin", "tin 4 lb", *REGION, "--id-to", str(tmp_path / "none" / "id"))
    assert ended.exit_code == 2
    assert "Kept as h-1, but cannot write" in " ".join(ended.stderr.split())
