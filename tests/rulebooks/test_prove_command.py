"""`gradewright rulebooks prove`: what it prints where, how it ends, and what scripts get."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tests.samples import TEXT
from tests.served import publish, run
from typer.testing import CliRunner

from gradewright.drafts.rulebooks_cli import app
from gradewright.rulebooks import proof
from gradewright.rulebooks.proof_lines import WIDTH, pair_lines
from gradewright.rulebooks.proof_order import Overlap

URL = "sqlite+aiosqlite://"
SOUND = TEXT.replace('describes: "Soldered."', 'describes: "Soldered."\n    by_name_only: true')
HOLED = SOUND.replace("below: heavy_steel_thickness}", "below: 3 mm}").replace(
    "thickness: 6.34 mm", "thickness: 2 mm"
)
TORN = SOUND.replace("below: heavy_steel_thickness}", "below: 6.35 mm}")
"""Whole under its own limit, with a hole where a place has a higher one."""


def written(folder: Path, text: str, name: str = "own.yaml") -> str:
    """The path of a file with a text."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_a_sound_version_is_told_in_one_line_and_ends_well(tmp_path: Path) -> None:
    """One line on standard output, nothing on standard error, exit code 0: progress disturbs no pipe."""
    done = run(URL, "rulebooks", "prove", written(tmp_path, SOUND))
    assert (done.returncode, done.stderr) == (0, "")
    (line,) = done.stdout.splitlines()
    assert line.startswith(
        "own.yaml: proved under its own limits. Every part that can be described gets one "
    )


def test_what_is_found_has_its_line_and_what_can_be_pasted(tmp_path: Path) -> None:
    """A part without an answer is told on standard error with the line of the rules; exit code 1."""
    done = run(URL, "rulebooks", "prove", written(tmp_path, HOLED))
    assert (done.returncode, done.stdout) == (1, "")
    first, *rest = done.stderr.splitlines()
    line = HOLED.count("\n", 0, HOLED.index("\nrules:")) + 2
    assert first.startswith(f"own.yaml:{line}: a part of which this is known gets no grade: ")
    assert rest[0].startswith("  - part: {")
    assert rest[1] == "    ungraded: true"


def test_what_is_printed_can_be_pasted_as_it_is(tmp_path: Path) -> None:
    """The printed lines, put under `examples`, make a document that is sound."""
    text = HOLED
    for _ in range(5):
        done = run(URL, "rulebooks", "prove", written(tmp_path, text))
        if done.returncode == 0:
            break
        pasted = [
            line for line in done.stderr.splitlines() if line.startswith(("  - part: ", "    ungraded: "))
        ]
        assert pasted
        text = f"{text.rstrip()}\n" + "".join(f"{line}\n" for line in pasted)
    assert (done.returncode, text == HOLED) == (0, False), done.stderr


def test_json_has_everything_and_nothing_else(tmp_path: Path) -> None:
    """With --json standard output is one JSON document, of every file, and the exit code the same."""
    paths = written(tmp_path, SOUND), written(tmp_path, HOLED, "holed.yaml")
    done = run(URL, "rulebooks", "prove", "--json", *paths)
    assert done.returncode == 1
    assert done.stderr == ""
    sound, holed = json.loads(done.stdout)
    assert (sound["file"], sound["sound"], sound["findings"]) == ("own.yaml", True, [])
    assert (holed["file"], holed["sound"]) == ("holed.yaml", False)
    assert {finding["kind"] for finding in holed["findings"]} == {"no-answer"}
    assert len(sound["sha256"]) == len(holed["sha256"]) == 64


def test_pairs_lists_the_rules_whose_order_matters(tmp_path: Path) -> None:
    """With --pairs each pair of rules stands with its grades and a part that meets both."""
    text = SOUND.replace(
        "when: {metal: steel, thickness: {below: heavy_steel_thickness}}", "when: {metal: steel}"
    )
    done = run(URL, "rulebooks", "prove", "--pairs", written(tmp_path, text))
    assert done.returncode == 0, done.stderr
    _, first, part = done.stdout.splitlines()
    assert first == "thick-steel (steel-heavy) decides before thin-steel (light-iron):"
    assert part.startswith("  {metal: steel, thickness: ")


