"""Teardowns through both clients and the client's command line."""

from __future__ import annotations

import copy
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk import Client, Money
from gradewright_sdk.cli._device import TEMPLATE, read_device
from gradewright_sdk.testing import FakeGradewright, samples

PATH = "/v1/teardowns"
DEVICE: dict[str, Any] = {
    "name": "motor",
    "weight": "9 lb",
    "grade": "copper-residue",
    "opens": {"how": "all-at-once", "minutes": Decimal(9)},
    "parts": [{"name": "windings", "weight": "4 lb", "grade": "Birch"}],
}
FILE = """\
hour_rate: 15
lots: {Birch: 20 lb}
device:
  name: motor
  count: 2
  weight: 9 lb
  observed: {assembly: motor, made_year: 1998}
  opens: {how: all-at-once, minutes: 9}
  parts:
    - name: windings
      weight: {low: 2 lb, likely: 4 lb, high: 5 lb}
      grade: "2"
"""


def words(text: str) -> str:
    """The text in one line, however it was broken."""
    return " ".join(text.split())


async def test_both_clients_ask_the_same(fake: FakeGradewright, client: Client) -> None:
    """A device is sent as it is described, exactly; kept, the answer has its id, and money its currency."""
    fake.answer("POST", PATH, samples.teardown(), status=201, headers={"Teardown-Id": "t-1"})
    asked: dict[str, Any] = {"hour_rate": Decimal("15.00"), "region": "XO-KEL", "keep": True}
    found = client.teardowns.plan(DEVICE, lots={"Birch": "20 lb"}, **asked)
    async with fake.async_client() as awaited:
        assert (await awaited.teardowns.plan(DEVICE, lots={"Birch": "20 lb"}, **asked)).raw == found.raw
    first, second = fake.requests
    assert first.json == second.json
    assert first.json == {
        "region": "XO-KEL",
        "hour_rate": "15.00",
        "keep": True,
        "lots": {"Birch": "20 lb"},
        "device": {**DEVICE, "opens": {"how": "all-at-once", "minutes": "9"}},
    }
    assert "idempotency-key" in first.headers
    assert (found.id, found.plan.choice, found.net) == ("t-1", "open", Money(Decimal("11.33"), "USD"))
    assert [node.name for node in found.plan.walk()] == ["motor", "windings"]
    assert found.plan.opening is not None
    assert found.plan.opening.up_to == Money(Decimal("36.50"), "USD")


def test_a_device_as_a_list(fake: FakeGradewright, client: Client) -> None:
    """It is sent as a list and answered as one, each part with the number of the one that it is within."""
    answer = samples.teardown()
    parts = [{"within": None}, {"within": 0}]
    answer["parts"] = [{**answer["plan"], "parts": [], "number": n, **each} for n, each in enumerate(parts)]
    fake.answer("POST", PATH, answer)
    listed: list[dict[str, Any]] = [{"name": "motor"}, {"name": "windings", "weight": "4 lb", "within": 0}]
    found = client.teardowns.plan(parts=listed, hour_rate="15", region="XO-KEL")
    assert fake.requests[-1].json["parts"] == listed
    assert [(part.number, part.within) for part in found.parts] == [(0, None), (1, 0)]
    with pytest.raises(ValueError, match="one of them"):
        client.teardowns.plan(DEVICE, parts=listed, hour_rate="15", region="XO-KEL")
    assert client.teardowns.plan(listed, hour_rate="15", region="XO-KEL").raw == found.raw
    assert fake.requests[-1].json == fake.requests[0].json


