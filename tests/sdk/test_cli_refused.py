"""What the service says no to is told in the words of the command line, to people and to scripts."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk.testing import FakeGradewright, samples

FILE = "name,weight,grade\na,1 kg,light-iron\n"
MALFORMED = 'write a country or a locality under one, such as "XO-KEL"'
POST = ["post", "--yard", "low-quay", "--observed-on", "x", "--evidence", "seen", "--price", "a 1 USD/lb"]
POINTERS = {"pointer": "#/region"}
PARAMETERS = {"parameter": "region"}


def problem(fake: FakeGradewright, *errors: dict[str, Any], slug: str = "invalid-request") -> None:
    """Every question but the lists is refused with these faults, the detail being about the first."""
    first = errors[0]
    at = first.get("pointer") or first.get("parameter")
    more = f" (and {len(errors) - 1} more)" if errors[1:] else ""
    for method in ("GET", "POST"):
        fake.problem(method, "*", slug, f"{at}: {first['detail']}{more}", errors=errors)
    fake.answer("GET", "/v1/rulebooks/in-force", samples.rulebook())
    fake.answer("GET", "/v1/regions", {"regions": [samples.region(), samples.region(code="XO", name="Or")]})
    fake.answer("GET", "/v1/yards", {"yards": [samples.yard()]})


@pytest.mark.parametrize(
    ("command", "where"),
    [
        (["value", "-"], POINTERS),
        (["grade", "metal=copper"], POINTERS),
        (["prices"], PARAMETERS),
        (["history", "copper-no2"], PARAMETERS),
    ],
)
@pytest.mark.parametrize("written", ["xo-kel", "Kelder bay", "XO-KELL"])
def test_region_in_the_words_of_the_command_line(
    fake: FakeGradewright, run: Run, command: list[str], where: dict[str, str], written: str
) -> None:
    """A region that cannot be one is told with its option and the region that may have been meant."""
    problem(fake, {"detail": MALFORMED, **where})
    result = run(*command, "--region", written, input=FILE)
    assert result.exit_code == 1
    first = result.stderr.splitlines()[0]
    assert first == f"Invalid request: --region: {MALFORMED}. Did you mean XO-KEL?"


def test_a_yard_that_is_there_is_not_suggested_for_itself(fake: FakeGradewright, run: Run) -> None:
    """What the service says of it stands alone, such as that it was not known yet."""
    problem(fake, {"detail": "The yard low-quay was not known yet at revision 3.", "pointer": "#/yard"})
    told = run("value", "-", "--yard", "low-quay", input=FILE).stderr
    assert "was not known yet" in told
    assert "Did you mean" not in told


def test_yard_that_may_have_been_meant(fake: FakeGradewright, run: Run) -> None:
    """A yard is suggested by its slug or its name, if the service itself has suggested none."""
    problem(fake, {"detail": "write the slug of a yard", "pointer": "#/yard"})
    assert (
        "--yard: write the slug of a yard. Did you mean low-quay?"
        in run("value", "-", "--yard", "Low Quay", input=FILE).stderr
    )


def test_suggestions_that_cannot_be_had(fake: FakeGradewright, run: Run) -> None:
    """If the regions cannot be listed the fault is told without a suggestion."""
    problem(fake, {"detail": MALFORMED, "parameter": "region"})
    fake.lose("GET", "/v1/regions")
    result = run("prices", "--region", "xo-kel")
    assert result.exit_code == 1
    assert f"--region: {MALFORMED}.\n" in result.stderr


@pytest.mark.parametrize(
    ("command", "wheres", "places"),
    [
        (POST, ["#/evidence", "#/observed_on", "#/prices/0/per"], ["--evidence", "--observed-on", None]),
        (["value", "-", "--region", "XO"], ["#/known_at", "#/on", "#/rulebook"], ["--known-at", "--on"]),
        (["grade", "metal=copper"], ["#/observed/metal", "#/on"], ["metal", "--on"]),
        (["value", "-", "--region", "XO"], ["#/parts/0/weight", "#/on"], ["part 1, weight", "--on"]),
    ],
)
def test_pointers_become_options(
    fake: FakeGradewright, run: Run, command: list[str], wheres: list[str], places: list[str | None]
) -> None:
    """Every fault is told by its option, observation or part; no JSON pointer is left."""
    problem(fake, *[{"detail": f"wrong {n}", "pointer": where} for n, where in enumerate(wheres)])
    result = run(*command, input=FILE)
    assert result.exit_code == 1
    assert "#/" not in result.stderr
    for n, place in enumerate(places):
        assert place is None or f"  {place}: wrong {n}.\n" in result.stderr


BIN = ["haul", "--bin", "tin 4 lb", "--bin", "tin 5 lb", "--region", "XO"]
CABLE = ["recovery", "cable", "--conductor", "3 x 16", "--weight", "1 kg", "--length", "1 m"]
ASSAY = ["recovery", "assay", "--lot", "1 kg", "--metal", "gold", "--price", "gold=1"]
KIND = ["teardown", "--kind", "treadmill", "--weight", "70 kg", "--leftover", "4 per lb", "--region", "XO"]
PLACED: list[tuple[list[str], dict[str, str]]] = [
    (BIN, {
        "bins/1/weight": "--bin number 2, weight", "bins/1": "--bin number 2", "costs/trip": "--trip-cost",
    }),
    (["haul", "-", "--yard", "a", "--yard", "b"], {"yards/1": "--yard number 2", "bins": "-"}),
    (CABLE, {
        "cable/conductors/0/size": "--conductor number 1, size", "cable/length_within": "--length-within",
        "cable/strip/lot": "--strip", "cable/strip/minutes_per_kg": "--minutes-per-kg",
        "cable/observed/surface": "surface",
    }),
    (ASSAY, {
        "assay/metals/0/metal": "--metal number 1", "assay/metals/0/low": "--metal number 1, low",
        "assay/metals/0/price": "--price of --metal number 1", "assay/like": "--like",
    }),
    (KIND, {"leftover/per": "--leftover", "lots/tin": "--lot tin"}),
    (["record", "treadmill", "-", "--on", "x"],
     {"new_kind/grade": "--sold-as", "made_year": "--made", "parts": "-", "kind": "KIND"}),
    (["compositions", "treadmill"], {"kind": "KIND", "weight": "--weight"}),
]  # fmt: skip


@pytest.mark.parametrize(("command", "places"), PLACED)
def test_pointers_into_decisions_become_options(
    fake: FakeGradewright, run: Run, command: list[str], places: dict[str, str]
) -> None:
    """What a decision was asked wrongly is told by the option that said it, to people and to scripts."""
    problem(fake, *({"detail": f"wrong {at}", "pointer": f"#/{at}"} for at in places))
    given = "grade,weight\ntin,4 lb\n" if command[0] == "haul" else FILE
    told = run(*command, input=given).stderr
    assert [f"  {place}: wrong {at}.\n" in told for at, place in places.items()] == [True] * len(places)
    errors = json.loads(run(*command, "--json", input=given).stderr)["errors"]
    assert [error["place"] for error in errors] == list(places.values())


@pytest.mark.parametrize(
    ("command", "text", "pointers"),
    [
        (
            ["haul", "{}", "--region", "XO"],
            "grade,weight\ntin,4 lb\n\ntin,5 lb\n",
            ("#/bins/1/weight", "#/load"),
        ),
        (["record", "x", "{}", "--on", "x"], f"{FILE}\nb,2 kg,tin\n", ("#/parts/1/weight", "#/weight")),
    ],
)
def test_lines_beside_options(
    fake: FakeGradewright, run: Run, tmp_path: Path, command: list[str], text: str, pointers: tuple[str, str]
) -> None:
    """Where the file and an option are wrong at once, each fault is told by its line or its option."""
    problem(fake, *({"detail": "wrong", "pointer": pointer} for pointer in pointers))
    file = tmp_path / "given.csv"
    file.write_text(text)
    told = run(*(word.format(file) for word in command)).stderr
    assert f"  {file}: line 4, weight: wrong.\n" in told
    assert f"  --{pointers[1][2:]}: wrong.\n" in told


def test_nothing_was_stored_is_said_once(fake: FakeGradewright, run: Run) -> None:
    """What the service says of all of it is not told twice, and that nothing was stored is not lost."""
    fault = {"detail": "Too much.", "pointer": "#/parts"}
    fake.problem("POST", "*", "invalid-request", "Too much. Nothing was stored.", errors=[fault])
    fake.answer("GET", "/v1/rulebooks/in-force", samples.rulebook())
    told = run("record", "treadmill", "-", "--on", "2026-05-02", input=FILE).stderr
    assert told.splitlines()[:2] == ["Invalid request: -: Too much.", "  Nothing was stored."]


@pytest.mark.parametrize(
    ("parameter", "place"), [("from", "--from"), ("grade", "GRADE"), ("known_at", "--known-at"), ("q", None)]
)
def test_parameters_become_options(
    fake: FakeGradewright, run: Run, parameter: str, place: str | None
) -> None:
    """Parameters of the service's address are told by their option or argument."""
    problem(fake, {"detail": "wrong", "parameter": parameter})
    place = place or "parameter q"
    assert f": {place}: wrong." in run("history", "copper-no2", "--region", "XO").stderr


