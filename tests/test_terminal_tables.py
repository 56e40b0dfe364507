"""Tables of the operator's commands, on a terminal of few columns and into a pipe."""

from __future__ import annotations

import pytest

from gradewright.terminal_tables import Slug, print_table

HEADS = ("version", "from", "state", "grade", "title")
ROW = ("2014.0", "2014-01-16", "in force", Slug("motors-shredded-mixed"), "A title of [many] words, and more")


def printed(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    columns: str,
    below: str | None = None,
) -> str:
    """A small table on a terminal of so many columns; none: into a pipe."""
    monkeypatch.setenv("COLUMNS", columns) if columns else monkeypatch.delenv("COLUMNS", raising=False)
    print_table(HEADS, [ROW], wraps=("grade", "title"), below=below)
    return capsys.readouterr().out


@pytest.mark.parametrize("columns", ["", "120", "60", "48", "20"])
def test_nothing_is_cut(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    """Days and states are whole on any terminal, names break after hyphens and titles between words."""
    told = printed(capsys, monkeypatch, columns)
    assert "…" not in told
    words = told.split()
    for whole in ("2014.0", "2014-01-16", "force", "words,"):
        assert whole in words
    assert "in force" in told
    name = [word for word in words if word in "motors-shredded-mixed"]
    assert "".join(name) == "motors-shredded-mixed"
    assert all(word.endswith("-") for word in name[:-1])
    assert "[many]" in words


def test_a_pipe_has_no_width(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Into a pipe each row is one line, however long."""
    monkeypatch.setattr("tests.test_terminal_tables.ROW", (*ROW[:-1], "many words " * 40))
    assert len(printed(capsys, monkeypatch, "").splitlines()) == 2


def test_few_columns_are_kept_to(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """What can give way does, so that it fits where it can."""
    assert max(map(len, printed(capsys, monkeypatch, "64").splitlines())) <= 64


@pytest.mark.parametrize(("columns", "below"), [("120", False), ("", False), ("80", True), ("64", True)])
def test_a_title_stands_below_where_it_would_be_chopped(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, columns: str, below: bool
) -> None:
    """A column of sentences has a line of its own below its row where one line is too short for both."""
    lines = [line.rstrip() for line in printed(capsys, monkeypatch, columns, "title").splitlines()]
    assert lines[0].split() == [head for head in HEADS if head != "title" or not below]
    assert max(map(len, lines)) <= int(columns or 120)
    assert (lines[-1] == "   A title of [many] words, and more") is below
    assert lines[1].endswith("A title of [many] words, and more") is not below
    assert len(lines) == (3 if below else 2)


def test_a_long_title_below_wraps_between_words(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Below its row it has the whole width, and no line is wider."""
    monkeypatch.setattr("tests.test_terminal_tables.ROW", (*ROW[:-1], "many words " * 20))
    lines = printed(capsys, monkeypatch, "64", "title").splitlines()
    told = [line.split() for line in lines[2:]]
    assert [word for words in told for word in words] == ["many", "words"] * 20
    assert len(told) == 4
    assert max(map(len, lines)) <= 64
