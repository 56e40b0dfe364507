"""A file of parts, and a rulebook whose cautions can be told in full."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.sdk.conftest import Run
from tests.sdk.value.valued import CSV

from gradewright_sdk.testing import FakeGradewright, samples


@pytest.fixture
def parts(tmp_path: Path) -> str:
    file = tmp_path / "parts.csv"
    file.write_text(CSV)
    return str(file)


@pytest.fixture(autouse=True)
def mains_lead(fake: FakeGradewright, run: Run) -> None:
    cautions = {"mains-lead": {"name": "Mains lead", "says": "Unplug and wait."}}
    fake.answer("GET", "/v1/rulebooks/*", samples.rulebook(cautions=cautions))