def test_version_in_the_path_is_the_rulebook(fake: FakeGradewright, run: Run) -> None:
    """A rulebook version that is none is told by --rulebook."""
    problem(fake, {"detail": "none", "parameter": "version"}, slug="no-rulebook-in-force")
    assert ": --rulebook: none." in run("value", "-", "--region", "XO", "--rulebook", "9", input=FILE).stderr


def test_lists_are_commands(fake: FakeGradewright, run: Run) -> None:
    """Where the service names an address with a list, the command that shows it is named, once."""
    detail = "There is no region 'XO-X'; write one of GET /v1/regions."
    fake.problem("GET", "/v1/yards", "unknown-region", detail, errors=[{"detail": detail, **PARAMETERS}])
    fake.answer("GET", "/v1/regions", {"regions": []})
    told = run("yards", "--region", "XO-X").stderr
    assert "There is no region 'XO-X'; write one that `gradewright-client regions` lists." in told
    assert told.count("gradewright-client regions") == 1
    assert "/v1" not in told


def test_what_is_written_already_is_not_suggested_again(fake: FakeGradewright, run: Run) -> None:
    """Suggestions that the words end with are not repeated."""
    problem(
        fake,
        {"detail": "There is no region; write XO-KEL.", "suggestions": ["XO-KEL"], **PARAMETERS},
        slug="unknown-region",
    )
    assert "Did you mean" not in run("prices", "--region", "XO-KELL").stderr