def test_from_a_kind_and_a_weight_to_an_answer(fake: FakeGradewright, client: Client) -> None:
    """One call: the kind, its weight and the place; an hour is worth nothing unless it is said."""
    usual = {
        "kind": "treadmill", "name": "Treadmill", "weight": {"kg": "70", "shown": "70 kg (154 lb)"},
        "records": 3, "voices": 2, "published": False,
        "minutes": {"low": "50", "likely": "60", "high": "80"},
        "apart": {"low": "38.00", "likely": "44.00", "high": "52.00"},
        "unpriced": [], "says": ["Treadmill of 70 kg (154 lb): whole it pays 11.20."],
    }  # fmt: skip
    fake.answer("POST", PATH, samples.teardown(typical=usual))
    found = client.teardowns.of("treadmill", "70 kg", region="XO-KEL")
    assert fake.requests[-1].json == {
        "region": "XO-KEL", "kind": "treadmill", "weight": "70 kg", "hour_rate": "0", "keep": False,
    }  # fmt: skip
    assert found.typical is not None
    assert found.typical.apart is not None
    assert (found.typical.apart.high, found.typical.minutes.high) == (Money(Decimal("52.00"), "USD"), 80)


def test_a_caution_in_words_of_ones_own_has_no_id(fake: FakeGradewright, client: Client) -> None:
    """What was told with the request comes back among the cautions, without an id."""
    own = {"id": None, "name": "motor", "says": "Hot.", "source": "told with the request", "certain": True}
    fake.answer("POST", PATH, samples.teardown(cautions=[own]))
    (caution,) = client.teardowns.plan(DEVICE, hour_rate="0", region="XO-KEL").cautions
    assert (caution.id, caution.says) == ("", "Hot.")


def test_kept_ones_are_read_and_replayed(fake: FakeGradewright, client: Client) -> None:
    """By its id an answer is fetched and replayed, under paths of its own."""
    fake.answer("GET", f"{PATH}/t-1", samples.teardown(), headers={"Teardown-Id": "t-1"})
    fake.answer("POST", f"{PATH}/t-1/replay", samples.teardown(), headers={"Teardown-Id": "t-1"})
    assert client.teardowns.get("t-1").raw == client.teardowns.replay("t-1").raw


def test_a_device_in_a_file(fake: FakeGradewright, run: Run) -> None:
    """Numbers go as the text that was written, counts and years as numbers; the plan is drawn as a tree below
    its cautions.
    """
    fake.answer("POST", PATH, samples.teardown())
    told = run("teardown", "-", "--region", "XO-KEL", "--lot", "tin=3 lb", input=FILE)
    assert told.exit_code == 0, told.stderr
    sent = fake.requests[-1].json
    assert (sent["hour_rate"], sent["lots"]) == ("15", {"Birch": "20 lb", "tin": "3 lb"})
    assert (sent["device"]["count"], sent["device"]["observed"]["made_year"]) == (2, 1998)
    assert sent["device"]["opens"]["minutes"] == "9"
    assert sent["device"]["parts"][0]["grade"] == "2"
    shown = words(told.stdout)
    assert shown.index("! Dust: Wear a mask.") < shown.index("motor open")
    for part in (
        "Open motor: 13.58 USD instead of 8.10 whole.",
        "├── windings sell whole",
        "labour at 15.00 an hour 2.25",
        "opening it pays below a rate of 36.50",
        "Where Copper No. 2 pays 2.49 instead",
    ):
        assert part in shown
    as_json = run("teardown", "-", "--region", "XO-KEL", "--hour-rate", "0", "--json", input=FILE)
    assert json.loads(as_json.stdout)["worth"]["likely"] == "13.58"
    assert fake.requests[-1].json["hour_rate"] == "0"


LISTED = """\
- {name: motor, weight: 9 lb, opens: {how: all-at-once, minutes: 9}}
- name: windings
  within: 0
  weight: 4 lb
"""


