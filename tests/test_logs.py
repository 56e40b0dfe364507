"""The log tells what an operator needs, in one line for machines, and no one's secrets."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
import structlog

from gradewright import logs


@pytest.fixture(autouse=True)
def _restored() -> Iterator[None]:
    """The log of the other tests is as it was."""
    yield
    logs.configure(as_json=False)


def fail(secret: str) -> None:
    """Fails with a secret in a local variable."""
    raise RuntimeError(f"broken, {len(secret)}")


def log_a_failure() -> None:
    """Logs an exception with its traceback."""
    try:
        fail("gw_" + "secret")
    except RuntimeError as error:
        structlog.get_logger("test").error("internal error", request_id="r1", exc_info=error)


def test_lines_for_machines_are_json(capsys: pytest.CaptureFixture[str]) -> None:
    """Each event is one JSON object on one line, its traceback included as text."""
    logs.configure(as_json=True)
    log_a_failure()
    (line,) = capsys.readouterr().err.splitlines()
    event = json.loads(line)
    assert (event["event"], event["level"], event["request_id"]) == ("internal error", "error", "r1")
    assert event["timestamp"].endswith("Z")
    assert "RuntimeError: broken, 9" in event["exception"]


@pytest.mark.parametrize("as_json", [True, False], ids=["json", "people"])
def test_local_variables_stay_out_of_the_log(capsys: pytest.CaptureFixture[str], *, as_json: bool) -> None:
    """A traceback shows where it broke, never the values that stood there."""
    logs.configure(as_json=as_json)
    log_a_failure()
    told = capsys.readouterr().err
    assert "in fail" in told
    assert "gw_secret" not in told