COMMANDS = [
    ["value", "-", "--region", "XO"],
    ["grade", "metal=copper"],
    ["prices", "--region", "XO"],
    ["history", "copper-no2", "--region", "XO"],
    ["post", "--yard", "a", "--observed-on", "x", "--evidence", "x", "--price", "a 1 USD/lb"],
    ["yards"],
]


@pytest.mark.parametrize("command", COMMANDS, ids=[command[0] for command in COMMANDS])
def test_problem_as_json(fake: FakeGradewright, run: Run, command: list[str]) -> None:
    """With --json a problem is one JSON object on standard error, with the service's type, status and
    request id and the place of each fault; it ends as it does without.
    """
    problem(fake, {"detail": "wrong", "pointer": "#/on", "suggestions": ["today"]})
    fake.problem("GET", "/v1/yards", "invalid-request", errors=[{"detail": "wrong", "parameter": "on"}])
    result = run(*command, "--json", input=FILE)
    assert result.exit_code == 1
    assert result.stdout == ""
    told = json.loads(result.stderr)
    assert told["type"] == "/problems/invalid-request"
    assert told["status"] == 422
    assert told["request_id"] == fake.requests[-1].headers["x-request-id"]
    assert told["errors"][0]["detail"] == "wrong"
    assert told["errors"][0]["place"] in {"--on", "#/on", "parameter on"}


def test_refused_price_as_json(fake: FakeGradewright, run: Run) -> None:
    """A price that the service refuses is told by its place with --json too."""
    errors = [{"detail": "the yard pays in CAD", "pointer": "#/prices/1/currency"}]
    fake.problem("POST", "/v1/postings", "currency-mismatch", errors=errors)
    result = run(*POST, "--price", "b 1 USD/lb", "--json")
    assert result.exit_code == 1
    told = json.loads(result.stderr)
    assert told["type"] == "/problems/currency-mismatch"
    assert told["errors"][0]["place"] == "--price number 2, currency"


@pytest.mark.parametrize(
    ("command", "kind", "code"),
    [
        (["value", "none.csv", "--region", "XO"], "unreadable-file", 2),
        (["post", "none.csv", *POST[1:7]], "unreadable-file", 2),
        ([*POST[:7], "--price", "copper"], "wrong-usage", 2),
        (["grade", "colour"], "wrong-usage", 2),
        (["regions"], "no-answer", 4),
    ],
)
def test_other_failures_as_json(
    fake: FakeGradewright, run: Run, command: list[str], kind: str, code: int
) -> None:
    """With --json everything that can go wrong in a command is one JSON object on standard error."""
    fake.lose("GET", "/v1/regions")
    result = run(*command, "--json")
    assert result.exit_code == code
    told = json.loads(result.stderr)
    assert told["type"] == kind
    assert told["errors"] == []
    assert told["detail"]


def test_unreachable_service_is_told_with_the_option(fake: FakeGradewright, run: Run) -> None:
    """Where nobody answers, or not in time, the options that help are named, not arguments of the library."""
    fake.lose("GET", "/v1/regions")
    told = run("regions").stderr
    assert "give the right address with --url or in GRADEWRIGHT_URL" in told
    assert "base_url" not in told
    fake.answer("GET", "/v1/regions", b"", status=302, headers={"Location": "http://a.test"})
    told = run("regions").stderr
    assert "give the service's own address as --url or GRADEWRIGHT_URL" in told


def test_a_missing_range_is_told_as_it_is_written_here(fake: FakeGradewright, run: Run) -> None:
    """What the request calls `like`, low and high is told by the options that stand for them."""
    says = "no publication is at hand without a kind of thing in `like`: give low and high of gold"
    problem(fake, {"pointer": "#/assay/metals/0/low", "detail": says})
    found = " ".join(run("recovery", "assay", "--lot", "2 kg", "--metal", "gold").output.split())
    assert 'in --like: give both ends, as in --metal "gold 200 g/t to 300 g/t", for gold' in found
    assert "`like`" not in found


def test_a_kind_without_records_can_be_described(fake: FakeGradewright, run: Run) -> None:
    """Where nobody recorded a kind of device, a teardown is pointed to the template of a device."""
    says = (
        "There is no kind of device 'microwave-oven' here; GET /v1/compositions tells those that there are."
    )
    problem(fake, {"pointer": "#/kind", "detail": says}, slug="unknown-device-kind")
    words = ("--kind", "microwave-oven", "--weight", "12 kg", "--region", "XO-KEL")
    found = " ".join(run("teardown", *words).output.split())
    assert "`gradewright-client teardown --template` prints a device to begin with." in found