@pytest.mark.parametrize("text", [LISTED, "hour_rate: 3\nparts:\n" + LISTED], ids=["bare", "in a request"])
def test_a_list_in_a_file(fake: FakeGradewright, run: Run, text: str) -> None:
    """A list is sent as one, the places in it as numbers, and shown as the tree that it is; a fault of the
    service is told at its line.
    """
    answer = samples.teardown()
    inner = answer["plan"]["parts"][0]
    answer["parts"] = [{**answer["plan"], "parts": [], "within": None}, {**inner, "parts": [], "within": 0}]
    answer["parts"] = [{name: v for name, v in part.items() if name != "parts"} for part in answer["parts"]]
    answer["plan"] = {**answer["plan"], "parts": []}
    fake.answer("POST", PATH, answer)
    told = run("teardown", "-", "--region", "XO-KEL", "--hour-rate", "15", input=text)
    assert told.exit_code == 0, told.stderr
    sent = fake.requests[-1].json
    assert "device" not in sent
    assert [part.get("within") for part in sent["parts"]] == [None, 0]
    assert "windings sell whole" in words(told.stdout)
    fault = {"detail": "weigh it", "pointer": "#/parts/1/weight"}
    problem = {"type": "about:blank", "title": "Invalid", "status": 422, "detail": "no", "errors": [fault]}
    fake.answer("POST", PATH, problem, status=422)
    refused = run("teardown", "-", "--region", "XO-KEL", "--hour-rate", "15", input=text)
    line = 4 + text.startswith("hour") * 2
    assert f"line {line}, weight: weigh it" in words(refused.stderr)


def test_what_nobody_weighed_is_shown_as_usual(fake: FakeGradewright, run: Run) -> None:
    """A part whose weight is that of others of its kind has it from low to high beside it."""
    answer = samples.teardown()
    usual = {"kind": "motor", "name": "Motor", "records": 3, "voices": 2, "published": False, "says": "So."}
    weight = {"kg": "1.2", "shown": "1.2 kg", "low_kg": "0.9", "high_kg": "1.5"}
    answer["plan"]["parts"][0] |= {"usual": usual, "weight": weight}
    fake.answer("POST", PATH, answer)
    told = run("teardown", "-", "--region", "XO-KEL", input=FILE)
    assert "1.2 kg, not weighed: usually 0.9 to 1.5 kg" in words(told.stdout)


@pytest.mark.parametrize(
    ("settled_by", "told"),
    [("Assay it.", "To settle it: Assay it."), (None, "Ask the yard what it takes it as.")],
)
def test_what_a_disputed_rule_grades_is_told(
    fake: FakeGradewright, run: Run, settled_by: str | None, told: str
) -> None:
    """Once, with the parts that it is about, and what would settle it, or that the yard is to be asked."""
    answer = samples.teardown()
    answer["plan"]["parts"][0] |= {"confidence": "disputed", "settled_by": settled_by}
    fake.answer("POST", PATH, answer)
    shown = words(run("teardown", "--kind", "motor", "--weight", "9 lb", "--region", "XO-KEL").stdout)
    assert shown.count(f"Disputed: - windings. {told}") == 1
    fake.answer("POST", PATH, samples.teardown())
    shown = run("teardown", "--kind", "motor", "--weight", "9 lb", "--region", "XO-KEL").stdout
    assert "Disputed" not in shown


def test_a_kind_on_the_command_line(fake: FakeGradewright, run: Run) -> None:
    """A kind and a weight need no file."""
    fake.answer("POST", PATH, samples.teardown())
    told = run("teardown", "--kind", "treadmill", "--weight", "70 kg", "--hour-rate", "15", "--region", "XO")
    assert told.exit_code == 0, told.stderr
    assert fake.requests[-1].json["kind"] == "treadmill"
    assert "at nothing an hour" not in words(told.stdout)


