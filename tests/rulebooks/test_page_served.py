"""The page of a version over HTTP and from the operator's command line."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.api import World, only, problem_of, small_rulebook, where
from tests.rulebooks.test_load_command import SOUND, written
from tests.rulebooks.test_page import by_id, parsed, words
from tests.served import publish, run

from gradewright.rulebooks.shipped import FOLDER as SHIPPED

PATH = "/v1/rulebooks/2020.1/page"


async def test_anyone_can_read_the_page(untouched: World) -> None:
    """Without a key it comes as HTML in UTF-8, with its tag, a name to save it under, and the digest."""
    response = await untouched.client.get(PATH)
    assert (response.status_code, response.headers["content-type"]) == (200, "text/html; charset=utf-8")
    assert response.headers["etag"] == f'"{hashlib.sha256(response.content).hexdigest()}"'
    assert response.headers["content-disposition"] == 'inline; filename="rulebook-2020.1.html"'
    digest = (await untouched.get("/v1/rulebooks/2020.1"))["sha256"]
    assert digest in words(parsed(response.text))


async def test_nothing_but_its_own_style_is_allowed(untouched: World) -> None:
    """The policy lets a browser load nothing, run nothing, and use only the style whose hash it names."""
    response = await untouched.client.get(PATH)
    style = re.search(r"<style>(.*?)</style>", response.text, re.DOTALL)
    assert style
    named = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    policy = response.headers["content-security-policy"].split("; ")
    assert policy == [
        "default-src 'none'",
        f"style-src 'sha256-{named}'",
        "base-uri 'none'",
        "form-action 'none'",
    ]


@pytest.mark.parametrize(
    ("condition", "status"),
    [("{etag}", 304), ("W/{etag}", 304), ('"x", {etag}', 304), ("*", 304), ('"x"', 200)],
)
async def test_a_page_is_not_sent_again_to_who_has_it(untouched: World, condition: str, status: int) -> None:
    """If-None-Match that names its tag is answered by 304 with the tag, and without a body."""
    etag = (await untouched.client.get(PATH)).headers["etag"]
    again = await untouched.client.get(PATH, headers={"If-None-Match": condition.format(etag=etag)})
    assert (again.status_code, again.headers["etag"]) == (status, etag)
    assert (again.content == b"") == (status == 304)


async def test_a_browser_s_accept_is_served(untouched: World) -> None:
    """What browsers send takes the page; who takes neither HTML nor JSON gets a problem."""
    browser = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"}
    assert (await untouched.client.get(PATH, headers=browser)).status_code == 200
    refused = await untouched.client.get(PATH, headers={"Accept": "image/png"})
    assert "text/html" in problem_of(refused, "not-acceptable").detail


async def test_a_page_can_be_asked_for_without_its_body(untouched: World) -> None:
    """HEAD gives the tag and no body."""
    answer = await untouched.client.head(PATH)
    assert (answer.status_code, answer.content) == (200, b"")
    assert answer.headers["etag"] == (await untouched.client.get(PATH)).headers["etag"]


async def test_a_page_of_no_version_is_a_problem(untouched: World) -> None:
    """404 with the nearest version, as for the version itself; parameters are refused."""
    problem = problem_of(await untouched.client.get("/v1/rulebooks/2020.2/page"), "no-rulebook-in-force", 404)
    assert (where(problem), only(problem).suggestions) == (["version"], ["2020.1"])
    problem_of(await untouched.client.get(f"{PATH}?format=pdf"), "invalid-request")


async def test_a_version_of_before_that_comes_later_is_in_the_history(world: World) -> None:
    """A page tells an earlier version once it is published, under a new tag; a later one changes nothing."""
    await world.publish(small_rulebook(version="2021.1", effective_from="2021-01-01", summary="Then."))
    first = await world.client.get(PATH)
    await world.publish(small_rulebook(version="2019.1", effective_from="2019-01-01", summary="Long before."))
    second = await world.client.get(PATH)
    assert second.headers["etag"] != first.headers["etag"]
    told = [words(by_id(parsed(page.text), "history")) for page in (first, second)]
    assert [("Long before." in each, "Then." in each) for each in told] == [(False, False), (True, False)]
    await world.publish(small_rulebook(version="2022.1", effective_from="2022-01-01"))
    assert (await world.client.get(PATH)).content == second.content


def test_a_file_is_written_as_a_page(tmp_path: Path, make_url: Callable[..., str]) -> None:
    """Of a file the page is written without a database; its history has the shipped versions before it."""
    own = written(
        tmp_path, "own.yaml", SOUND.replace("2020-01-01", "2018-01-01").replace('"2020.1"', '"2018.0"')
    )
    page = tmp_path / "page.html"
    done = run(make_url("sqlite"), "rulebooks", "page", own, "-o", str(page))
    assert (done.returncode, done.stdout) == (0, f"Wrote {page}.\n"), done.stderr
    history = by_id(parsed(page.read_text(encoding="utf-8")), "history")
    told = [words(e).partition(",")[0] for e in history.iter("h3")]
    assert told == ["2018.0", "2017.1", "2014.1", "2014.0"]
    assert "version 2018.0: not published, nothing is graded by it" in page.read_text(encoding="utf-8")
    ships = str(SHIPPED / "2014.0.yaml")
    assert run(make_url("sqlite"), "rulebooks", "page", ships, "-o", str(page)).returncode == 0
    assert "not published" not in page.read_text(encoding="utf-8")


def test_a_version_is_written_as_it_is_served(tmp_path: Path, make_url: Callable[..., str]) -> None:
    """Of a version in the database the page has those in the database; an unknown one is told in a line."""
    url = make_url("sqlite")
    publish(url, SOUND)
    page = tmp_path / "page.html"
    done = run(url, "rulebooks", "page", "2020.1", "--output", str(page))
    assert done.returncode == 0, done.stderr
    history = by_id(parsed(page.read_text(encoding="utf-8")), "history")
    assert [words(e).partition(",")[0] for e in history.iter("h3")] == ["2020.1"]
    unknown = run(url, "rulebooks", "page", "2020.2", "--output", str(page))
    assert (unknown.returncode, len(unknown.stderr.splitlines())) == (2, 1)
    assert "There is no rulebook '2020.2'" in unknown.stderr


def test_a_file_that_is_no_rulebook_is_told(tmp_path: Path, make_url: Callable[..., str]) -> None:
    """A missing file, one at fault, and a place that cannot be written end with a line and code 2."""
    url = make_url("sqlite")
    own = written(tmp_path, "own.yaml", SOUND)
    broken = written(tmp_path, "broken.yaml", SOUND.replace("grade: copper-no1", "grade: coper-no1"))
    for named, output, says in (
        ("nothing.yaml", "page.html", "There is no file nothing.yaml."),
        (broken, "page.html", "'coper-no1' is not a grade"),
        (own, "no/such/folder.html", "No such file or directory"),
    ):
        done = run(url, "rulebooks", "page", named, "-o", str(tmp_path / output))
        assert (done.returncode, len(done.stderr.splitlines())) == (2, 1), done.stderr
        assert says in done.stderr
