"""Whoever maintains a rulebook is told the line, what it belongs to, and what to write, in plain words."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.samples import TEXT, document
from typer.testing import CliRunner

from gradewright.core.errors import RulebookError
from gradewright.rulebooks.cli import app
from gradewright.rulebooks.document import read
from gradewright.rulebooks.source import from_text

LIBRARY_WORDS = (
    "Field required",
    "Extra inputs",
    "Input should",
    "String should",
    "Value error",
    "Value should",
    "<unicode string>",
    "did not find expected",
    "is not a attribute",
    "validation error",
    "cannot stand here: None",
    "tag:yaml",
)


def told(path: Path, text: str | bytes) -> list[str]:
    """What `gradewright rulebooks check` says of a file with this content, line by line."""
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    done = CliRunner().invoke(app, ["check", str(path)])
    assert done.exit_code == 1, done.output
    assert done.exception is None or isinstance(done.exception, SystemExit)
    return done.stderr.splitlines()


def line_of(text: str, part: str) -> int:
    """The line, from 1, on which a part of a text begins."""
    return text.count("\n", 0, text.index(part)) + 1


CHANGES = [
    pytest.param(
        "{at_least: heavy_steel_thickness}",
        "{at_least: heavy_stel}",
        "rule thick-steel, when thickness at_least: 'heavy_stel' is not a limit of this document; "
        "did you mean heavy_steel_thickness?",
        id="a limit",
    ),
    pytest.param(
        "when: {metal: copper, steel_screws: false}",
        "when: {metl: copper, steel_screws: false}",
        "rule clean-copper, when metl: 'metl' is not an attribute of this document; did you mean metal?",
        id="an attribute",
    ),
    pytest.param(
        '    source: "made for tests"\n    confidence: published\n  - id: thick-steel',
        "    confidence: published\n  - id: thick-steel",
        "rule clean-copper: `source` is missing: write it",
        id="a key that is missing",
    ),
    pytest.param(
        'describes: "Loose."',
        'descibes: "Loose."',
        "grade screws: `descibes` is not a key that stands here; did you mean describes?",
        id="a key that is misspelt",
    ),
    pytest.param(
        'means: "thinnest heavy steel"',
        'means: ""',
        "limit heavy_steel_thickness, means: nothing is written here: write at least a word",
        id="empty text",
    ),
    pytest.param(
        "grade: light-iron\n    when: {metal: steel, thickness: {below",
        "grade: Light Iron\n    when: {metal: steel, thickness: {below",
        "rule thin-steel, grade: 'Light Iron' does not fit: write lower-case letters, "
        "digits and single hyphens, such as copper-no2",
        id="a name for a slug",
    ),
    pytest.param(
        'minutes: 0.3, beware: "taper"',
        'minutes: soon, beware: "taper"',
        "attribute thickness, minutes: 'soon' cannot stand here: "
        "write a number of at most 12 digits, such as 0.5",
        id="a word for a number",
    ),
    pytest.param(
        "unless: [{thickness: {at_least: 20 mm}}]",
        "unless: [{thickness: {at_least: 20 lb}}]",
        "caution sharp, unless (1) thickness at_least: ",
        id="an exception of a caution",
    ),
    pytest.param(
        "metal: copper}, candidates: [copper-residue, copper-no1]",
        "metal: copper}, candidates: [copper-residu, copper-no1]",
        "example 3: 'copper-residu' is not a grade of this document; did you mean copper-residue",
        id="a grade in an example",
    ),
    pytest.param(
        "id: thin-steel",
        "id: ''",
        "rule number 4, id: '' does not fit: write lower-case letters",
        id="a rule without an id",
    ),
    pytest.param(
        "effective_from: 2020-01-01",
        "effective_from: 2020-02-30",
        "effective_from: '2020-02-30' cannot stand here: write a day of the calendar as YYYY-MM-DD",
        id="a day of no calendar",
    ),
    pytest.param(
        "{part: {metal: steel, thickness: 6.34 mm}, grade: light-iron",
        "{part: {metal: steel, thickness: 6.34 mm}, grade: steel-heavy",
        "example 2 (metal: steel, thickness: 6.34 mm): steel-heavy is expected; "
        "light-iron is found, by rule thin-steel",
        id="an example",
    ),
    pytest.param(
        "{part: {metal: steel, thickness: 6.34 mm}, grade: light-iron",
        "{part: {metal: steel, thickness: 0.2 in}, grade: steel-heavy",
        "example 2 (metal: steel, thickness: 0.2 in): steel-heavy is expected; "
        "light-iron is found, by rule thin-steel",
        id="an example in its author's units",
    ),
]


@pytest.mark.parametrize(("old", "new", "says"), CHANGES)
def test_a_fault_is_told_with_its_line_and_its_owner(tmp_path: Path, old: str, new: str, says: str) -> None:
    """The file, the line in it, the id of what is at fault, and what to write instead."""
    assert TEXT.count(old) == 1
    text = TEXT.replace(old, new)
    found = told(tmp_path / "own.yaml", text)
    line = line_of(text, "  - id: clean-copper" if "is missing" in says else new)
    assert [told for told in found if told.startswith(f"own.yaml:{line}: {says}")]


def test_the_line_is_that_of_the_very_key(tmp_path: Path) -> None:
    """In a clause of several lines, the line of the observation at fault is told, not that of its rule."""
    text = TEXT.replace(
        "when: {metal: steel, thickness: {at_least: heavy_steel_thickness}}",
        "when:\n      metal: steel\n      thickness:\n        at_least: 3 lb",
    )
    (found, *_) = [line for line in told(tmp_path / "own.yaml", text) if "thick-steel" in line]
    assert found.startswith(
        f"own.yaml:{line_of(text, 'at_least: 3 lb')}: rule thick-steel, when thickness at_least: "
    )


def test_both_places_of_an_id_are_told(tmp_path: Path) -> None:
    """An id that two rules have is told with the lines of both."""
    text = TEXT.replace("id: clean-copper", "id: thin-steel")
    first, second = told(tmp_path / "own.yaml", text)
    places = [n + 1 for n, line in enumerate(text.splitlines()) if line == "  - id: thin-steel"]
    assert first.startswith(f"own.yaml:{places[0]}: rule thin-steel: this id stands 2 times")
    assert second.startswith(f"own.yaml:{places[1]}: rule thin-steel: this id stands 2 times")


def test_a_letter_in_another_encoding_is_told(tmp_path: Path) -> None:
    """A byte that is not UTF-8 is told with its line, the byte, and what to do."""
    data = TEXT.encode().replace(b"Wear gloves.", b"Wear gloves, caf\xe9.")
    line = line_of(TEXT, "Wear gloves.")
    assert told(tmp_path / "own.yaml", data) == [
        f"own.yaml:{line}: the byte 0xe9 is not UTF-8: save the file as UTF-8 and write the letter again"
    ]


NOT_YAML = [
    pytest.param(
        "rules:\n  - id: a\n    b: 1\n  c: 2\n", 4, "must begin with `- `", id="moved out of a list"
    ),
    pytest.param('a: "x" y\n', 1, "`name: value` must begin", id="text after a quotation"),
    pytest.param("a: [1, 2\nb: 3\n", 2, "`]`", id="a list never closed"),
    pytest.param("a: {b: 1\n", 2, "`}`", id="a brace never closed"),
    pytest.param(
        "a: 'x\nb: 1\n", 3, "never closed (in what begins on line 1)", id="a quotation never closed"
    ),
    pytest.param("a: b: c\n", 1, "colon in quotes", id="two colons"),
    pytest.param("a:\n\t- b\n", 2, "not tabs", id="a tab"),
    pytest.param("a: *b\n", 1, "needs quotes", id="a star"),
    pytest.param("a: 1\n---\nb: 2\n", 2, "without `---`", id="two documents"),
    pytest.param("ä: 1\nb: \x07\n", 2, "control character", id="a control character"),
    pytest.param("a: 1\nb: 1\na: 2\n", 3, "'a' stands here a second time, after line 1", id="a key twice"),
    pytest.param("a: 010\n", 1, "not a number in plain digits", id="an octal number"),
    pytest.param("a: 12:30\n", 1, "not a number in plain digits", id="a time of the day"),
    pytest.param(f"a: {'9' * 5000}\n", 1, "not a number in plain digits", id="a number too long to be one"),
    pytest.param("a: &x [*x]\n", 1, "contains itself", id="a list in itself"),
    pytest.param("a: 1\nb: !!set {c}\n", 2, "begins with `!`", id="a tag"),
]


@pytest.mark.parametrize(("text", "line", "says"), NOT_YAML)
def test_what_is_not_yaml_is_told_with_its_line(tmp_path: Path, text: str, line: int, says: str) -> None:
    """Where the text stops making sense, and what to write, in words of this project."""
    (found,) = told(tmp_path / "own.yaml", text)
    assert found.startswith(f"own.yaml:{line}: ")
    assert says in found
    assert not any(words in found for words in LIBRARY_WORDS)


def places(value: Any, at: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Every place in a document, the outermost first."""
    if at:
        yield at
    if isinstance(value, (dict, list)):
        for step, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from places(inner, (*at, step))


