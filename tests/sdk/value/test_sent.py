"""gradewright-client value: what is sent, and how the command ends."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.sdk.conftest import Run
from tests.sdk.value.valued import CSV, incomplete

from gradewright_sdk import Client, Part
from gradewright_sdk.testing import FakeGradewright, samples


def test_sends_the_file(fake: FakeGradewright, run: Run, parts: str) -> None:
    """The file's parts are sent with the place, the day and the pins of the options."""
    fake.answer("POST", "/v1/valuations", samples.valuation())
    options = ["--yard", "low-quay", "--on", "2026-05-04", "--known-at", "312", "--rulebook", "2018.1"]
    result = run("value", parts, *options)
    assert result.exit_code == 0
    assert fake.requests[0].path == "/v1/rulebooks/2018.1"
    assert fake.requests[-1].json == {
        "yard": "low-quay",
        "on": "2026-05-04",
        "known_at": 312,
        "rulebook": "2018.1",
        "keep": False,
        "parts": [{"name": "winding", "weight": "2 lb", "observed": {"metal": "copper", "soldered": True}}],
    }


def test_one_part_by_itself(fake: FakeGradewright, client: Client) -> None:
    """One part is valued without a list around it, as a Part or as a mapping."""
    fake.answer("POST", "/v1/valuations", samples.valuation())
    part = Part("winding", weight="2 lb", grade="copper-no2")
    for one in (part, {"name": "winding", "weight": "2 lb", "grade": "copper-no2"}):
        client.valuations.value(one, region="XO-KEL")
    client.valuations.value([part], region="XO-KEL")
    assert [each.json["parts"] for each in fake.requests] == [fake.requests[-1].json["parts"]] * 3


def test_known_at_an_instant(fake: FakeGradewright, run: Run, parts: str) -> None:
    """--known-at takes an instant as well, which is sent as text."""
    fake.answer("POST", "/v1/valuations", samples.valuation())
    run("value", parts, "--region", "XO-KEL", "--known-at", "2026-05-04T09:00:00Z")
    assert fake.requests[-1].json["known_at"] == "2026-05-04T09:00:00Z"
    assert "rulebook" not in fake.requests[-1].json


@pytest.mark.parametrize(
    ("input", "kind"), [(CSV, []), (CSV, ["--format", "csv"]), ('{"weight":"1 kg","grade":"x"}', [])]
)
def test_reads_standard_input(fake: FakeGradewright, run: Run, input: str, kind: list[str]) -> None:
    """With - the parts come from standard input, CSV or JSON Lines."""
    fake.answer("POST", "/v1/valuations", samples.valuation())
    assert run("value", "-", "--region", "XO-KEL", *kind, input=input).exit_code == 0
    assert len(fake.requests[-1].json["parts"]) == 1


@pytest.mark.parametrize(("strict", "code"), [([], 0), (["--strict"], 3)])
def test_incomplete_under_strict(
    fake: FakeGradewright, run: Run, parts: str, strict: list[str], code: int
) -> None:
    """An incomplete valuation ends with 0, under --strict with 3; both print it."""
    fake.answer("POST", "/v1/valuations", incomplete())
    result = run("value", parts, "--region", "XO-KEL", *strict)
    assert result.exit_code == code
    assert "INCOMPLETE" in result.stdout


def test_json_is_what_the_service_sent(fake: FakeGradewright, run: Run, parts: str) -> None:
    """--json prints the service's bytes and nothing else; a kept id goes to standard error."""
    sent = json.dumps(incomplete(), indent=1).encode()
    fake.answer("POST", "/v1/valuations", sent, headers={"Valuation-Id": "v-7"})
    result = run("value", parts, "--region", "XO-KEL", "--keep", "--json")
    assert result.stdout_bytes == sent + b"\n"
    assert result.stderr.strip() == "Kept as v-7"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "give --region or --yard"),
        (["--region", "a", "--yard", "b"], "not both"),
        (["--region", "a", "--format", "xml"], "csv or jsonl"),
        (["--region", "a", "--timeout", "0"], "0.0"),
    ],
)
def test_wrong_usage(run: Run, fake: FakeGradewright, parts: str, arguments: list[str], says: str) -> None:
    """Wrong usage ends with 2, says what to give, and asks the service nothing."""
    result = run("value", parts, *arguments)
    assert result.exit_code == 2
    assert says in " ".join(result.stderr.replace("│", " ").split())
    assert not fake.requests


def test_file_that_is_not_there(run: Run, tmp_path: Path) -> None:
    """A file that cannot be read is told by name, and ends with 2."""
    result = run("value", str(tmp_path / "none.csv"), "--region", "XO-KEL")
    assert result.exit_code == 2
    assert "none.csv: No such file" in result.stderr


def test_what_an_hour_is_worth(fake: FakeGradewright, run: Run, parts: str) -> None:
    """--hour-rate goes with the list as it is written, and is told among what repeats it."""
    fake.answer("POST", "/v1/valuations", samples.valuation(hour_rate="15.00"))
    shown = run("value", parts, "--region", "XO-KEL", "--hour-rate", "15.00", columns=120).stdout
    assert fake.requests[-1].json["hour_rate"] == "15.00"
    assert "--rulebook 2018.1 --hour-rate 15.00" in shown
