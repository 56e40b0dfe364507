"""gradewright-client teardown --devices: a list of devices of a kind each, in one table."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk.testing import FakeGradewright, Recorded, samples

PATH = "/v1/teardowns"
FILE = "kind,weight,count,name,minutes,leftover\nmotor,9 lb,,,,\nmotor,90 lb,10,school motors,8,0.05 per lb\n"
HERE = ("--region", "XO-KEL", "--hour-rate", "15")


def words(text: str) -> str:
    """The text in one line, however it was broken."""
    return " ".join(text.split())


def answering(request: Recorded) -> dict[str, Any]:
    """Ten times as much of ten."""
    made = samples.teardown()
    if request.json.get("count") != 10:
        return made
    plan = {**made["plan"], "count": 10, "pieces": 10}
    ten = {name: f"{10 * float(made[name]):.2f}" for name in ("labour", "net", "gain")}
    worth, whole = (
        {end: f"{10 * float(made[name][end]):.2f}" for end in made[name]} for name in ("worth", "whole")
    )
    return {**made, **ten, "worth": worth, "whole": whole, "minutes": "90", "plan": plan}


@pytest.fixture
def listed(fake: FakeGradewright, tmp_path: Path) -> str:
    """The file of two lines, and a service that answers them."""
    fake.answer("POST", PATH, answering)
    file = tmp_path / "devices.csv"
    file.write_text(FILE)
    return str(file)


def asked(fake: FakeGradewright) -> list[dict[str, Any]]:
    """What was asked of teardowns."""
    return [one.json for one in fake.requests if one.path == PATH]


def test_a_list_is_one_table_with_its_total(fake: FakeGradewright, run: Run, listed: str) -> None:
    """Each line is asked by its kind, the later ones by the day, revision and rulebook of the first; the
    table has a line for each, and what all of them come to.
    """
    told = run("teardown", "--devices", listed, *HERE)
    assert told.exit_code == 0, told.stderr
    first, second = asked(fake)
    assert {name: first[name] for name in ("kind", "weight", "keep")} == {
        "kind": "motor", "weight": "9 lb", "keep": False,
    }  # fmt: skip
    assert not {"count", "minutes", "leftover", "known_at"} & first.keys()
    assert (second["count"], second["minutes"]) == (10, "8")
    assert second["leftover"] == {"charge": "0.05", "per": "lb"}
    assert (second["known_at"], second["on"], second["rulebook"]) == (312, "2026-05-04", "2018.1")
    table = words(told.stdout)
    made = samples.teardown()
    one = [float(made[name]["likely"]) for name in ("whole", "worth")]
    assert f"motor {one[0]:.2f} {one[1]:.2f} 9 {made['net']} open: {made['gain']} more" in table
    assert f"10 x school motors {10 * one[0]:.2f} {10 * one[1]:.2f} 90 " in table
    assert f"Total {11 * one[0]:.2f} {11 * one[1]:.2f} 99 {11 * float(made['net']):.2f}" in table
    assert table.index("Total") < table.index("! Dust: Wear a mask.")
    assert table.count("! Dust: Wear a mask.") == 1
    assert "at 15.00 an hour" in table


def test_a_list_for_scripts(fake: FakeGradewright, run: Run, listed: str) -> None:
    """--json has each line with its answer, and the sums; --strict ends with 3 where one is not complete."""
    told = run("teardown", "--devices", listed, *HERE, "--json", "--strict")
    found = json.loads(told.stdout)
    assert [(one["line"], one["name"]) for one in found["devices"]] == [
        (2, "motor"),
        (3, "10 x school motors"),
    ]
    assert found["devices"][0]["teardown"] == samples.teardown()
    worth = 11 * float(samples.teardown()["worth"]["likely"])
    assert (found["totals"]["worth"], found["totals"]["minutes"]) == (f"{worth:.2f}", "99")
    assert (found["complete"], told.exit_code) == (
        (True, 0) if samples.teardown()["complete"] else (False, 3)
    )
    fake.answer("POST", PATH, lambda request: {**answering(request), "complete": False, "whole": None})
    part = run("teardown", "--devices", listed, *HERE, "--json", "--strict")
    totals = json.loads(part.stdout)["totals"]
    assert (part.exit_code, totals["unpriced_whole"], totals["whole"]) == (3, 2, "0")
    shown = words(run("teardown", "--devices", listed, *HERE).stdout)
    assert "Nobody is known to buy 2 of them whole: counted as nothing there." in shown


def test_what_is_kept_is_kept_once_all_is_well(
    fake: FakeGradewright, run: Run, listed: str, tmp_path: Path
) -> None:
    """Everything is worked out before anything is kept; then each is, and its id is told."""
    fake.answer("POST", PATH, answering, status=201, headers={"Teardown-Id": "t-1"})
    ids = tmp_path / "ids"
    told = run("teardown", "--devices", listed, *HERE, "--id-to", str(ids))
    assert told.exit_code == 0, told.stderr
    assert [one["keep"] for one in asked(fake)] == [False, False, True, True]
    assert [one.get("known_at") for one in asked(fake)] == [None, 312, 312, 312]
    assert ids.read_text() == "t-1\nt-1\n"
    assert "Kept as t-1, t-1." in told.stdout


FAULTY = "kind,weight,count,minutes\nmotr,9 lb,,\nmotor,9,x,-1\n,9 lb,,\nmotor,900 lb,,\nmotor,9 lb,,,7\n"


def test_all_faults_of_a_list_at_once(fake: FakeGradewright, run: Run) -> None:
    """What is wrong in the file and what the service finds are told by line, and nothing is worked out."""

    def problem(request: Recorded) -> dict[str, Any]:
        says = (
            ("weight", "far more: give `count`") if request.json["kind"] == "motor" else ("kind", "no such")
        )
        errors = [{"detail": says[1], "pointer": f"#/{says[0]}", "suggestions": []}]
        return {"type": "/problems/invalid-request", "title": "Invalid", "status": 422, "errors": errors}

    kind = {"Content-Type": "application/problem+json"}
    fake.answer("POST", PATH, problem, status=422, headers=kind)
    told = run("teardown", "--devices", "-", *HERE, "--keep", input=FAULTY)
    assert (told.exit_code, told.stdout) == (2, "")
    assert told.stderr.splitlines() == [
        "-: line 2, kind: no such.",
        "-: line 3, weight: '9' has no unit; write 9 kg or 9 lb.",
        "-: line 3, count: 'x' is not a number of pieces; write a whole number from 1 on.",
        "-: line 3, minutes: '-1' is no number of minutes; write them in plain digits, such as 40 or 2.5.",
        "-: line 4, kind: a device needs it.",
        "-: line 5, weight: far more: give `count`.",
        "-: line 6: 5 cells under 4 columns; a ',' inside a value needs quotes.",
        "Nothing was worked out.",
    ]
    assert not any(one["keep"] for one in asked(fake))


def test_what_keeps_the_service_from_looking(fake: FakeGradewright, run: Run, listed: str) -> None:
    """What is wrong with no line ends it by itself; where the file has faults, these are told, and what kept
    the service from looking at the rest.
    """
    errors = [{"detail": "write money", "pointer": "#/hour_rate"}]
    fake.problem("POST", PATH, "invalid-request", errors=errors)
    told = run("teardown", "--devices", listed, *HERE)
    assert told.exit_code == 1
    assert "--hour-rate: write money" in told.stderr
    fake.lose("POST", PATH)
    told = run("teardown", "--devices", "-", *HERE, input=FILE + "motor,9,,,,\n")
    assert told.exit_code == 2
    assert "line 4, weight: '9' has no unit" in told.stderr
    assert "The service could not look at the rest of the file" in told.stderr


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "line 1: there is no device in the file"),
        ("kind,weight\n", "line 1: there is no device in the file"),
        (
            "kind,heft\nmotor,9 lb\n",
            "line 1: 'heft' is no column; they are kind, weight, count, name, grade, minutes",
        ),
        ("kind,count\nmotor,9\n", "line 1: missing columns: weight"),
        ("kind,weight,Kind\nmotor,9 lb,x\n", "line 1: column kind comes twice"),
    ],
)
def test_a_file_that_is_no_list(fake: FakeGradewright, run: Run, text: str, says: str) -> None:
    """A file without devices, or with other columns, is told so before anything is asked."""
    told = run("teardown", "--devices", "-", *HERE, input=text)
    assert told.exit_code == 2
    assert says in words(told.stderr)
    assert asked(fake) == []


@pytest.mark.parametrize("more", [("device.yaml",), ("--kind", "motor", "--weight", "9 lb")])
def test_a_list_stands_by_itself(run: Run, more: tuple[str, ...]) -> None:
    """Beside a list there is neither a file of one device nor a kind."""
    assert run("teardown", *more, "--devices", "-", *HERE, input=FILE).exit_code == 2


@pytest.mark.parametrize("option", ["--count", "--grade", "--minutes", "--leftover"])
@pytest.mark.parametrize("what", [("--devices", "-"), ("-",)])
def test_what_is_said_of_a_kind_is_said_of_nothing_else(run: Run, what: tuple[str, ...], option: str) -> None:
    """Beside a file an option about one kind would say nothing: it is refused, with where that stands."""
    told = run("teardown", *what, *HERE, option, "4", input=FILE)
    assert told.exit_code == 2
    assert f"{option} is said of a --kind" in words(told.stderr)


def test_the_template_is_a_list(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """--template writes a list that is asked as it is where a CSV file is named, else a device."""
    file = tmp_path / "devices.CSV"
    told = run("teardown", "--template", "--output", str(file))
    assert (told.exit_code, "a list of devices to begin with" in told.stdout) == (0, True)
    fake.answer("POST", PATH, answering)
    assert run("teardown", "--devices", str(file), *HERE).exit_code == 0
    assert [(one["kind"], one.get("count")) for one in asked(fake)] == [("treadmill", None), ("motor", 4)]
    assert run("teardown", "--template").stdout.startswith("# A device and what is in it.")
