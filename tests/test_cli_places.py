"""The operator's commands for the map: regions and yards are added and listed without a service running."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.served import run
from tests.test_cli import refusal

MONEY = ("--currency", "USD", "--unit", "lb")
YARD = ("yards", "add", "low-quay", "--name", "Low Quay", "--region", "XO-KEL", *MONEY)


def done(url: str, *words: str) -> str:
    """What a command that is expected to succeed has printed."""
    found: subprocess.CompletedProcess[str] = run(url, *words)
    assert found.returncode == 0, found.stdout + found.stderr
    return found.stdout


@pytest.fixture(scope="module")
def begun(migrated_sqlite: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with the rulebooks that ship and the region XO; tests work on copies."""
    path = tmp_path_factory.mktemp("begun") / "begun.sqlite"
    shutil.copy(migrated_sqlite, path)
    done(f"sqlite:///{path}", "rulebooks", "load")
    done(f"sqlite:///{path}", "regions", "add", "XO", "--name", "Orvale", *MONEY)
    return path


@pytest.fixture
def url(begun: Path, tmp_path: Path) -> str:
    """A database with the rulebooks that ship and the region XO."""
    return f"sqlite:///{shutil.copy(begun, tmp_path / 'places.sqlite')}"


def test_a_map_is_made_from_nothing(make_url: Callable[..., str]) -> None:
    """Regions and a yard with its labels and refusals are added, and listed for people and for machines."""
    url = make_url("postgresql")
    done(url, "rulebooks", "load")
    assert "XO is there, under no other" in done(url, "regions", "add", "XO", "--name", "Orvale", *MONEY)
    assert "XO-KEL is there, under XO" in done(
        url, "regions", "add", "XO-KEL", "--name", "Kelder Bay", *MONEY
    )
    said = ("--label", "#2 Cu=copper-no2", "--label", "a=b=copper-no1", "--refuses", "boards-low")
    terms = ("--rounding", "half-up", "--cash-increment", "0.05", "--labels-from", "2026-01-01")
    assert "Yard low-quay is there, in XO-KEL" in done(url, *YARD, *said, *terms)
    assert json.loads(done(url, "regions", "list", "--json"))["regions"][1] == {
        "code": "XO-KEL",
        "name": "Kelder Bay",
        "parent": "XO",
        "currency": "USD",
        "unit": "lb",
    }
    (listed,) = json.loads(done(url, "yards", "list", "--json"))["yards"]
    not_taken = [(one["grade"], one["own"], one["by"]) for one in listed.pop("not_taken")]
    assert not_taken == [("boards-low", True, "Low Quay")]
    assert [listed] == [
        {
            "slug": "low-quay",
            "name": "Low Quay",
            "region": "XO-KEL",
            "currency": "USD",
            "unit": "lb",
            "rounding": "half-up",
            "cash_increment": "0.05",
            "labels": [
                {"label": "#2 Cu", "grade": "copper-no2", "from": "2026-01-01"},
                {"label": "a=b", "grade": "copper-no1", "from": "2026-01-01"},
            ],
            "refuses": ["boards-low"],
        }
    ]
    for words, told in ((["regions", "list"], "Kelder Bay"), (["yards", "list"], "Low Quay")):
        assert told in done(url, *words)


def test_before_there_is_anything_the_lists_say_what_to_run(make_url: Callable[..., str]) -> None:
    """An empty list tells the command that adds to it."""
    url = make_url("sqlite")
    assert "gradewright regions add" in done(url, "regions", "list")
    assert "gradewright yards add" in done(url, "yards", "list")
    assert json.loads(done(url, "yards", "list", "--json")) == {"yards": []}


