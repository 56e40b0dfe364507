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
    plan, made = {**made["plan"], "count": 10, "pieces": 10}, {**made, "piles": []}
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


def two(folder: Path, more: str = "") -> str:
    """A file of two motors that are alike, and more lines."""
    file = folder / "two.csv"
    file.write_text(f"kind,weight\nmotor,9 lb\nmotor,9 lb\n{more}")
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
    ends = [11 * float(made["worth"][end]) for end in ("low", "high")]
    assert f"by the plans {ends[0]:.2f} to {ends[1]:.2f}" in table
    assert table.index("Total") < table.index("! Dust (all of them): Wear a mask.")
    assert table.count("Wear a mask.") == 1
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


def test_what_nobody_knows_the_price_of_is_no_amount(fake: FakeGradewright, run: Run, listed: str) -> None:
    """A device of which nothing is known has no figures, and the total says that not all is counted. It was
    told as "leave as it is", 0.00.
    """

    def answer(request: Recorded) -> dict[str, Any]:
        found = answering(request)
        if request.json.get("count") == 10:
            return found
        plan = {**found["plan"], "choice": "leave", "opening": None}
        nothing = {"low": "0.00", "likely": "0.00", "high": "0.00"}
        why = ["motor: nobody has posted a price."]
        return {**found, "plan": plan, "whole": None, "worth": nothing, "missing": why, "complete": False}

    fake.answer("POST", PATH, answer)
    table = words(run("teardown", "--devices", listed, *HERE).stdout)
    assert "motor - - - - cannot be told: no price is known for it, nor for all that comes out" in table
    assert "not complete: of 1 of 2 not all is counted" in table
    assert "leave as it is" not in table
    fake.answer("POST", PATH, answering)
    assert "not complete" not in words(run("teardown", "--devices", listed, *HERE).stdout)


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


