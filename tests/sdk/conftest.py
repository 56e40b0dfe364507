"""What the SDK's tests share: a stand-in for the service, and the command line run against it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from typer.testing import CliRunner, Result

from gradewright_sdk import Client
from gradewright_sdk.cli import app
from gradewright_sdk.testing import FakeGradewright, samples

Run = Callable[..., Result]


@pytest.fixture(autouse=True)
def no_settings_of_the_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("GRADEWRIGHT_URL", raising=False)
    monkeypatch.delenv("GRADEWRIGHT_KEY", raising=False)


@pytest.fixture
def fake() -> FakeGradewright:
    return FakeGradewright()


@pytest.fixture
def client(fake: FakeGradewright) -> Iterator[Client]:
    with fake.client() as client:
        yield client


@pytest.fixture
def run(fake: FakeGradewright) -> Run:
    """Runs the command line against the stand-in, 80 columns wide."""
    fake.answer("GET", "/v1/rulebooks/*", samples.rulebook())
    runner = CliRunner()

    def run(*arguments: str, input: str | bytes | None = None, columns: int = 80, **env: str) -> Result:
        result = runner.invoke(
            app,
            list(arguments),
            obj=lambda url, timeout: fake.client(timeout=timeout),
            input=input,
            env={"COLUMNS": str(columns), **env},
        )
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return run