WRONG: list[Any] = [None, 7, -1, True, "", "No Such Thing", "x" * 2001, [], {}, ["a", 3], {"b": 1}, 0.5, "٣"]


@pytest.mark.parametrize("wrong", WRONG, ids=lambda wrong: repr(wrong)[:20])
def test_no_words_of_a_library_are_told(wrong: Any) -> None:
    """Put anywhere in a document, a wrong value is told in plain words that begin with its place."""
    tried = 0
    for at in places(document()):
        source: Any = document()
        inner: Any = source
        for step in at[:-1]:
            inner = inner[step]
        inner[at[-1]] = wrong
        try:
            read(source)
        except RulebookError as error:
            for fault in error.faults:
                tried += 1
                assert not any(words in fault.detail for words in LIBRARY_WORDS), fault.detail
                assert fault.detail.split(":")[0].strip(), fault.detail
    assert tried > 50


def test_every_place_has_its_line() -> None:
    """The line is known of every key and entry of a document."""
    source = from_text(TEXT)
    assert set(source.lines) == set(places(source.document))
    assert source.line(("rules", 3, "when", "metal")) == line_of(TEXT, "id: thin-steel") + 2
    assert source.line(("rules", 3, "nowhere", "at", "all")) == line_of(TEXT, "id: thin-steel")
