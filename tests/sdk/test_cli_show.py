"""show and replay: what was kept, told again and worked out again, alike for every kind of answer."""

from __future__ import annotations

import json
import re
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk.cli._ticket import TEMPLATE
from gradewright_sdk.testing import FakeGradewright, samples

REGION = ("--region", "XO-KEL")
COMMANDS = [
    ("valuations", "v-7", ("value", "-", *REGION, "--keep"), "name,weight,grade\na,1 kg,tin\n"),
    ("hauls", "h-1", ("haul", "--bin", "tin 4 lb", *REGION, "--keep"), None),
    ("settlements", "s-1", ("settle", "-", "--yard", "low-quay", "--bin", "tin 4 lb", "--keep"), TEMPLATE),
    ("teardowns", "t-1", ("teardown", "--kind", "treadmill", "--weight", "70 kg", *REGION, "--keep"), None),
    ("recoveries", "r-1", ("recovery", "sample", "--weight", "5 g", "--copper", "2 g", "--keep"), None),
]


def canonical(document: dict[str, Any]) -> bytes:
    return json.dumps(document, separators=(",", ":"), sort_keys=True, ensure_ascii=False).encode()


def sealed(room: str, **changes: Any) -> bytes:
    """A sample of a kind of answer with the hash that its bytes have."""
    one = {"recoveries": "recovery"}.get(room, room[:-1])
    answer = {**getattr(samples, one)(), **changes}
    answer["pins"] = {name: value for name, value in answer["pins"].items() if name != "sha256"}
    answer["pins"]["sha256"] = sha256(canonical(answer)).hexdigest()
    return canonical(answer)


def kept(fake: FakeGradewright, room: str, id_: str, answer: bytes, again: bytes | None = None) -> None:
    """The service makes and keeps this answer; worked out again it comes to another, where one is given."""
    header = {f"{ {'recoveries': 'Recovery'}.get(room, room[:-1].capitalize()) }-Id": id_}
    fake.answer("POST", f"/v1/{room}", answer, status=201, headers=header)
    fake.answer("GET", f"/v1/{room}/{id_}", answer, headers=header)
    fake.answer("POST", f"/v1/{room}/{id_}/replay", again or answer, headers=header)


@pytest.mark.parametrize(("room", "id_", "words", "given"), COMMANDS)
def test_shown_as_it_was_made(
    fake: FakeGradewright, run: Run, room: str, id_: str, words: tuple[str, ...], given: str | None
) -> None:
    """A kept answer of any kind is told in the same words as when it was made, its id included."""
    kept(fake, room, id_, sealed(room))
    made = run(*words, input=given)
    assert made.exit_code == 0, made.output
    assert id_ in made.stdout
    shown = run("show", id_)
    assert shown.exit_code == 0, shown.output
    assert shown.stdout == made.stdout
    as_json = run("show", id_, "--json")
    assert as_json.stdout_bytes == sealed(room) + b"\n"


@pytest.mark.parametrize(("room", "id_", "words", "given"), COMMANDS)
def test_worked_out_again(
    fake: FakeGradewright, run: Run, room: str, id_: str, words: tuple[str, ...], given: str | None
) -> None:
    """A kept answer of any kind that repeats is said to be the same, with what it rests on."""
    kept(fake, room, id_, sealed(room))
    told = run("replay", id_)
    assert told.exit_code == 0, told.output
    assert told.stdout.startswith(f"{id_}: the same again, byte for byte\n")
    assert f"SHA-256 {json.loads(sealed(room))['pins']['sha256']}" in " ".join(told.stdout.split())
    as_json = json.loads(run("replay", id_, "--json").stdout)
    assert (as_json["id"], as_json["same"]) == (id_, True)
    assert as_json["pins"] == json.loads(sealed(room))["pins"]


def test_a_bin_that_is_not_on_the_ticket(fake: FakeGradewright, run: Run) -> None:
    """What is not on a ticket is said once, not again as the reason of its difference."""
    settled = samples.settlement()
    effects = {**dict.fromkeys(settled["effects"], "0.00"), "missing": "-4.07"}
    alone = {**settled["groups"][0], "lines": [], "paid": "0.00", "difference": "-4.07", "effects": effects}
    kept(fake, "settlements", "s-1", sealed("settlements", groups=[alone]))
    lines = [line.strip() for line in run("show", "s-1").stdout.splitlines()]
    assert "not on the ticket" in lines


