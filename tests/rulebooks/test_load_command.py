"""`gradewright rulebooks load`: what is kept, what is refused, and how both are told."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.samples import TEXT
from tests.served import publish, run

from gradewright.rulebooks.shipped import FOLDER as SHIPPED

SOUND = TEXT.replace('describes: "Soldered."', 'describes: "Soldered."\n    by_name_only: true')


def written(folder: Path, name: str, text: str) -> str:
    """The path of a file with a text."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_a_byte_that_is_not_utf_8_is_told_in_a_line(tmp_path: Path, make_url: Callable[..., str]) -> None:
    """A file in another encoding is refused with its line and byte, and no traceback."""
    path = tmp_path / "own.yaml"
    path.write_bytes(SOUND.encode().replace(b"Wear gloves.", b"Wear gloves \xe9."))
    done = run(make_url("sqlite"), "rulebooks", "load", str(path))
    assert done.returncode == 2
    line = SOUND.count("\n", 0, SOUND.index("Wear gloves.")) + 1
    assert done.stderr.splitlines()[0].startswith(f"own.yaml:{line}: the byte 0xe9 is not UTF-8")


@pytest.mark.parametrize("day", ["2020-01-01", "2999-01-01"])
def test_a_document_of_one_s_own_is_not_loaded(
    tmp_path: Path, make_url: Callable[..., str], day: str
) -> None:
    """Into an empty database or not, for whatever day: the way of a draft is told, and nothing is kept."""
    url = make_url("sqlite")
    own = written(tmp_path, "own.yaml", SOUND.replace("2020-01-01", day))
    ships = str(SHIPPED / "2014.0.yaml")
    for files in ((own,), (ships, own)):
        refused = run(url, "rulebooks", "load", *files)
        assert refused.returncode == 2, refused.stdout
        assert "gradewright drafts new own.yaml" in refused.stderr
        assert "No rulebook is loaded" in run(url, "rulebooks", "list").stderr


def test_what_ships_is_known_by_what_it_says(tmp_path: Path, make_url: Callable[..., str]) -> None:
    """A copy of a shipped version is loaded wherever it lies; with another word in it, it is one's own."""
    url = make_url("sqlite")
    copy = shutil.copy(SHIPPED / "2014.0.yaml", tmp_path / "copy.yaml")
    text = Path(copy).read_text(encoding="utf-8")
    other = written(tmp_path, "other.yaml", text.replace("as of 16 January 2014", "as we like it", 1))
    assert run(url, "rulebooks", "load", other).returncode == 2
    loaded = run(url, "rulebooks", "load", str(copy))
    assert loaded.stdout == "2014.0 loaded: in force from 2014-01-16.\n", loaded.stderr
    assert run(url, "rulebooks", "load", str(copy)).stdout.startswith("2014.0 was there already")


def test_what_is_published_is_there_already(tmp_path: Path, make_url: Callable[..., str]) -> None:
    """A document that a draft has brought into force may be named again: it is left as it is."""
    url = make_url("sqlite")
    publish(url, SOUND)
    again = run(url, "rulebooks", "load", written(tmp_path, "own.yaml", SOUND))
    assert "2020.1 was there already" in again.stdout, again.stderr
