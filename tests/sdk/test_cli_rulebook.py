"""The rulebook as a page, through both clients and the client's command line."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk import Client, NotFound, UnexpectedAnswer
from gradewright_sdk.testing import FakeGradewright, samples


def words(text: str) -> str:
    """The text in one line, however it was broken."""
    return " ".join(text.split())


PAGE = "<!DOCTYPE html>\n<p>Copper – No. 2</p>"
HTML = {"Content-Type": "text/html; charset=utf-8"}


@pytest.fixture
def paged(fake: FakeGradewright, run: Run) -> FakeGradewright:
    """A service with the page of one version, also for the command line, which has answers of its own."""
    fake.answer("GET", "/v1/rulebooks/in-force", samples.rulebook(version="2018.1"))
    fake.answer("GET", "/v1/rulebooks/2018.1/page", PAGE.encode(), headers=HTML)
    fake.problem("GET", "/v1/rulebooks/2018.2/page", "not-found", "There is no rulebook '2018.2'.")
    return fake


async def test_both_clients_have_the_page(paged: FakeGradewright, client: Client) -> None:
    """The page comes as text, and is asked for as HTML; no such version is a problem like any other."""
    assert client.rulebooks.page("2018.1") == PAGE
    assert paged.requests[-1].headers["accept"].startswith("text/html,")
    with pytest.raises(NotFound):
        client.rulebooks.page("2018.2")
    async with paged.async_client() as awaited:
        assert await awaited.rulebooks.page("2018.1") == PAGE


def test_what_is_no_page_is_unexpected(fake: FakeGradewright, client: Client) -> None:
    """JSON where a page was asked for is not the service's answer."""
    fake.answer("GET", "/v1/rulebooks/2018.1/page", samples.rulebook())
    with pytest.raises(UnexpectedAnswer, match="not a page"):
        client.rulebooks.page("2018.1")


def test_the_page_in_force_is_written(paged: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """Without a version it is the one in force on the day, byte for byte, in a file or on standard output."""
    target = tmp_path / "rulebook.html"
    told = words(run("rulebook", "--on", "2018-06-01", "--output", str(target)).stdout)
    assert told.endswith("rulebook.html: rulebook 2018.1.")
    assert target.read_bytes() == PAGE.encode()
    assert paged.requests[0].query == {"on": "2018-06-01"}
    assert run("rulebook", "2018.1").stdout_bytes == PAGE.encode()


def test_a_version_and_a_day_are_one_too_many(paged: FakeGradewright, run: Run) -> None:
    """Both together are wrong usage, and nothing is asked; a version that is not there is told."""
    assert run("rulebook", "2018.1", "--on", "2018-06-01").exit_code == 2
    assert paged.requests == []
    missing = run("rulebook", "2018.2")
    assert missing.exit_code != 0
    assert "There is no rulebook '2018.2'." in missing.stderr