def test_a_region_stands_under_the_nearest_one_that_its_code_names(url: str) -> None:
    """A locality whose subdivision is not there stands under the country, and that is said."""
    assert "XO-KEL-EAST is there, under XO" in done(
        url, "regions", "add", "XO-KEL-EAST", "--name", "East", *MONEY
    )
    abe = ("regions", "add", "XP-ABE", "--name", "Abe", *MONEY)
    assert "There is no region XP for XP-ABE to stand under" in refusal(run(url, *abe))
    assert "under no other: there is no region XP" in done(url, *abe, "--alone")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["regions", "add", "XO", "--name", "Orvale", *MONEY], "There is a region XO already"),
        (["regions", "add", "kelder", "--name", "Kelder", *MONEY], "CODE: write a country"),
        (["regions", "add", "XP", "--name", "P", "--currency", "USD", "--unit", "ton"], "--unit: "),
        (["regions", "add", "XP", "--name", "P", "--currency", "XXQ", "--unit", "lb"], "--currency: "),
        (["regions", "add", "XO-A", "--name", "A", "--under", "XP", *MONEY], "cannot be the parent"),
        ([*YARD], "There is no region 'XO-KEL'"),
        ([*YARD, "--region", "XO", "--label", "#2 Cu"], "--label: write LABEL=GRADE"),
        ([*YARD, "--region", "XO", "--label", "#2 Cu=Copper No. 2"], "--label: "),
        ([*YARD, "--region", "XO", "--label", "#2 Cu=coper-no2"], "copper-no2"),
        ([*YARD, "--region", "XO", "--refuses", "Boards low"], "--refuses: "),
        ([*YARD, "--region", "XO", "--cash-increment", "five"], "--cash-increment: "),
        ([*YARD, "--region", "XO", "--rounding", "up"], "--rounding: "),
        ([*YARD, "--region", "XO", "--label", "A=copper-no2", "--labels-from", "May"], "--labels-from: "),
        ([*YARD, "--region", "XO", "--labels-from", "2026-01-01"], "--labels-from needs a --label"),
    ],
)
def test_what_cannot_be_added_is_told_in_one_line(url: str, words: list[str], says: str) -> None:
    """A refusal names the option and says what to write."""
    assert says in refusal(run(url, *words))


def test_house_rules_are_said_shown_and_lifted(url: str) -> None:
    """A yard's and a region's own limits, labels and refusals are added, told with notes, and lifted."""
    done(url, *YARD[:6], "XO", *MONEY)
    yard, region = ("yards", "rules", "low-quay"), ("regions", "rules", "XO")
    assert "No house rules hold there on 20" in done(url, *yard)
    said = done(
        url,
        *yard,
        *("--limit", "heavy_steel_thickness=1/8 in: heavy steel begins at 1/8 in"),
        *("--label", "Girder=steel-heavy", "--reason", "A sign."),
    )
    assert "low-quay: 2 said, at revision" in said
    head, note, *_ = said.splitlines()[1:]
    assert head == "It is kept. Good to know:"
    assert note.startswith("  - rule steel-heavy-medium is not needed here: ")
    assert "XO: 1 said" in done(url, *region, "--refuses", "boards-low", "--reason", "By-law 12.")
    shown = json.loads(done(url, *yard, "--json"))
    assert [(rule["place"], rule["kind"], rule["author"]) for rule in shown["in_force"]] == [
        ("low-quay", "limit", None),
        ("low-quay", "label", None),
        ("XO", "refusal", None),
    ]
    limit, *_ = shown["in_force"]
    assert (limit["value"], limit["says"]) == ("1/8 in", "heavy steel begins at 1/8 in")
    table = done(url, *yard)
    assert all(text in table for text in ("heavy_steel_thickness = 1/8", "does not take boards-low", "XO"))
    done(url, *yard, "--limit", "heavy_steel_thickness=", "--takes", "boards-low", "--reason", "Gone.")
    shown = json.loads(done(url, *yard, "--json"))
    assert [rule["kind"] for rule in shown["in_force"]] == ["label"]
    done(url, *yard, "--refuses", "light-iron", "--reason", "By-law 13.", "--from", "2999-01-02")
    assert "does not take light-iron" not in done(url, *yard)
    assert "does not take light-iron" in done(url, *yard, "--from", "2999-01-02")
    assert "--from: write a day" in refusal(run(url, *yard, "--from", "May"))


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--refuses", "boards-low"), "--reason: say why"),
        (("--reason", "x"), "give what is said too"),
        (("--limit", "heavy_steel_thickness", "--reason", "x"), "write it with ="),
        (("--limit", "heavy_steel=1 mm", "--reason", "x"), "Did you mean heavy_steel_thickness"),
        (("--refuses", "Tin!", "--reason", "x"), "--refuses: write a name of lower-case letters"),
        (("--refuses", "boards-low", "--reason", "x", "--from", "May"), "--from: write a day"),
    ],
)
def test_house_rules_that_cannot_be_end_in_one_line(url: str, words: tuple[str, ...], told: str) -> None:
    """A fault is told in one line, and nothing is stored."""
    assert told in refusal(run(url, "regions", "rules", "XO", *words))