@pytest.mark.parametrize(
    ("text", "sent"),
    [
        ("light-iron", {"grade": "light-iron"}),
        ("4.00", {"charge": "4.00"}),
        ("0.05 per lb", {"charge": "0.05", "per": "lb"}),
        ("-0.05/kg", {"charge": "-0.05", "per": "kg"}),
    ],
)
def test_what_is_left_of_a_kind_on_the_command_line(
    fake: FakeGradewright, run: Run, text: str, sent: dict[str, str]
) -> None:
    """What becomes of its rest is a grade, or what it costs to be rid of it, for the device or a unit."""
    fake.answer("POST", PATH, samples.teardown())
    kind = ("teardown", "--kind", "treadmill", "--weight", "70 kg", "--region", "XO-KEL")
    assert run(*kind, "--leftover", text).exit_code == 0
    assert fake.requests[-1].json["leftover"] == sent
    assert run("teardown", "-", "--leftover", text, "--region", "XO-KEL").exit_code == 2


def test_several_of_a_kind_on_the_command_line(fake: FakeGradewright, run: Run) -> None:
    """How many weigh that is sent as a number; it is said of a kind alone, and a weight that needs it is told
    with the option.
    """
    fake.answer("POST", PATH, samples.teardown())
    kind = ("teardown", "--kind", "treadmill", "--weight", "700 kg", "--region", "XO-KEL")
    assert run(*kind, "--count", "10").exit_code == 0
    assert fake.requests[-1].json["count"] == 10
    assert run(*kind).exit_code == 0
    assert "count" not in fake.requests[-1].json
    assert run("teardown", "-", "--count", "10", "--region", "XO-KEL").exit_code == 2
    says = "700 kg is far more than one Treadmill weighs: give `count`, how many they are."
    fake.problem("POST", PATH, "invalid-request", errors=[{"detail": says, "pointer": "#/weight"}])
    assert "--weight: 700 kg is far more than one Treadmill weighs: give --count" in words(run(*kind).stderr)


def test_what_weights_and_piles_say_is_told(fake: FakeGradewright, run: Run) -> None:
    """Below the figures: what to know of the weights, and the plan that is better by its piles."""
    better = {
        "gain": "9.64",
        "lots": {"copper-no2": "20 lb"},
        "says": "Another plan (open motor) leaves 9.64 more.",
    }
    fake.answer("POST", PATH, samples.teardown(notes=["rod may weigh up to 3 kg."], together=better))
    shown = words(run("teardown", "-", "--region", "XO-KEL", input=FILE).stdout)
    assert "- rod may weigh up to 3 kg. - Another plan (open motor) leaves 9.64 more." in shown


def test_what_weighing_takes_is_told(fake: FakeGradewright, run: Run) -> None:
    """The minutes to weigh a part, and what they cost at the hour's rate, stand before what it is worth."""
    part = {"number": 1, "name": "windings", "gain": "0.35", "pays": True}
    parts = [part, {**part, "name": "rod", "gain": "0.02", "pays": False}]
    weighing = {"minutes": "1", "costs": "0.25", "unweighed": 2, "parts": parts}
    fake.answer("POST", PATH, samples.teardown(weighing=weighing))
    told = run("teardown", "-", "--region", "XO-KEL", input=FILE).stdout
    assert "What weighing would be worth; a part takes 1 min, 0.25 by the hour's rate:" in told
    assert "windings 0.35, weigh it rod 0.02, not worth weighing" in words(told)


@pytest.mark.parametrize("columns", [40, 60, 80, 100])
def test_no_line_of_the_tree_breaks_within_an_amount(fake: FakeGradewright, run: Run, columns: int) -> None:
    """Where a part and its figures do not fit into a line, it breaks between them, at any width that holds
    each of them.
    """
    made = samples.teardown()
    amounts = {"low": "1234.56", "likely": "2345.67", "high": "3456.78"}
    named = {"name": "a part with a long name", "choice": "sell-whole", "amount": amounts, "opening": None}
    part = {**made["plan"]["parts"][0], **named, "grade_name": "Insulated copper wire, 50 %"}
    plan = {**made["plan"], "parts": [part] * 3}
    fake.answer("POST", PATH, {**made, "plan": plan})
    told = run("teardown", "-", "--region", "XO-KEL", input=FILE, columns=columns).stdout
    lines = told[told.index("motor  open") : told.index("\nwhole ")].splitlines()
    assert sum("1234.56 – 2345.67 – 3456.78" in line for line in lines) == 3
    assert sum("Insulated copper wire, 50 %" in line for line in lines) == 3
    assert max(map(len, lines)) <= columns
    wide = [line for line in lines if "a part with a long name  sell whole" in line]
    assert len(wide) == 3


