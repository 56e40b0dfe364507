"""gradewright-client value: what is wrong with a file of parts is told by line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk.testing import FakeGradewright, Recorded, samples

FAULTY = "name,weight,metal,grade\na,1,copper,\nb,1 kg,coper,\nc,1 ton,copper,\nd,1 kg,,lite-iron\n"


def faulted(request: Recorded) -> list[tuple[str, str]]:
    """What a service faults in the parts of a request: pointers and words."""
    found = []
    for index, part in enumerate(request.json["parts"]):
        if part["weight"] == "1 ton":
            found.append((f"#/parts/{index}/weight", "which ton?"))
        if part.get("grade") == "lite-iron":
            found.append((f"#/parts/{index}/grade", "no such grade"))
    return found


def refusing(fake: FakeGradewright) -> None:
    """Lets the service refuse the two lines of FAULTY that can be read."""

    def problem(request: Recorded) -> dict[str, Any]:
        errors = [{"detail": says, "pointer": pointer} for pointer, says in faulted(request)]
        return {"type": "/problems/invalid-request", "title": "Invalid", "status": 422, "errors": errors}

    kind = {"Content-Type": "application/problem+json"}
    fake.answer("POST", "/v1/valuations", problem, status=422, headers=kind)


@pytest.fixture
def faulty(tmp_path: Path) -> str:
    file = tmp_path / "parts.csv"
    file.write_text(FAULTY)
    return str(file)


def test_all_faults_are_told_together(fake: FakeGradewright, run: Run, faulty: str) -> None:
    """Faults of the file and what the service finds in the lines that can be read are told in one go, in the
    order of the lines, and nothing is kept.
    """
    refusing(fake)
    result = run("value", faulty, "--region", "XO-KEL", "--keep")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.splitlines() == [
        f"{faulty}: line 2, weight: '1' has no unit; write 1 kg or 1 lb.",
        f"{faulty}: line 3, metal: 'coper' is none of copper, steel. Did you mean copper?",
        f"{faulty}: line 4, weight: which ton?",
        f"{faulty}: line 5, grade: no such grade.",
        "Nothing was valued.",
    ]
    assert [part["name"] for part in fake.requests[-1].json["parts"]] == ["c", "d"]
    assert fake.requests[-1].json["keep"] is False


def test_faulty_file_that_the_service_finds_nothing_in(fake: FakeGradewright, run: Run, faulty: str) -> None:
    """A file with faults of its own is not valued, also where the service has nothing to say against it."""
    fake.answer("POST", "/v1/valuations", samples.valuation())
    result = run("value", faulty, "--region", "XO-KEL", "--json")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert [error["line"] for error in json.loads(result.stderr)["errors"]] == [2, 3]


def test_faults_of_the_file_without_the_service(fake: FakeGradewright, run: Run, faulty: str) -> None:
    """If the service cannot look at the rest of a faulty file, its own faults are told, and why not more."""
    fake.lose("POST", "/v1/valuations")
    result = run("value", faulty, "--region", "XO-KEL")
    assert result.exit_code == 2
    lines = result.stderr.splitlines()
    assert lines[0] == f"{faulty}: line 2, weight: '1' has no unit; write 1 kg or 1 lb."
    assert lines[2] == "The service could not look at the rest of the file, which may have more faults."
    assert lines[3].startswith("Could not reach a Gradewright service")
    assert lines[4] == "Nothing was valued."


def test_faults_of_the_file_and_of_the_place(fake: FakeGradewright, run: Run, faulty: str) -> None:
    """A wrong region is told together with the faults of the file."""
    errors = [{"detail": "There is no region.", "pointer": "#/region", "suggestions": ["XO-KEL"]}]
    fake.problem("POST", "/v1/valuations", "unknown-region", "There is no region.", errors=errors)
    result = run("value", faulty, "--region", "XO-KELL")
    assert result.exit_code == 2
    assert "line 2, weight" in result.stderr
    assert "Unknown region: --region: There is no region. Did you mean XO-KEL?" in result.stderr


def test_faults_as_json(fake: FakeGradewright, run: Run, faulty: str) -> None:
    """With --json the faults are one JSON object on standard error, and it ends as it does without."""
    refusing(fake)
    result = run("value", faulty, "--region", "XO-KEL", "--json")
    assert result.exit_code == 2
    assert result.stdout == ""
    told = json.loads(result.stderr)
    assert (told["type"], told["title"]) == ("faulty-file", "Faulty file")
    assert [(one["line"], one["column"], one["suggestions"]) for one in told["errors"]] == [
        (2, "weight", []),
        (3, "metal", ["copper"]),
        (4, "weight", []),
        (5, "grade", []),
    ]
    assert {one["file"] for one in told["errors"]} == {faulty}


def test_what_the_service_faults_is_told_by_line(fake: FakeGradewright, run: Run, parts: str) -> None:
    """A fault that the service points at is told with the file's line and column, and what may be meant."""
    fault = {"detail": "no grade 'cooper'", "pointer": "#/parts/0/grade", "suggestions": ["copper-no2"]}
    fake.problem("POST", "/v1/valuations", "unknown-grade", "1 fault.", errors=[fault])
    result = run("value", parts, "--region", "XO-KEL")
    assert result.exit_code == 2
    assert f"{parts}: line 2, grade: no grade 'cooper'. Did you mean copper-no2?" in result.stderr


def test_what_is_not_the_files_fault(fake: FakeGradewright, run: Run, parts: str) -> None:
    """A problem that is not about a part is told as it is, with what to do, and ends with 1."""
    fake.problem("POST", "/v1/valuations", "unknown-region", "No region XO-KELL.", status=422, errors=[
        {"detail": "no such region", "pointer": "#/region", "suggestions": ["XO-KEL"]}
    ])  # fmt: skip
    result = run("value", parts, "--region", "XO-KELL")
    assert result.exit_code == 1
    assert "No region XO-KELL." in result.stderr
    assert "Did you mean XO-KEL?" in result.stderr
    assert "gradewright-client regions" in result.stderr
