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
def everything(fake: FakeGradewright) -> FakeGradewright:
    """The stand-in with an answer to each call."""
    fake.answer("GET", "/v1/regions", {"regions": [samples.region()]})
    fake.answer("GET", "/v1/regions/*", samples.region())
    fake.answer("POST", "/v1/regions", samples.region(revision=2), status=201)
    fake.answer("GET", "/v1/yards", {"yards": [samples.yard()]})
    fake.answer("GET", "/v1/yards/*", samples.yard())
    fake.answer("POST", "/v1/yards", samples.yard(revision=3), status=201)
    for place in ("yards", "regions"):
        fake.answer("GET", f"/v1/{place}/*/house-rules", samples.house_rules())
        fake.answer("POST", f"/v1/{place}/*/house-rules", samples.house_rules_added(), status=201)
    fake.answer("POST", "/v1/postings", samples.posting(), status=201)
    fake.answer("GET", "/v1/postings/*", samples.posting())
    fake.answer("POST", "/v1/postings/*", samples.word_stored(), status=201)
    fake.answer("POST", "/v1/postings/*/correction", samples.correction(), status=201)
    fake.answer("GET", "/v1/held-prices", samples.held_prices())
    fake.answer("GET", "/v1/prices", samples.price_list())
    for place in ("prices/*", "yards/*/prices/*"):
        fake.answer("GET", f"/v1/{place}/series", samples.series(), headers={"Known-At": "312"})
    fake.answer("GET", "/v1/rulebooks/*", samples.rulebook())
    fake.answer("GET", "/v1/rulebooks/*/page", b"<!DOCTYPE html>", headers={"Content-Type": "text/html"})
    summary = {
        "version": "2018.1",
        "effective_from": "2018-02-01",
        "sha256": samples.SHA,
        "grades": 72,
        "rules": 115,
    }
    fake.answer("GET", "/v1/rulebooks", {"rulebooks": [summary]})
    fake.answer("POST", "/v1/gradings", samples.grading())
    fake.answer("POST", "/v1/valuations", samples.valuation())
    fake.answer("GET", "/v1/valuations/*", samples.valuation())
    fake.answer("POST", "/v1/valuations/*/replay", samples.valuation())
    fake.answer("GET", "/readyz", {"status": "ready", "revision": 312, "rulebooks": ["2014.1", "2018.1"]})
    return fake


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