def test_time_that_counts_at_nothing_is_told(fake: FakeGradewright, run: Run) -> None:
    """Where no rate is given with a kind, the output says that an hour counts at nothing."""
    fake.answer("POST", PATH, samples.teardown(hour_rate="0"))
    told = run("teardown", "--kind", "treadmill", "--weight", "70 kg", "--region", "XO-KEL")
    assert fake.requests[-1].json["hour_rate"] == "0"
    assert "Your time counts at nothing an hour" in words(told.stdout)


def test_a_long_list_of_what_is_missing_is_cut(fake: FakeGradewright, run: Run) -> None:
    """Of many things without a price the first are told, and how many more there are."""
    missing = [f"part {n}: nobody has posted a price" for n in range(9)]
    fake.answer("POST", PATH, samples.teardown(missing=missing))
    shown = words(run("teardown", "-", "--region", "XO-KEL", input=FILE).stdout)
    assert "part 4: nobody" in shown
    assert "part 5" not in shown
    assert "and 4 more like these (--json has them all)" in shown


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({}, "minutes, by 6 devices of 5 members "),
        ({"records": 1, "voices": 1}, "minutes, by 1 device of 1 member "),
        ({"minutes": dict.fromkeys(("low", "likely", "high"), "40")}, "minutes "),
        ({"published": True}, "minutes "),
        ({"in_the_plan": "0"}, "minutes "),
    ],
)
def test_whose_minutes_they_are(fake: FakeGradewright, run: Run, changes: dict[str, Any], told: str) -> None:
    """The minutes of a kind are told with whose work says so, where they are not one's own."""
    typical = {
        "kind": "treadmill",
        "name": "Treadmill",
        "weight": samples.teardown()["plan"]["weight"],
        "records": 6,
        "voices": 5,
        "published": False,
        "minutes": {"low": "50", "likely": "66", "high": "80"},
        "says": ["Treadmill of 70 kg."],
        **changes,
    }
    minutes = typical.pop("in_the_plan", "66")
    fake.answer("POST", PATH, samples.teardown(typical=typical, minutes=minutes))
    kind = ("teardown", "--kind", "treadmill", "--weight", "70 kg", "--region", "XO-KEL")
    (line,) = (each for each in run(*kind).stdout.splitlines() if each.startswith("minutes"))
    assert line.startswith(told)
    assert ("by" in line) == ("by" in told)


def test_what_is_left_over_where_and_by_what_is_told(fake: FakeGradewright, run: Run) -> None:
    """The tree has a row for what is left over, the last line tells place, day, rulebook and revision, and a
    change by more than all of a price is left to --json.
    """
    made = samples.teardown()
    far = {**made["changes"][0], "becomes": "6.61", "change": "+100.3 %", "says": "Where it doubles."}
    fake.answer("POST", PATH, {**made, "changes": [*made["changes"], far]})
    shown = words(run("teardown", "-", "--region", "XO-KEL", input=FILE).stdout)
    assert "└── what is left over 2.268 kg (5 lb) 0.38 Light iron" in shown
    assert "Where Copper No. 2 pays" in shown
    assert "Where it doubles." not in shown
    assert shown.endswith("By rulebook 2018.1 on 2026-05-04 at XO-KEL, ledger revision 312.")


def test_without_a_caution_it_is_still_said_to_read_them(fake: FakeGradewright, run: Run) -> None:
    """Where something may be opened, the line to heed cautions and the law stands there in any case."""
    fake.answer("POST", PATH, samples.teardown(cautions=[]))
    told = run("teardown", "-", "--region", "XO-KEL", input=FILE)
    assert "Follow local law." in words(told.stdout)


