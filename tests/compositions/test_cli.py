"""The operator's commands on what devices are made of."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from gradewright.compositions.cli import app
from gradewright.db.session import Database
from gradewright.rulebooks.service import RulebookService
from tests.api import small_rulebook
from tests.compositions.test_publications import FILE, written


async def publish(url: str) -> None:
    """The small rulebook, in force since 2020."""
    database = Database(url)
    try:
        await RulebookService(database).publish(small_rulebook(), datetime(2026, 5, 4, tzinfo=UTC))
    finally:
        await database.close()


def test_a_file_is_loaded_and_listed(
    make_url: Callable[..., str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """What is loaded a second time is there already; the list says that publications stand behind it; a
    faulty file ends in one line, and nothing is stored.
    """
    url, runner = make_url("sqlite"), CliRunner()
    monkeypatch.setenv("GRADEWRIGHT_DATABASE_URL", url)
    asyncio.run(publish(url))
    path = str(written(tmp_path))
    assert runner.invoke(app, ["load", path]).output == "3 records loaded, 0 there already.\n"
    assert runner.invoke(app, ["load", path]).output == "0 records loaded, 3 there already.\n"
    listed = runner.invoke(app, ["list"]).output
    assert "Treadmill" in listed
    assert "publications" in listed
    kinds = json.loads(runner.invoke(app, ["list", "--json"]).output)["kinds"]
    assert [(kind["kind"], kind["records"]) for kind in kinds] == [("kettle", 1), ("treadmill", 2)]
    wrong = runner.invoke(app, ["load", str(written(tmp_path, FILE.replace("60 %", "60")))])
    assert wrong.exit_code == 2
    assert "records/0/parts/0/share" in wrong.output
    assert len(wrong.output.splitlines()) == 1
