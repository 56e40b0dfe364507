"""`gradewright rulebooks load`: what is kept, what is refused, and how both are told."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from tests.samples import TEXT
from tests.served import publish, run
from typer.testing import CliRunner, Result

from gradewright.clock import utc_now
from gradewright.db import answers
from gradewright.db.answers import AnswerRow
from gradewright.db.session import Database
from gradewright.drafts.rulebooks_cli import app
from gradewright.rulebooks import shipped
from gradewright.rulebooks.service import RulebookService
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
        assert "versions that ship: nothing is loaded" in refused.stderr
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


def load(url: str, *files: str) -> Result:
    """`rulebooks load`, in this process."""
    return CliRunner(env={"GRADEWRIGHT_DATABASE_URL": url}).invoke(app, ["load", *files])


def keep_an_answer(url: str, rulebook: str) -> None:
    """An answer that was given just now by a version, and kept."""

    async def work() -> None:
        database = Database(url)
        pins = {"rulebook": rulebook, "revision": 1, "method": "1"}
        row = AnswerRow(id="td-1", created_at=utc_now(), request="{}", answer=b"", sha256="", **pins)
        try:
            async with database.write() as session:
                await answers.add(session, row)
        finally:
            await database.close()

    asyncio.run(work())


def loaded(url: str) -> list[str]:
    """The names of the versions in a database."""

    async def work() -> list[str]:
        database = Database(url)
        try:
            return list(await RulebookService(database).versions())
        finally:
            await database.close()

    return asyncio.run(work())


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> dict[str, date]:
    """As if fewer versions did ship: each with the day on which it begins. To load one takes seconds."""
    paths = [SHIPPED / f"{version}.yaml" for version in ("2014.0", "2017.1", "2018.1", "2027.4")]
    monkeypatch.setattr(shipped, "files", lambda: paths)
    days = (line for path in paths for line in path.read_text(encoding="utf-8").splitlines())
    begins = [line.split()[1] for line in days if line.startswith("effective_from: ")]
    return {path.stem: date.fromisoformat(day) for path, day in zip(paths, begins, strict=True)}


def test_a_version_that_would_change_days_gone_by_is_not_loaded(make_url: Callable[..., str]) -> None:
    """Where an answer of a day since is kept, it is refused, and told how it is published for a later day."""
    url = make_url("sqlite")
    assert load(url, str(SHIPPED / "2014.0.yaml"), str(SHIPPED / "2017.1.yaml")).exit_code == 0
    keep_an_answer(url, "2017.1")
    newer = str(SHIPPED / "2018.1.yaml")
    refused = load(url, str(SHIPPED / "2014.1.yaml"), newer)
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert "2018.1 is not loaded: it would be in force from 2018-02-01 in place of 2017.1" in refused.stderr
    assert "(1 kept answer)" in refused.stderr
    assert f"gradewright drafts new {newer} --base 2017.1 --effective-from DAY" in refused.stderr
    assert refused.stderr.endswith("Nothing is loaded.\n")
    assert loaded(url) == ["2014.0", "2017.1"]
    # Between the two nobody has asked anything, as the answer was by the later one.
    assert load(url, str(SHIPPED / "2014.1.yaml")).exit_code == 0


def test_of_all_that_ships_the_rest_is_loaded(make_url: Callable[..., str], few: dict[str, date]) -> None:
    """What would change the past is left out and told; what begins later, or before the first, is loaded. The
    command ends with 1 then."""
    url = make_url("sqlite")
    assert load(url, str(SHIPPED / "2017.1.yaml")).exit_code == 0
    keep_an_answer(url, "2017.1")
    done, today = load(url), utc_now().date()
    free = {version for version, day in few.items() if day > today or day <= few["2017.1"]}
    assert {"2014.0", "2017.1"} <= free
    assert set(loaded(url)) == free
    told = [line.split(" ", 1)[0] for line in done.stderr.splitlines()]
    assert (done.exit_code, set(told)) == (1, set(few) - free)


def test_where_nobody_has_asked_anything_all_is_loaded(
    make_url: Callable[..., str], few: dict[str, date]
) -> None:
    """Except a version that a draft has brought for a later day: loading all that ships passes it by."""
    url = make_url("sqlite")
    assert load(url, str(SHIPPED / "2017.1.yaml")).exit_code == 0
    text = (SHIPPED / "2018.1.yaml").read_text(encoding="utf-8")
    publish(url, text.replace("effective_from: 2018-02-01", "effective_from: 2018-03-01"))
    done = load(url)
    assert (done.exit_code, done.stderr) == (0, "")
    assert "2018.1 is published already, by another document: it is left as it is." in done.stdout
    assert "2027.4 loaded: in force from 2027-05-01." in done.stdout
    assert set(loaded(url)) == set(few)


@pytest.fixture
def sooner(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[Path]:
    """As if two versions shipped, the second in force instead of the first, which is to come."""
    first = SOUND.replace("2020.1", "2999.1").replace("2020-01-01", "2999-06-01")
    instead = 'effective_from: 2999-01-01\ninstead_of: ["2999.1"]'
    second = SOUND.replace("2020.1", "2999.2").replace("effective_from: 2020-01-01", instead)
    paths = [tmp_path / "2999.1.yaml", tmp_path / "2999.2.yaml"]
    for path, text in zip(paths, (first, second), strict=True):
        path.write_text(text, encoding="utf-8")
    monkeypatch.setattr(shipped, "files", lambda: paths)
    return paths


def test_what_ships_instead_of_another_is_loaded_with_it(
    make_url: Callable[..., str], sooner: list[Path]
) -> None:
    """Both are kept, and it is told that the one is in force in place of the other."""
    url = make_url("sqlite")
    done = load(url)
    assert (done.exit_code, done.stderr) == (0, "")
    assert "2999.2 loaded: in force from 2999-01-01, in place of 2999.1." in done.stdout
    assert load(url).exit_code == 0


def test_what_ships_is_not_instead_of_one_s_own(make_url: Callable[..., str], sooner: list[Path]) -> None:
    """Where maintainers have published another document under that number, theirs is to begin: it is told how
    the new one is published as a draft, and the command ends with 1."""
    url = make_url("sqlite")
    publish(url, sooner[0].read_text(encoding="utf-8").replace("Soldered.", "Soldered, and ours."))
    done = load(url)
    assert done.exit_code == 1
    assert (
        "2999.2 is not loaded: it would be in force instead of 2999.1, published here by another"
        in done.stderr
    )
    assert f"gradewright drafts new {sooner[1]} --base 2999.1" in done.stderr
    assert loaded(url) == ["2999.1"]


def test_an_answer_by_what_it_is_instead_of_stays(make_url: Callable[..., str], sooner: list[Path]) -> None:
    """Of a day gone by on which the other was in force something was answered: it is not loaded either."""
    url = make_url("sqlite")
    publish(url, SOUND)
    for path in sooner:
        text = path.read_text(encoding="utf-8").replace("2999-06-01", "2021-06-01")
        path.write_text(text.replace("2999-01-01", "2021-01-01"), encoding="utf-8")
    assert load(url, str(sooner[0])).exit_code == 0
    keep_an_answer(url, "2999.1")
    done = load(url)
    assert done.exit_code == 1
    assert "2999.2 is not loaded: it would be in force from 2021-01-01 in place of 2020.1" in done.stderr
    assert "(1 kept answer)" in done.stderr