def test_faults_of_the_service_stand_at_their_lines(fake: FakeGradewright, run: Run) -> None:
    """What the service finds is told at the line of the file that it is about."""
    errors = [
        {"detail": "'2' is not a grade.", "pointer": "#/device/parts/0/grade", "suggestions": ["Birch"]},
        {"detail": "There is no weight.", "pointer": "#/device/parts/0/weight/low"},
    ]
    fake.problem("POST", PATH, "invalid-request", errors=errors)
    told = run("teardown", "-", "--region", "XO-KEL", input=FILE)
    assert told.exit_code == 2
    assert "-: line 11, low: There is no weight." in words(told.stderr)
    assert "-: line 12, grade: '2' is not a grade. Did you mean Birch?" in words(told.stderr)
    assert "Nothing was worked out." in told.stderr


def test_a_field_that_was_meant(fake: FakeGradewright, run: Run) -> None:
    """A field that is not there is told with the one that may have been meant; what may have been meant is
    told once; and a kind that nobody knows stands at its line.
    """
    nothing = "there is no field of this name here; leave it out"
    choice = "'motr' is not a value it takes; did you mean motor?"
    errors = [
        {"detail": nothing, "pointer": "#/device/wieght"},
        {"detail": nothing, "pointer": "#/device/zzz"},
        {"detail": choice, "pointer": "#/device/observed/assembly", "suggestions": ["motor"]},
    ]
    fake.problem("POST", PATH, "invalid-request", errors=errors)
    text = "name: a\nwieght: 3 kg\nzzz: 1\nobserved: {assembly: motr}\nkind: tredmill\n"
    told = run("teardown", "-", "--region", "XO-KEL", "--hour-rate", "0", input=text)
    assert told.stderr.splitlines()[:3] == [
        "-: line 2, wieght: there is no field of this name here. Did you mean weight?",
        f"-: line 3, zzz: {nothing}.",
        f"-: line 4, assembly: {choice}",
    ]
    kind = [
        {"detail": "There is no kind of device 'tredmill' here; write treadmill.", "pointer": "#/device/kind"}
    ]
    fake.problem("POST", PATH, "unknown-device-kind", errors=kind)
    told = run("teardown", "-", "--region", "XO-KEL", "--hour-rate", "0", input=text)
    assert told.exit_code == 2
    assert "-: line 5, kind: There is no kind of device 'tredmill' here; write treadmill." in told.stderr


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("- a\n", "there is no device here"),
        ("name: [a\n", "line 2: this is neither YAML nor JSON"),
        ("name: a\nname: b\n", "line 2, name: this is said twice"),
        ("device: {name: a}\nprice: 3\n", "line 2, price: price does not stand beside device"),
    ],
)
def test_what_cannot_be_read(run: Run, text: str, says: str) -> None:
    """A file that is no device is refused, with the line, before anything is asked."""
    told = run("teardown", "-", "--region", "XO-KEL", "--hour-rate", "0", input=text)
    assert told.exit_code == 2
    assert says in words(told.stderr)


def test_json_is_read_as_well(tmp_path: Path) -> None:
    """A file that another program wrote as JSON is the same device."""
    given = copy.deepcopy(DEVICE)
    given["opens"]["minutes"] = 9
    found = read_device(json.dumps(given, indent=2).encode())
    assert found.device == {**given, "opens": {"how": "all-at-once", "minutes": "9"}}
    assert found.lines["parts/0/grade"] == 13


def test_the_template_is_a_device(run: Run) -> None:
    """--template prints a device that can be read as it is."""
    printed = run("teardown", "--template")
    assert printed.stdout == TEMPLATE
    template = read_device(TEMPLATE.encode()).device
    assert template is not None
    assert template["name"] == "treadmill"
