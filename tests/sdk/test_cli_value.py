"""gradewright-client value: from a file to a table, or to JSON."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.sdk.conftest import Run

from gradewright_sdk.cli._show import weight
from gradewright_sdk.testing import FakeGradewright, Recorded, samples

CSV = "name,weight,metal,soldered\nwinding,2 lb,copper,yes\n"
MANY = "name,weight,grade\n" + "".join(f"p{n},1 kg,copper-no2\n" for n in range(1, 2501))


@pytest.fixture
def parts(tmp_path: Path) -> str:
    file = tmp_path / "parts.csv"
    file.write_text(CSV)
    return str(file)


def incomplete() -> dict[str, Any]:
    """A valuation of four parts: one priced, one undecided, one without a price, one that can be raised."""
    undecided = samples.valued_part(
        name="odd [red] bar",
        outcome="undecided",
        grade=None,
        grade_name=None,
        price=None,
        amount=None,
        unpriced="too little is known",
        candidates=[
            {"grade": "copper-no1", "name": "Copper No. 1", "amount": samples.spread("8.00", "8.40", "8.80")},
            {"grade": "copper-no2", "name": "Copper No. 2", "amount": samples.spread("6.40", "6.70", "7.00")},
        ],
        next_test=samples.next_test(),
    )
    unpriced = samples.valued_part(
        name="frame", outcome="named", grade="light-iron", grade_name="Light iron", price=None, amount=None,
        unpriced="no yard posted it",
    )  # fmt: skip
    better = {
        "preparation": "open-motor",
        "name": "Open the motor",
        "how": "Cut the windings out.",
        "minutes": "20",
        "grade": "copper-no2",
        "grade_name": "Copper No. 2",
        "gain": "4.10",
        "per_hour": "12.30",
        "cautions": ["mains-lead"],
    }
    motor = samples.valued_part(name="motor", count=2, raises=[better], cautions=["stored-charge"])
    charge = {"id": "stored-charge", "name": "Stored charge", "says": "Discharge and verify.", "source": "x"}
    return samples.valuation(
        samples.valued_part(),
        undecided,
        unpriced,
        motor,
        complete=False,
        missing=["odd [red] bar: too little is known", "frame: no yard posted it"],
        totals={**samples.spread("12.80", "13.40", "14.00"), "cash": "13.40", "priced": 2, "unpriced": 2},
        cautions=[charge],
    )


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


def test_table_for_people(fake: FakeGradewright, run: Run, parts: str) -> None:
    """The table tells parts, prices and how sure, piles, totals, what is missing, raises, cautions, steps
    and pins.
    """
    fake.answer("POST", "/v1/valuations", incomplete(), headers={"Valuation-Id": "v-7"})
    result = run("value", parts, "--region", "XO-KEL", "--keep", columns=120)
    shown = " ".join(result.stdout.split())
    for text in (
        "XO-KEL, 2026-05-04, prices in USD",
        "winding Copper No. 2 3.35 per lb 6.40 – 6.70 – 7.00",
        "0.907 kg (2 lb)",
        "3 yards, 2 days ago",
        "motor ×2",
        "odd [red] bar undecided - not counted",
        "6.70 to 8.40?",
        "frame Light iron no price not counted",
        "Piles Copper No. 2 0.907 kg (2 lb) 6.40 – 6.70 – 7.00",
        "Total 12.80 – 13.40 – 14.00 USD (2 of 4 parts counted)",
        "In cash, likely 13.40 USD",
        "INCOMPLETE: 2 parts have no amount and are not in the total.",
        "Missing - odd [red] bar: too little is known - frame: no yard posted it",
        "Open the motor: motor 20 min 4.10 12.30",
        "becomes Copper No. 2. Cut the windings out.",
        "! Stored charge (motor) Discharge and verify.",
        "! Mains lead (motor) Unplug and wait.",
        "1. odd [red] bar: Is there solder on it? (by eye, 0.2 min) Decides between 6.70 and 8.40. "
        "Beware: tinned ends count as solder",
        "2. Open the motor (motor): adds 4.10 in 20 min, 12.30 USD an hour.",
        "3. Ask a yard what it pays for light-iron",
        "Rests on rulebook 2018.1, ledger revision 312, method 1.",
        f"SHA-256 {samples.SHA}",
        "The same again: --on 2026-05-04 --known-at 312 --rulebook 2018.1",
        "Kept as v-7",
    ):
        assert text in shown


def doubtful(number: int) -> dict[str, Any]:
    """A valuation of a motor that has one caution, and of a lump that may have it, and others."""
    names = [f"danger-{n}" for n in range(number)]
    motor = samples.valued_part(name="motor", cautions=["charge"])
    lump = samples.valued_part(
        name="lump", outcome="undecided", cautions=["charge", *names], possible_cautions=["charge", *names]
    )
    charge = {"id": "charge", "name": "Charge", "says": "Wait.", "source": "x", "certain": True}
    others = [
        {"id": name, "name": name.title(), "says": f"Mind {name}.", "source": "x", "certain": False}
        for name in names
    ]
    return samples.valuation(motor, lump, cautions=[charge, *others])


def test_cautions_that_may_apply(fake: FakeGradewright, run: Run, parts: str) -> None:
    """By each caution stand the parts that it concerns, and those that it may; many that may are named."""
    fake.answer("POST", "/v1/valuations", doubtful(2))
    shown = " ".join(run("value", parts, "--region", "XO-KEL").stdout.split())
    assert "! Charge (motor; may apply to lump: take it to, until you know more) Wait." in shown
    assert "? Danger-1 (may apply to lump: take it to, until you know more) Mind danger-1." in shown
    fake.answer("POST", "/v1/valuations", doubtful(9))
    shown = " ".join(run("value", parts, "--region", "XO-KEL").stdout.split())
    assert "Wait. ? May apply to lump: take it to, until you know more Danger-0; Danger-1;" in shown
    assert "Mind danger" not in shown


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


@pytest.fixture(autouse=True)
def mains_lead(fake: FakeGradewright, run: Run) -> None:
    cautions = {"mains-lead": {"name": "Mains lead", "says": "Unplug and wait."}}
    fake.answer("GET", "/v1/rulebooks/*", samples.rulebook(cautions=cautions))


@pytest.mark.parametrize("columns", [60, 80, 132])
def test_table_fits_and_is_plain_in_a_pipe(fake: FakeGradewright, run: Run, parts: str, columns: int) -> None:
    """In a pipe the table has no colours, is no wider than asked, and cuts no amount short."""
    fake.answer("POST", "/v1/valuations", incomplete())
    result = run("value", parts, "--region", "XO-KEL", columns=columns)
    assert "\x1b" not in result.stdout
    # The SHA-256 is one word of 64 and cannot be broken usefully below 72 columns.
    lines = [line for line in result.stdout.splitlines() if samples.SHA[:40] not in line]
    assert max(map(len, lines)) <= columns
    assert "6.40 – 6.70 – 7.00" in result.stdout
    assert "…" not in result.stdout


def test_complete_valuation_does_not_cry_wolf(fake: FakeGradewright, run: Run, parts: str) -> None:
    """A complete valuation is not called incomplete, and has no empty sections."""
    fake.answer("POST", "/v1/valuations", samples.valuation())
    shown = run("value", parts, "--region", "XO-KEL").stdout
    assert "1 of 1 parts counted" in shown
    for title in (
        "INCOMPLETE",
        "Missing",
        "What would raise it",
        "Cautions",
        "What to try next",
        "In cash",
        "Kept",
    ):
        assert title not in shown


@pytest.mark.parametrize(
    ("many", "told"), [(3, "g0; g1; g2"), (12, "g0; g1; g10 and 9 more (--json names them all)")]
)
def test_what_nobody_pays_for_is_named_in_short(
    fake: FakeGradewright, run: Run, parts: str, many: int, told: str
) -> None:
    """Of many grades without a price the first are named, and how many more there are."""
    unpriced = {"outcome": "named", "price": None, "amount": None, "unpriced": "no yard posted it"}
    lacking = [samples.valued_part(grade=f"g{n}", **unpriced) for n in range(many)]
    fake.answer("POST", "/v1/valuations", samples.valuation(*lacking))
    shown = " ".join(run("value", parts, "--region", "XO-KEL").stdout.split())
    assert f"Ask a yard what it pays for {told}, and post it" in shown


def test_a_day_that_has_not_come_is_said_to_be_one(fake: FakeGradewright, run: Run, parts: str) -> None:
    """Of a day to come it is told that it is one, as no price can have been seen there."""
    told = "has not come yet: these are prices seen until now."
    for on, yet in (("2999-01-01", True), ("2026-05-04", False)):
        fake.answer("POST", "/v1/valuations", {**samples.valuation(), "on": on})
        shown = " ".join(run("value", parts, "--region", "XO-KEL").stdout.split())
        assert (f"{on} {told}" in shown) is yet


@pytest.mark.parametrize("who", ["Low Quay does", "Yards in Kelder Bay do"])
def test_no_yard_is_asked_for_what_is_not_taken(
    fake: FakeGradewright, run: Run, parts: str, who: str
) -> None:
    """Of a grade that the place does not take nobody is sent to ask what it pays."""
    says = f"{who} not take Light iron, since 2026-01-01: no room. Try another yard, or the whole region."
    one = samples.valued_part(outcome="named", price=None, amount=None, unpriced=says)
    fake.answer("POST", "/v1/valuations", samples.valuation({**one, "grade_name": "Light iron"}))
    shown = " ".join(run("value", parts, "--yard", "low-quay").stdout.split())
    assert "no price" in shown
    assert "Ask a yard what it pays" not in shown


def test_whose_minutes_they_are(fake: FakeGradewright, run: Run, parts: str) -> None:
    """Work that would raise a part is told to go by the rulebook, as members can have other figures."""
    fake.answer("POST", "/v1/valuations", incomplete())
    shown = run("value", parts, "--region", "XO-KEL").stdout
    assert "Minutes, and how much comes off, as rulebook 2018.1 has them." in shown


def test_text_from_elsewhere_cannot_steer_the_terminal(fake: FakeGradewright, run: Run, parts: str) -> None:
    """Control and direction characters in names are shown as blanks."""
    fake.answer("POST", "/v1/valuations", samples.valuation(samples.valued_part(name="a\x1b[2Jb\u202ec")))
    shown = run("value", parts, "--region", "XO-KEL").stdout
    assert "\x1b" not in shown
    assert "\u202e" not in shown
    assert "a [2Jb c" in shown


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


def test_many_raises_are_cut_to_the_best(fake: FakeGradewright, run: Run, parts: str) -> None:
    """Of many ways to raise it the ten best per hour are shown, and how many more there are."""

    def better(n: int) -> dict[str, Any]:
        hourly = None if n == 11 else f"{n}.00"
        minutes = "0" if n == 11 else "1"
        work = {"preparation": f"p{n}", "name": f"Work {n}", "minutes": minutes, "grade": "x"}
        return {**work, "gain": "1.00", "per_hour": hourly}

    part = samples.valued_part(raises=[better(n) for n in range(12)])
    fake.answer("POST", "/v1/valuations", samples.valuation(part))
    shown = run("value", parts, "--region", "XO-KEL").stdout
    order = [line.split(":")[0].strip() for line in shown.splitlines() if line.strip().startswith("Work ")]
    assert order == [f"Work {n}" for n in (11, 10, 9, 8, 7, 6, 5, 4, 3, 2)]
    assert "and 2 more" in shown


def test_a_sequence_of_work_is_told_step_by_step(fake: FakeGradewright, run: Run, parts: str) -> None:
    """Several steps stand in one line with what they add; below it what is left, taken off and lost, and how
    each step is done.
    """
    plug = {
        "preparation": "cut-plug-off",
        "name": "Cut the plug off",
        "how": "At both ends.",
        "minutes": "0.5",
    }
    strip = {"preparation": "strip-cord", "name": "Strip the cord", "how": "By machine.", "minutes": "1.5"}
    both = {
        "preparation": None,
        "how": None,
        "name": "Cut the plug off, then strip the cord",
        "steps": [plug, strip],
        "minutes": "2",
        "grade": "copper-no2",
        "grade_name": "Copper No. 2",
        "kept_kg": "0.4675",
        "shed": [
            {"grade": "plug-ends", "grade_name": "Plug ends", "weight_kg": "0.15", "amount": "0.20"},
            {"grade": "screws", "grade_name": "Screws", "weight_kg": "0.01", "amount": None},
        ],
        "lost_kg": "0.3725",
        "gain": "3.10",
        "per_hour": "93.00",
        "best": ["in all"],
    }
    fake.answer("POST", "/v1/valuations", samples.valuation(samples.valued_part(name="cord", raises=[both])))
    shown = " ".join(run("value", parts, "--region", "XO-KEL", columns=120).stdout.split())
    for text in (
        "Cut the plug off, then strip the cord: cord 2 min 3.10 93.00",
        "adds the most in all. becomes Copper No. 2 (0.468 kg (1 lb)).",
        "Beside it Plug ends (0.150 kg (5.3 oz), 0.20).",
        "Beside it Screws (0.010 kg (0.4 oz), which has no price).",
        "0.372 kg (13.1 oz) is lost. 1. At both ends. (0.5 min) 2. By machine. (1.5 min)",
        "Cut the plug off, then strip the cord (cord): adds 3.10 in 2 min, 93.00 USD an hour.",
    ):
        assert text in shown, shown


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


@given(st.decimals(0, 100_000, places=9))
def test_weights_for_people(kg: Decimal) -> None:
    """A weight in both notations is right to half an ounce, or to a twentieth of one below a pound."""
    shown = weight(kg)
    metric, _, imperial = shown.partition(" kg (")
    assert abs(Decimal(metric) - kg) <= Decimal("0.005")
    words = imperial.rstrip(")").split()
    numbers = {unit: Decimal(number) for number, unit in zip(words[::2], words[1::2], strict=True)}
    ounces = numbers.get("lb", Decimal(0)) * 16 + numbers.get("oz", Decimal(0))
    assert abs(ounces * Decimal("0.028349523125") - kg) <= Decimal("0.0156")
    assert numbers.get("oz", Decimal(0)) < 16


def test_what_an_hour_is_worth(fake: FakeGradewright, run: Run, parts: str) -> None:
    """--hour-rate goes with the list as it is written, and is told among what repeats it."""
    fake.answer("POST", "/v1/valuations", samples.valuation(hour_rate="15.00"))
    shown = run("value", parts, "--region", "XO-KEL", "--hour-rate", "15.00", columns=120).stdout
    assert fake.requests[-1].json["hour_rate"] == "15.00"
    assert "--rulebook 2018.1 --hour-rate 15.00" in shown