def test_not_the_same_again(fake: FakeGradewright, run: Run) -> None:
    """An answer that repeats otherwise ends with 1 and both hashes; so does one whose bytes are not those of
    its hash.
    """
    answer, other = sealed("teardowns"), sealed("teardowns", says="Sell it whole.")
    kept(fake, "teardowns", "t-1", answer, other)
    differs = run("replay", "t-1")
    assert differs.exit_code == 1
    assert "t-1 is not the same again" in differs.stderr
    for one in (answer, other):
        assert json.loads(one)["pins"]["sha256"] in differs.stderr
    touched = answer.replace(b'"says":"', b'"says":"Perhaps: ', 1)
    kept(fake, "teardowns", "t-2", touched)
    changed = run("replay", "t-2", "--json")
    assert changed.exit_code == 1
    assert "does not have the SHA-256 that it names" in json.loads(changed.stderr)["detail"]


def test_several_and_those_of_a_file(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """Ids are taken from the command line and from a file that --id-to wrote, and told in that order."""
    for room, id_, _, _ in COMMANDS:
        kept(fake, room, id_, sealed(room))
    (tmp_path / "ids").write_text("t-1\nr-1\n")
    told = run("show", "h-1", "--id-from", str(tmp_path / "ids"), "--json")
    lines = told.stdout_bytes.splitlines()
    assert lines == [sealed(room) for room in ("hauls", "teardowns", "recoveries")]
    missing = run("replay", "--id-from", str(tmp_path / "none"))
    assert missing.exit_code == 2
    assert "Cannot read" in missing.stderr


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ("d-3", "drafts show"),
        ("c-3", "compositions KIND --records"),
        ("x-3", "one begins with v- (valuation), t- (teardown)"),
        ("nonsense", "h- (haul), s- (settlement) or r- (recovery); that of a posting with p-"),
        ("haul", "one begins with"),
        (None, "--id-from"),
    ],
)
def test_what_is_no_kept_answer(run: Run, given: str | None, says: str) -> None:
    """What is not the id of a kept answer is wrong usage, and told what it is where that is known."""
    ended = run("show", *([given] if given else []), columns=300)
    assert ended.exit_code == 2
    assert says in ended.stderr


def test_a_posting_is_not_worked_out_again(run: Run) -> None:
    """It rests on nothing: it is shown, and not replayed."""
    ended = run("replay", "p-3", columns=300)
    assert ended.exit_code == 2
    assert "a posting, which rests on nothing; `gradewright-client show` shows it" in ended.stderr
    assert "posting" not in run("replay", "nonsense", columns=300).stderr


def test_a_posting_on_another_day(fake: FakeGradewright, run: Run) -> None:
    """What is too old today says how to see it in the list of its own day, where every page of it is asked
    for as of that."""
    pages = {
        None: samples.posting(prices=[samples.posted_price(status="stale")]),
        "2026-05-03": samples.posting(prices=[samples.held_price()], next_line=2),
        "2": samples.posting(prices=[samples.posted_price(line=2)]),
    }
    fake.answer(
        "GET", "/v1/postings/p-1", lambda asked: pages[asked.query.get("from_line", asked.query.get("on"))]
    )
    shown = run("show", "p-1").stdout
    assert re.search(r"Price +Today\n +1 +copper-no2 +3.35 USD/lb +too old\n", shown)
    then = "gradewright-client show p-1 --on 2026-05-03"
    assert f"How it stands in the list of its own day: `{then}`" in " ".join(shown.split())
    shown = run(*then.split()[1:]).stdout
    assert "own day" not in shown
    assert re.search(r"Price +On 2026-05-03\n +1 +copper-no2 +33.0 USD/lb +waits\n", shown)
    assert re.search(r"\n +2 +copper-no2 +3.35 USD/lb +counts\n", shown)
    assert fake.requests[-1].query == {"on": "2026-05-03", "from_line": "2"}
    refused = run("show", "p-1", "v-1", "--on", "2026-05-03", columns=300)
    assert (refused.exit_code, "--on is for postings" in refused.stderr) == (2, True)


def test_what_is_not_kept(fake: FakeGradewright, run: Run) -> None:
    """An id that the service does not know ends with 1, in the words of the command line."""
    detail = "There is no haul 'h-9' here. Only those asked for with keep: true are kept."
    fake.problem("GET", "/v1/hauls/h-9", "not-found", detail, status=404)
    ended = run("show", "h-9")
    assert ended.exit_code == 1
    assert "Only those asked for with --keep are kept." in ended.stderr
