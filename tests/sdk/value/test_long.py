"""gradewright-client value: files of more parts than one valuation takes."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest
from tests.sdk.conftest import Run
from tests.sdk.value.valued import CSV

from gradewright_sdk.testing import FakeGradewright, Recorded, samples

MANY = "name,weight,grade\n" + "".join(f"p{n},1 kg,copper-no2\n" for n in range(1, 2501))


def test_what_is_certain_in_one_list_is_certain(fake: FakeGradewright, run: Run) -> None:
    """Of several lists joined, a caution that may apply in one and is certain in another is certain."""
    lists = iter([False, True, False])

    def one(request: Recorded) -> dict[str, Any]:
        caution = {"id": "a", "name": "A", "says": "a", "source": "a"}
        also = {**caution, "id": f"b-{len(fake.requests)}", "certain": False}
        return {**chunk(request), "cautions": [also, {**caution, "certain": next(lists)}]}

    fake.answer("POST", "/v1/valuations", one)
    found = json.loads(run("value", "-", "--region", "XO-KEL", "--json", input=MANY).stdout)["cautions"]
    assert [(caution["id"][0], caution["certain"]) for caution in found] == [
        ("a", True), ("b", False), ("b", False), ("b", False),
    ]  # fmt: skip


def chunk(request: Recorded) -> dict[str, Any]:
    """Values whatever was sent at 1.10 – 1.20 – 1.30 a part."""
    n = len(request.json["parts"])
    each = [f"{Decimal(price) * n}" for price in ("1.10", "1.20", "1.30")]
    pile = {"grade": "copper-no2", "name": "Copper No. 2", "weight_kg": f"{n}.5", "lines": n}
    return samples.valuation(
        *[samples.valued_part(name=part["name"]) for part in request.json["parts"]],
        piles=[{**pile, "amount": samples.spread(*each)}],
        totals={**samples.spread(*each), "cash": "1.00", "priced": n, "unpriced": 0},
        cautions=[{"id": "a", "name": "A", "says": "a", "source": "a"}],
    )


def test_long_file_goes_in_pinned_lists(fake: FakeGradewright, run: Run) -> None:
    """More than 1000 parts go in several lists; the later ones on the day, rulebook and revision of the
    first.
    """
    fake.answer("POST", "/v1/valuations", chunk, headers={"Valuation-Id": "v-1"})
    result = run("value", "-", "--region", "XO-KEL", "--keep", "--json", input=MANY)
    sent = [request.json for request in fake.requests if request.method == "POST"]
    assert [len(one["parts"]) for one in sent] == [1000, 1000, 500]
    assert [part["name"] for one in sent for part in one["parts"]] == [f"p{n}" for n in range(1, 2501)]
    assert all(one["keep"] for one in sent)
    assert [(one.get("on"), one.get("known_at"), one.get("rulebook")) for one in sent] == [
        (None, None, None),
        ("2026-05-04", 312, "2018.1"),
        ("2026-05-04", 312, "2018.1"),
    ]
    whole = json.loads(result.stdout)
    assert len(whole["parts"]) == 2500
    assert whole["totals"] == {
        "low": "2750.00",
        "likely": "3000.00",
        "high": "3250.00",
        "cash": None,
        "priced": 2500,
        "unpriced": 0,
    }
    assert whole["piles"] == [
        {
            "grade": "copper-no2",
            "name": "Copper No. 2",
            "weight_kg": "2501.5",
            "lines": 2500,
            "amount": {"low": "2750.00", "likely": "3000.00", "high": "3250.00"},
        }
    ]
    assert [one["id"] for one in whole["cautions"]] == ["a"]
    assert whole["pins"] == {"rulebook": "2018.1", "revision": 312, "method": "1", "sha256": None}
    assert [one["parts"] for one in whole["chunks"]] == [1000, 1000, 500]
    assert whole["complete"] is True


def test_long_file_for_people(fake: FakeGradewright, run: Run) -> None:
    """The table of a long file has the totals of all lists, and says what lists cannot know of each other."""
    fake.answer("POST", "/v1/valuations", chunk)
    shown = " ".join(run("value", "-", "--region", "XO-KEL", input=MANY).stdout.split())
    assert "Total 2750.00 – 3000.00 – 3250.00 USD (2500 of 2500 parts counted)" in shown
    assert "Sent in 3 lists of at most 1000 parts" in shown
    assert "SHA-256" not in shown
    assert "In cash" not in shown


@pytest.mark.parametrize(("file", "shown"), [(MANY, True), (CSV, False)])
def test_progress_on_long_files(fake: FakeGradewright, run: Run, file: str, shown: bool) -> None:
    """In a terminal a long file has a progress bar on standard error, a short one none; the table stays
    clean.
    """
    fake.answer("POST", "/v1/valuations", chunk)
    result = run(
        "value", "-", "--region", "XO-KEL", "--json", input=file, FORCE_COLOR="1", TTY_COMPATIBLE="1"
    )
    assert ("parts valued" in result.stderr) is shown
    assert ("2500/2500" in result.stderr) is shown
    json.loads(result.stdout)


@pytest.mark.parametrize("lacking", ["p1", "p2500"])
def test_one_unpriced_list_makes_the_whole_incomplete(fake: FakeGradewright, run: Run, lacking: str) -> None:
    """If one of several lists is incomplete, the first or the last, so is the whole."""

    def service(request: Recorded) -> dict[str, Any]:
        if lacking not in {part["name"] for part in request.json["parts"]}:
            return chunk(request)
        return {**chunk(request), "complete": False, "missing": [f"{lacking}: nobody knows"]}

    fake.answer("POST", "/v1/valuations", service)
    result = run("value", "-", "--region", "XO-KEL", "--json", "--strict", input=MANY)
    assert result.exit_code == 3
    whole = json.loads(result.stdout)
    assert whole["complete"] is False
    assert whole["missing"] == [f"{lacking}: nobody knows"]


def test_faults_in_later_lists_are_told_by_line(fake: FakeGradewright, run: Run) -> None:
    """Faults that the service finds in several lists are all told, with the lines of the whole file."""
    fake.answer("POST", "/v1/valuations", chunk)

    def refuse(index: int, grade: str) -> None:
        errors = [{"detail": f"no {grade}", "pointer": f"#/parts/{index}/grade"}]
        fake.problem("POST", "/v1/valuations", "unknown-grade", errors=errors, times=1)

    refuse(499, "tin")
    fake.answer("POST", "/v1/valuations", chunk, times=1)
    refuse(7, "gold")
    result = run("value", "-", "--region", "XO-KEL", "--keep", input=MANY)
    assert result.exit_code == 2
    assert result.stderr.splitlines() == [
        "-: line 9, grade: no gold.",
        "-: line 2501, grade: no tin.",
        "Nothing was valued.",
    ]
    # Once a list is refused the others are only looked through, not kept.
    assert [request.json["keep"] for request in fake.requests if request.method == "POST"] == [
        True,
        False,
        False,
    ]
