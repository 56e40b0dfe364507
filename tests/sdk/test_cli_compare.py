"""gradewright-client compare, against the stand-in."""

from __future__ import annotations

from typing import Any

import pytest
from tests.sdk.conftest import Run

import gradewright_sdk as gw
from gradewright_sdk.resources.rulebooks import Rulebooks
from gradewright_sdk.testing import FakeGradewright

COMPARISON = "/v1/rulebooks/2027.5/comparison"
COMPARE = ["compare", "2027.4", "2027.5"]
TEXTS = [
    {
        "at": ["rules", "clean-copper", "because"],
        "before": "Clean [and] bare.",
        "after": "Clean,\nbare and dry.",
    },
    {"at": ["cautions", "sharp", "says"], "before": None, "after": "Wear gloves."},
    {"at": ["limits", "thick"], "before": {"value": "6 mm", "source": "a sign"}, "after": None},
]


def compared(**fields: Any) -> dict[str, Any]:
    """What one version changes: nothing but some texts."""
    grades = {"added": [], "retired": [], "renamed": []}
    return {"before": "2027.4", "after": "2027.5", "kind": "wording", "grades": grades, **fields}


def test_texts_are_counted_or_shown(fake: FakeGradewright, run: Run) -> None:
    """The texts that stand otherwise are counted; with --texts each is shown, before and after."""
    fake.answer("GET", COMPARISON, compared(texts=TEXTS))
    assert run(*COMPARE).stdout.endswith("\n3 texts stand otherwise (--texts shows them).\n")
    shown = run(*COMPARE, "--texts").stdout
    assert shown.endswith(
        "\n3 texts stand otherwise:\n"
        "  rules, clean-copper, because\n"
        "    before: Clean [and] bare.\n"
        "    after:  Clean, bare and dry.\n"
        "  cautions, sharp, says\n"
        "    before: none\n"
        "    after:  Wear gloves.\n"
        "  limits, thick\n"
        "    before: value: 6 mm; source: a sign\n"
        "    after:  none\n"
    )


@pytest.mark.parametrize("asked", [[], ["--texts"]])
def test_one_text_or_none(fake: FakeGradewright, run: Run, asked: list[str]) -> None:
    """One is told in the singular, and of none nothing is said."""
    fake.answer("GET", COMPARISON, compared(texts=TEXTS[1:2]))
    assert "\n1 text stands otherwise" in run(*COMPARE, *asked).stdout
    fake.answer("GET", COMPARISON, compared())
    assert "otherwise" not in run(*COMPARE, *asked).stdout


@pytest.mark.parametrize(
    ("after", "pattern", "parameter", "typed"),
    [
        ("2027.5", COMPARISON, "with", "BEFORE"),
        ("2027.5", COMPARISON, "version", "AFTER"),
        ("d-7", "/v1/rulebook-drafts/d-7/comparison", "with", "BEFORE"),
        ("d-7", "/v1/rulebook-drafts/d-7/comparison", "draft", "AFTER"),
    ],
)
def test_a_name_that_is_not_there_is_told_where_it_was_typed(
    fake: FakeGradewright, run: Run, after: str, pattern: str, parameter: str, typed: str
) -> None:
    """Which of the two was wrong is told by its place on the command line, to people and to scripts."""
    says = "There is no rulebook '2099'."
    errors = [{"detail": says, "parameter": parameter, "suggestions": ["2027.4"]}]
    fake.problem("GET", pattern, "no-rulebook-in-force", says, errors=errors)
    result = run("compare", "2027.4", after)
    assert result.exit_code == 1
    assert f": {typed}: {says} Did you mean 2027.4?" in result.stderr
    assert "parameter" not in result.stderr
    assert f'"place": "{typed}"' in run("compare", "2027.4", after, "--json").stderr


@pytest.mark.parametrize("command", ["proof", "rulebook"])
def test_a_version_by_itself_is_told_so_too(fake: FakeGradewright, run: Run, command: str) -> None:
    """Other commands that take a version tell its place by their own word for it."""
    says = "There is no rulebook '2099'."
    errors = [{"detail": says, "parameter": "version", "suggestions": []}]
    fake.problem("GET", "*", "no-rulebook-in-force", says, errors=errors)
    assert f": VERSION: {says}" in run(command, "2099").stderr


def test_where_drafts_are_listed_is_told_as_a_command(fake: FakeGradewright, run: Run) -> None:
    """Of a draft that is not there, the command that lists them is told, and no path of the interface."""
    says = "There is no draft 'd-9'. See /v1/rulebook-drafts."
    fake.problem("GET", "*", "not-found", says, errors=[{"detail": says, "parameter": "draft"}])
    told = run("compare", "2027.4", "d-9").stderr
    assert "AFTER: There is no draft 'd-9'. `gradewright-client drafts list` has them." in told


@pytest.mark.parametrize(
    ("command", "where", "kept"),
    [(COMPARE, "compare", True), (["proof", "2027.5"], "proof", True), (["rulebooks"], "list", False)],
)
def test_what_takes_too_long_is_kept_for_who_asks_again(
    run: Run, monkeypatch: pytest.MonkeyPatch, command: list[str], where: str, kept: bool
) -> None:
    """The service goes on with a comparison or a proof: whoever did not wait so long asks again. Of other
    questions less can be asked for."""

    def late(*_: Any, **__: Any) -> Any:
        raise gw.TimedOut("http://test", 180.0, request_id="req-1")

    monkeypatch.setattr(Rulebooks, where, late)
    result = run(*command)
    assert result.exit_code == 4
    advice = "ask for less at a time."
    if kept:
        advice = "ask again later: the service goes on with it, and keeps what it finds."
    assert result.stderr.endswith(f"Allow more with --timeout, or {advice}\n")
