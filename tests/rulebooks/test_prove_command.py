"""`gradewright rulebooks prove`: what it prints where, how it ends, and what scripts get."""

from __future__ import annotations

import json
from pathlib import Path

from tests.samples import TEXT
from tests.served import run

URL = "sqlite+aiosqlite://"
SOUND = TEXT.replace('describes: "Soldered."', 'describes: "Soldered."\n    by_name_only: true')
HOLED = SOUND.replace("below: heavy_steel_thickness}", "below: 3 mm}").replace(
    "thickness: 6.34 mm", "thickness: 2 mm"
)


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
    assert line.startswith("own.yaml: proved. Every part that can be described gets one answer")


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
    row = next(line for line in done.stdout.splitlines() if line.lstrip().startswith("thick-steel"))
    assert row.split()[:4] == ["thick-steel", "steel-heavy", "thin-steel", "light-iron"]
    assert "{metal: steel, thickness: 6.35 mm}" in row or "{metal: steel, thickness: " in row


def test_a_file_that_is_no_rulebook_is_told_with_its_line(tmp_path: Path) -> None:
    """A file that cannot be read is told by its faults and a last line; exit code 2 and no traceback."""
    done = run(
        URL, "rulebooks", "prove", written(tmp_path, SOUND.replace("grade: light-iron\n", "grade: no-such\n"))
    )
    assert (done.returncode, done.stdout) == (2, "")
    *faults, last = done.stderr.splitlines()
    assert all(line.startswith("own.yaml:") for line in faults)
    assert last == f"gradewright: own.yaml cannot be read as a rulebook: {len(faults)} fault(s)."