def test_a_file_that_is_no_rulebook_is_told_with_its_line(tmp_path: Path) -> None:
    """A file that cannot be read is told by its faults and a last line; exit code 2 and no traceback."""
    done = run(
        URL, "rulebooks", "prove", written(tmp_path, SOUND.replace("grade: light-iron\n", "grade: no-such\n"))
    )
    assert (done.returncode, done.stdout) == (2, "")
    *faults, last = done.stderr.splitlines()
    assert all(line.startswith("own.yaml:") for line in faults)
    assert last == f"gradewright: own.yaml cannot be read as a rulebook: {len(faults)} fault(s)."


def test_the_pairs_of_what_ships_fit_a_terminal() -> None:
    """However long rules and parts are, no line of a pair is wider than 80 signs, and no word is lost."""
    part = {f"attribute_number_{n}": "a-rather-long-choice" for n in range(9)}
    ids = ("x" * 38, "y" * 38)
    lines = pair_lines([Overlap(*ids, "a-grade", "another-grade", part)])
    assert max(map(len, lines)) <= WIDTH
    told = " ".join(lines).split()
    for word in (*ids, "(a-grade)", "(another-grade):", *(f"{name}:" for name in list(part)[1:])):
        assert word in told


def test_a_published_version_is_proved_once(
    make_url: Callable[..., str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is found of a version is kept in the database and told again; --anew proves it again."""
    url = make_url("sqlite")
    publish(url, HOLED)
    proved: list[str] = []
    plain = proof.prove

    def counted(rulebook: Any, houses: Any = (), progress: Any = None) -> proof.Proof:
        proved.append(rulebook.version)
        return plain(rulebook, houses, progress)

    monkeypatch.setattr(proof, "prove", counted)
    runner = CliRunner(env={"GRADEWRIGHT_DATABASE_URL": url})
    told = [runner.invoke(app, ["prove", *words, "2020.1"]) for words in ([], [], ["--anew"], ["--json"])]
    assert [done.exit_code for done in told] == [1, 1, 1, 1], told[0].output
    assert proved == ["2020.1", "2020.1"]
    assert told[0].stderr == told[1].stderr == told[2].stderr
    assert told[0].stderr.startswith("2020.1: a part of which this is known gets no grade: ")
    assert "  - part: {" in told[0].stderr
    assert json.loads(told[3].stdout)[0]["findings"][0]["kind"] == "no-answer"
    unknown = runner.invoke(app, ["prove", "2020.2"])
    assert (unknown.exit_code, "Or name a YAML document." in unknown.stderr) == (2, True)


def test_a_published_version_is_proved_as_it_stands_in_all_places(make_url: Callable[..., str]) -> None:
    """A hole that a yard's own limit tears while a version is in force is told with the yard; one that it has
    lifted before is not."""
    url = make_url("sqlite")
    publish(url, SOUND)
    money = ("--currency", "USD", "--unit", "lb")
    limit = ("yards", "rules", "low-quay", "--reason", "Sign.", "--limit")
    for words in (
        ("regions", "add", "XO", "--name", "Orvale", *money),
        ("yards", "add", "low-quay", "--name", "Low Quay", "--region", "XO", *money),
        (*limit, "heavy_steel_thickness=8 mm: 8 mm", "--from", "2021-06-01"),
        (*limit, "heavy_steel_thickness=", "--from", "2022-06-01"),
        ("rulebooks", "prove", "2020.1"),
    ):
        done = run(url, *words)
        assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("2020.1: proved under its own limits and those of all places. Every part ")
    for year in (2021, 2023):
        publish(url, TORN.replace("2020.1", f"{year}.1").replace("2020-01-01", f"{year}-01-01"))
    torn = run(url, "rulebooks", "prove", "2021.1")
    assert (torn.returncode, torn.stdout) == (1, "")
    assert torn.stderr.startswith(
        "2021.1: At Low Quay (heavy_steel_thickness 8 mm), a part of which this is "
    )
    (found,) = json.loads(run(url, "rulebooks", "prove", "2021.1", "--json").stdout)
    assert {finding["within"] for finding in found["findings"]} == {"at Low Quay"}
    assert run(url, "rulebooks", "prove", "2023.1").returncode == 0
