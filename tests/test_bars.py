"""The bar of long work on a terminal: of the operator's commands, and of the client's."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import pytest
from typer.testing import CliRunner

from gradewright.rulebooks.cli import app
from gradewright.terminal import progress
from gradewright_sdk.cli._bar import bar
from tests.samples import document as small

Bar = Callable[[str], AbstractContextManager[Callable[[str, int, int], None]]]
TURNING = re.compile(r"([-\\|/])\S* 2027\.1: rules")


@pytest.fixture(autouse=True)
def on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("TTY_COMPATIBLE", "1")
    monkeypatch.setenv("COLUMNS", "80")


@pytest.mark.parametrize("shown", [progress, bar])
def test_it_tells_what_is_looked_at_and_how_far(shown: Bar, capsys: pytest.CaptureFixture[str]) -> None:
    """What the work is on, and how many are done of how many; where that is not known, no number."""
    with shown("2027.1") as tell:
        tell("rules", 168, 240)
    told = capsys.readouterr().err
    assert "2027.1: rules" in told
    assert "168/240" in told
    with shown("2027.1") as tell:
        tell("another proof", 0, 0)
    told = capsys.readouterr().err
    assert "2027.1: another proof" in told
    assert "0/0" not in told


@pytest.mark.parametrize("shown", [progress, bar])
def test_it_moves_while_one_thing_takes_long(shown: Bar, capsys: pytest.CaptureFixture[str]) -> None:
    """Where nothing new is told for a while, something still turns: what stands still looks broken."""
    seen: set[str] = set()
    with shown("2027.1") as tell:
        tell("rules", 168, 240)
        for _ in range(200):
            seen |= set(TURNING.findall(capsys.readouterr().err))
            if len(seen) > 2:
                break
            time.sleep(0.05)
    assert len(seen) > 2


@pytest.mark.parametrize("shown", [progress, bar])
def test_it_is_for_people_alone(
    shown: Bar, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Into a file nothing is written."""
    monkeypatch.delenv("FORCE_COLOR")
    monkeypatch.delenv("TTY_COMPATIBLE")
    with shown("2027.1") as tell:
        tell("rules", 168, 240)
    assert capsys.readouterr().err == ""


def test_a_file_that_is_looked_through_is_named(tmp_path: Path) -> None:
    """While a rulebook is checked the bar says which; what comes out is a line of its own, and clean."""
    file = tmp_path / "next.yaml"
    document = small()
    document["grades"]["copper-no2"]["by_name_only"] = True
    file.write_text(json.dumps(document, default=str))  # which is YAML too
    done = CliRunner().invoke(app, ["check", str(file)])
    assert "next.yaml" in done.stderr
    assert done.stdout.startswith("next.yaml: no fault found")
    assert "\x1b" not in done.stdout
