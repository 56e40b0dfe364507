"""`gradewright rulebooks load`: what is kept, what is refused, and how both are told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tests.samples import TEXT
from tests.served import run

SOUND = TEXT.replace('describes: "Soldered."', 'describes: "Soldered."\n    by_name_only: true')


def written(folder: Path, name: str, text: str) -> str:
    """The path of a file with a text."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_a_file_with_faults_is_told_with_its_lines_and_not_loaded(
    tmp_path: Path, make_url: Callable[..., str]
) -> None:
    """Each fault has its line, the last line says that nothing was loaded, and nothing is."""
    url = make_url("sqlite")
    text = SOUND.replace("thickness: 6.34 mm}, grade: light-iron", "thickness: 6.34 mm}, grade: steel-heavy")
    done = run(url, "rulebooks", "load", written(tmp_path, "own.yaml", text))
    assert done.returncode == 2, done.stdout + done.stderr
    fault, last = done.stderr.splitlines()
    line = text.count("\n", 0, text.index("6.34 mm")) + 1
    assert fault.startswith(
        f"own.yaml:{line}: example 2 (metal: steel, thickness: 6.34 mm): steel-heavy is expected"
    )
    assert last == "gradewright: own.yaml is not loaded: 1 fault(s)."
    assert "No rulebook is loaded" in run(url, "rulebooks", "list").stderr


def test_a_byte_that_is_not_utf_8_is_told_in_a_line(tmp_path: Path, make_url: Callable[..., str]) -> None:
    """A file in another encoding is refused with its line and byte, and no traceback."""
    path = tmp_path / "own.yaml"
    path.write_bytes(SOUND.encode().replace(b"Wear gloves.", b"Wear gloves \xe9."))
    done = run(make_url("sqlite"), "rulebooks", "load", str(path))
    assert done.returncode == 2
    line = SOUND.count("\n", 0, SOUND.index("Wear gloves.")) + 1
    assert done.stderr.splitlines()[0].startswith(f"own.yaml:{line}: the byte 0xe9 is not UTF-8")


def test_a_version_that_takes_another_s_place_says_so(tmp_path: Path, make_url: Callable[..., str]) -> None:
    """A higher number on the same day is told to stand in place of the lower; a lower one is refused."""
    url = make_url("sqlite")
    sound = SOUND.replace("2020-01-01", "2999-01-01")
    first = written(tmp_path, "first.yaml", sound)
    second = written(tmp_path, "second.yaml", sound.replace('"2020.1"', '"2020.2"'))
    loaded = run(url, "rulebooks", "load", first, second)
    assert loaded.returncode == 0, loaded.stderr
    assert loaded.stdout.splitlines() == [
        "2020.1 loaded: in force from 2999-01-01.",
        "2020.2 loaded: in force from 2999-01-01, in place of 2020.1.",
    ]
    late = written(tmp_path, "late.yaml", sound.replace('"2020.1"', '"2019.9"'))
    refused = run(url, "rulebooks", "load", late)
    assert refused.returncode == 2
    assert "2019.9 never would be" in refused.stderr


def test_a_document_that_has_begun_is_not_loaded_beside_others(
    tmp_path: Path, make_url: Callable[..., str]
) -> None:
    """Where versions are in use, another one of a day gone by is refused, and the way of a draft is told."""
    url = make_url("sqlite")
    assert run(url, "rulebooks", "load", written(tmp_path, "first.yaml", SOUND)).returncode == 0
    later = written(tmp_path, "later.yaml", SOUND.replace('"2020.1"', '"2020.2"'))
    refused = run(url, "rulebooks", "load", later)
    assert refused.returncode == 2
    assert "gradewright drafts new later.yaml" in refused.stderr
    assert "2020.2" not in run(url, "rulebooks", "list").stdout
    again = run(url, "rulebooks", "load", str(tmp_path / "first.yaml"))
    assert "was there already" in again.stdout
