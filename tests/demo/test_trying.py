"""What the demo says of where its service is, beside the commands to try."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import pytest
from rich.console import Console

from gradewright.demo.files import Files
from gradewright.demo.serving import USUAL_PORT
from gradewright.demo.trying import Again, running, stopped

README = Path(__file__).resolve().parents[2] / "README.md"


def told(tmp_path: Path, port: int, wanted: int | None, *, stay: bool) -> str:
    """What is said of a demo on a port, of which one was asked for or none."""
    url = f"http://127.0.0.1:{port}"
    again = Again(
        "sqlite:///x", Files.new(tmp_path / "x"), url, port, "wren", "gw_x", date(2026, 5, 4), wanted
    )
    written = io.StringIO()
    console = Console(file=written, width=100)
    running(console, again) if stay else stopped(console, again, repeat=True)
    return " ".join(written.getvalue().split())


@pytest.mark.parametrize("stay", [True, False])
def test_another_port_than_the_usual_one_is_spoken_of(tmp_path: Path, stay: bool) -> None:
    """Where the usual port was in use: that it was, and what to write where README has that; also where
    another was asked for, without the reason.
    """
    usual = f"http://127.0.0.1:{USUAL_PORT}"
    write = f"Where README has {usual}, write http://127.0.0.1:8123"
    assert usual in README.read_text()
    taken = told(tmp_path, 8123, None, stay=stay)
    assert f"Port {USUAL_PORT} is in use, so this is on port 8123. {write}" in taken
    asked = told(tmp_path, 8123, 8123, stay=stay)
    assert write in asked
    assert "is in use" not in asked


@pytest.mark.parametrize("wanted", [None, USUAL_PORT])
def test_of_the_usual_port_nothing_is_said(tmp_path: Path, wanted: int | None) -> None:
    """Where the service is where everybody looks, README does as it stands."""
    assert "README" not in told(tmp_path, USUAL_PORT, wanted, stay=True)