def test_each_of_those_that_are_alike_is_kept(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """Two lines that say the same are worked out once, and kept as two devices."""
    found = {**samples.teardown(), "piles": []}
    for name in ("t-2", "t-1"):
        fake.answer("POST", PATH, found, status=201, headers={"Teardown-Id": name}, times=1)
    fake.answer("POST", PATH, found, times=1)
    told = run("teardown", "--devices", two(tmp_path), *HERE, "--keep")
    assert told.exit_code == 0, told.stderr
    assert [one["keep"] for one in asked(fake)] == [False, True, True]
    assert "Kept as t-1, t-2." in told.stdout


PRICE = {**samples.valued_part()["price"], "from_weight": "5 kg"}
LICENCE = {
    "certain": True,
    "cautions": ["refrigerant"],
    "says": "For those who hold the licence: Refrigerant.",
}
LIMIT = "Where it costs more than 0.030 USD per lb it is better to sell motor whole."
UNNAMED = {
    "weight": {"kg": "29.75", "shown": "29.75 kg (65 lb 9 oz)"},
    "limits": [
        {
            "what": "costs",
            "more_than": "0.030",
            "per": "lb",
            "then": {"number": 0, "name": "motor", "does": "sell-whole"},
            "says": LIMIT,
        }
    ],
}


def typical(**fields: Any) -> dict[str, Any]:
    """What is usual for a motor, by one record."""
    return {
        "kind": "motor",
        "name": "Motor",
        "weight": {"kg": "4", "shown": "4 kg (8 lb 13 oz)"},
        "records": 1,
        "voices": 1,
        "published": False,
        "minutes": {"low": "5", "likely": "9", "high": "14"},
        "says": ["Motor of 4 kg: whole it pays 8.10."],
        **fields,
    }


def test_what_takes_a_licence_is_counted_apart(fake: FakeGradewright, run: Run, listed: str) -> None:
    """The row says that it is opened with a licence only, and what is done without one; the total is told
    without what takes one, which stays whole there, and with it. For scripts likewise.
    """

    def licensed(request: Recorded) -> dict[str, Any]:
        found = answering(request)
        return {**found, "licence": LICENCE} if request.json.get("count") == 10 else found

    fake.answer("POST", PATH, licensed)
    table = words(run("teardown", "--devices", listed, *HERE).stdout)
    made = samples.teardown()
    whole, worth = (float(made[name]["likely"]) for name in ("whole", "worth"))
    gain, net = float(made["gain"]), float(made["net"])
    assert f"open, only with a licence: {10 * gain:.2f} more" in table
    assert "an hour; otherwise sell it whole" in table
    assert (
        f"Total, without a licence {11 * whole:.2f} {worth + 10 * whole:.2f} 9 {net + 10 * whole:.2f}"
        in table
    )
    assert f"with one {11 * whole:.2f} {11 * worth:.2f} 99 {11 * net:.2f}" in table
    assert "Opened only by those who hold the licence: school motors." in table
    totals = json.loads(run("teardown", "--devices", listed, *HERE, "--json").stdout)["totals"]
    assert (totals["worth"], totals["without_licence"]["worth"]) == (
        f"{11 * worth:.2f}", f"{worth + 10 * whole:.2f}",
    )  # fmt: skip
    labour = float(made["labour"])
    assert (totals["labour"], totals["without_licence"]["labour"]) == (
        f"{11 * labour:.2f}", f"{labour:.2f}",
    )  # fmt: skip
    perhaps = {"licence": {**LICENCE, "certain": False}, "whole": None}
    fake.answer("POST", PATH, lambda request: {**answering(request), **perhaps})
    table = words(run("teardown", "--devices", listed, *HERE).stdout)
    assert "open, unless that takes a licence, 36.50 an hour; otherwise leave it whole" in table
    assert "Total, without" not in table
    assert "Opening may take a licence, look at their cautions first: motor; school motors." in table


def test_what_a_row_rests_on(fake: FakeGradewright, run: Run, listed: str) -> None:
    """Below its figures a device has from what to what it comes, in how many minutes, on how few records that
    rests, and what that which nobody named may cost.
    """
    fake.answer(
        "POST", PATH, lambda request: {**answering(request), "typical": typical(), "unnamed": UNNAMED}
    )
    table = words(run("teardown", "--devices", listed, *HERE).stdout)
    ends = samples.teardown()["worth"]
    rests = (
        f"by the plan {ends['low']} to {ends['high']} for 5 to 14 minutes; few records, 1 device of 1 member"
    )
    assert rests in table
    assert f"29.75 kg (65 lb 9 oz) that nobody named count as nothing. {LIMIT}" in table
    assert "4.082 kg (9 lb) together, 0.408 kg (14.4 oz) each; by the plan" in table
    for fields, says in (
        ({"records": 3, "voices": 3}, "; few records, 3 devices of 3 members: little is known of it "),
        ({"records": 4, "voices": 3}, "; by 4 devices of 3 members "),
        ({"records": 2, "voices": 1, "published": True}, "; by 1 publication alone: nobody recorded one"),
    ):
        made = typical(**fields)
        fake.answer("POST", PATH, lambda request, made=made: {**answering(request), "typical": made})
        assert says in words(run("teardown", "--devices", listed, *HERE).stdout)


def test_minutes_that_do_not_differ_stand_in_the_table_alone(
    fake: FakeGradewright, run: Run, listed: str
) -> None:
    """Where all records, or the caller, have one time, no other time is told below the figures."""
    one_time = typical(minutes={"low": "9", "likely": "9", "high": "9"})
    fake.answer("POST", PATH, lambda request: {**answering(request), "typical": one_time})
    table = words(run("teardown", "--devices", listed, *HERE).stdout)
    assert f"by the plan {samples.teardown()['worth']['low']}" in table
    assert "9 to 9 minutes" not in table


def test_what_nobody_named_is_told_of_what_is_opened(fake: FakeGradewright, run: Run, listed: str) -> None:
    """A device that stays whole leaves nothing over: what would be left of it, and what that might cost, is
    no condition of its row.
    """

    def whole(request: Recorded) -> dict[str, Any]:
        found = answering(request)
        return {**found, "plan": {**found["plan"], "choice": "sell-whole"}, "unnamed": UNNAMED}

    fake.answer("POST", PATH, whole)
    table = words(run("teardown", "--devices", listed, *HERE).stdout)
    assert "sell whole" in table
    assert "that nobody named" not in table


def test_cautions_name_their_devices(fake: FakeGradewright, run: Run, listed: str) -> None:
    """What concerns some of the devices is told with their names, what may concern them by device; what is
    not counted of several is told once.
    """

    def of_one(request: Recorded) -> dict[str, Any]:
        found = answering(request)
        (dust,) = found["cautions"]
        gas = {**dust, "id": "gas", "name": "Gas", "says": "Do not breathe it."}
        lead = {**dust, "id": "lead", "name": "Lead", "certain": False}
        missing = ["Plastics: nobody has posted a price."]
        if request.json.get("count") == 10:
            return {**found, "cautions": [dust, gas, lead], "missing": missing}
        return {**found, "missing": missing}

    fake.answer("POST", PATH, of_one)
    table = words(run("teardown", "--devices", listed, *HERE).stdout)
    assert "! Dust (all of them): Wear a mask." in table
    assert "! Gas (school motors): Do not breathe it." in table
    assert "? school motors: Lead" in table
    assert "- motor; school motors: Plastics: nobody has posted a price." in table


def test_all_devices_in_one_pile(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """What several devices bring of a grade is asked as one lot; where that leaves more, it is told how much
    and how to have it counted. Devices that are alike are asked once, and what takes a licence is no part.
    """
    made = samples.teardown()
    (copper,) = made["piles"]

    def paid(request: Recorded) -> dict[str, Any]:
        lot = request.json.get("lots", {}).get("copper-no2")
        if lot in {None, "40 lb"}:
            return made
        assert lot == "3.628738 kg"  # two times the pile
        tier = {"grade": "copper-no2", "name": copper["name"], "unpriced": None, "price": PRICE}
        return {**made, "net": "12.33", "prices": [tier]}

    fake.answer("POST", PATH, paid)
    told = run("teardown", "--devices", two(tmp_path), *HERE)
    assert told.exit_code == 0, told.stderr
    assert [one.get("lots") for one in asked(fake)] == [None, {"copper-no2": "3.628738 kg"}]
    assert 'sold together, leaves 2.00 more; to have that counted: --lot "copper-no2=5 kg"' in words(
        told.stdout
    )
    together = json.loads(run("teardown", "--devices", two(tmp_path), *HERE, "--json").stdout)["together"]
    assert (together["gain"], together["lots"]) == ("2.00", {"copper-no2": "5 kg"})
    before = len(asked(fake))
    told = run("teardown", "--devices", two(tmp_path), *HERE, "--lot", "copper-no2=40 lb")
    assert len(asked(fake)) == before + 1
    assert "sold together" not in told.stdout
    told = run("teardown", "--devices", two(tmp_path), *HERE, "--lot", "Birch=40 lb")
    assert (len(asked(fake)), "sold together" in told.stdout) == (before + 2, False)
    fake.answer("POST", PATH, lambda _: {**made, "licence": LICENCE})
    assert "sold together" not in run("teardown", "--devices", two(tmp_path), *HERE).stdout


def test_a_lot_that_is_not_there_after_all(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """Where the plan with a lot brings less of the grade than that, it is asked with what it brings; where
    nothing is left of it, nothing is told.
    """
    made = samples.teardown()

    def paid(request: Recorded) -> dict[str, Any]:
        return {**made, "piles": [], "net": "99.00"} if request.json.get("lots") else made

    fake.answer("POST", PATH, paid)
    told = run("teardown", "--devices", two(tmp_path), *HERE)
    assert (told.exit_code, "sold together" in told.stdout) == (0, False)


def priced(grade: str, from_weight: str | None) -> dict[str, Any]:
    """A grade as an answer counts it, in lots from a weight on."""
    price = {**PRICE, "from_weight": from_weight}
    return {"grade": grade, "name": grade, "unpriced": None, "price": price}


def test_what_takes_a_licence_is_in_no_pile(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """What comes out of a device that only some may open makes no lot heavier, and is asked with none: what
    is told of one pile holds for everybody.
    """
    made = samples.teardown()

    def paid(request: Recorded) -> dict[str, Any]:
        if request.json["kind"] == "cooler":
            return {**made, "licence": LICENCE}
        better = {"net": "12.33", "prices": [priced("copper-no2", "5 kg")]}
        return {**made, **(better if request.json.get("lots") else {})}

    fake.answer("POST", PATH, paid)
    told = run("teardown", "--devices", two(tmp_path, "cooler,90 lb\n"), *HERE)
    assert told.exit_code == 0, told.stderr
    assert "leaves 2.00 more" in words(told.stdout)
    with_lots = [(one["kind"], one["lots"]) for one in asked(fake) if one.get("lots")]
    assert with_lots == [("motor", {"copper-no2": "3.628738 kg"})]


def test_only_a_lot_that_is_paid_otherwise_is_named(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """Of two grades in one pile each, one of which reaches no other price, the other alone is told to ask
    with; where none does there is nothing to ask with, and nothing is told.
    """
    (copper,) = samples.teardown()["piles"]
    made = {**samples.teardown(), "piles": [copper, {**copper, "grade": "light-iron", "name": "Light iron"}]}

    def paid(request: Recorded, better: str = "5 kg") -> dict[str, Any]:
        lots = bool(request.json.get("lots"))
        prices = [priced("copper-no2", better if lots else "2 kg"), priced("light-iron", "1 kg")]
        return {**made, "net": "12.33" if lots else made["net"], "prices": prices}

    fake.answer("POST", PATH, paid)
    told = words(run("teardown", "--devices", two(tmp_path), *HERE).stdout)
    assert [one.get("lots") for one in asked(fake)] == [
        None, {"copper-no2": "3.628738 kg", "light-iron": "3.628738 kg"},
    ]  # fmt: skip
    assert 'leaves 2.00 more; to have that counted: --lot "copper-no2=5 kg"' in told
    assert "light-iron=" not in told
    fake.answer("POST", PATH, lambda request: paid(request, better="2 kg"))
    assert "sold together" not in run("teardown", "--devices", two(tmp_path), *HERE).stdout


def test_a_lot_is_as_heavy_as_what_there_is_for_it(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """Where the plans with a lot bring less of the grade than that, they are asked again with what they do
    bring, and what that leaves more is told.
    """
    (copper,) = samples.teardown()["piles"]
    lighter = {**copper, "weight": {"kg": "1.5", "shown": "1.5 kg (3 lb 5 oz)"}}
    asked_with: dict[str | None, dict[str, Any]] = {
        None: {"net": "11.33"},
        "3.628738 kg": {"net": "14.33", "piles": [lighter], "prices": [priced("copper-no2", "3.5 kg")]},
        "3.0 kg": {"net": "12.33", "piles": [lighter], "prices": [priced("copper-no2", "3 kg")]},
    }

    def paid(request: Recorded) -> dict[str, Any]:
        return {**samples.teardown(), **asked_with[request.json.get("lots", {}).get("copper-no2")]}

    fake.answer("POST", PATH, paid)
    told = run("teardown", "--devices", two(tmp_path), *HERE)
    assert told.exit_code == 0, told.stderr
    assert 'leaves 2.00 more; to have that counted: --lot "copper-no2=3 kg"' in words(told.stdout)


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


def test_a_line_with_a_fault_is_looked_at_as_well(fake: FakeGradewright, run: Run) -> None:
    """What of a line can be read is asked, so that its other faults are told with those of the file; what is
    wrong there already is not told again.
    """
    errors = [
        {"detail": "'nonsense' is not a grade.", "pointer": "#/leftover/grade"},
        {"detail": "Give the minutes that you need.", "pointer": "#/minutes"},
    ]
    fake.problem("POST", PATH, "unknown-grade", errors=errors)
    text = "kind,weight,minutes,leftover\nmotor,9 lb,-8,nonsense\nmotor,9,,nonsense\n"
    told = run("teardown", "--devices", "-", *HERE, input=text)
    assert told.stderr.splitlines() == [
        "-: line 2, minutes: '-8' is no number of minutes; write them in plain digits, such as 40 or 2.5.",
        "-: line 2, leftover: 'nonsense' is not a grade.",
        "-: line 3, weight: '9' has no unit; write 9 kg or 9 lb.",
        "Nothing was worked out.",
    ]
    assert ["minutes" in one for one in asked(fake)] == [False]


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
    """Beside a list there is neither a file of one device nor a kind: it is told that one is too many."""
    told = run("teardown", *more, "--devices", "-", *HERE, input=FILE)
    assert told.exit_code == 2
    assert "--devices; one of them is too many" in words(told.stderr)


def test_what_a_kind_lacks(run: Run) -> None:
    """A kind without a weight, a weight without a kind, or nothing at all: what is missing is told."""
    told = run("teardown", "--kind", "motor", *HERE)
    assert (told.exit_code, "--weight is missing beside --kind" in words(told.stderr)) == (2, True)
    told = run("teardown", "--weight", "9 lb", *HERE)
    assert (told.exit_code, "--kind is missing beside --weight" in words(told.stderr)) == (2, True)
    told = run("teardown", *HERE)
    assert (told.exit_code, "--template prints a device" in words(told.stderr)) == (2, True)


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
    assert [(one["kind"], one.get("count")) for one in asked(fake)] == [("treadmill", None), ("motor", 4)] * 2
    assert run("teardown", "--template").stdout.startswith("# A device and what is in it.")
    assert run("teardown", "--template", "--devices", "x.csv").stdout == file.read_text()
