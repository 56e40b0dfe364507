"""A rulebook document is refused with all its faults; its content has one form, and one digest."""

from __future__ import annotations

import pytest
from tests.rulebooks.changing import Change, at, changed, faults_of
from tests.samples import TEXT, document

from gradewright.core.errors import RulebookError
from gradewright.rulebooks.document import canonical, from_yaml, read


@pytest.mark.parametrize(
    ("change", "place", "says"),
    [
        (at("grades", "copper-no1", "aliases", value=["Birch"]), ("grades", "copper-no2"), "'birch'"),
        (at("grades", "light-iron", "aliases", value=["tin", "BIRCH"]), ("grades", "light-iron"), "'birch'"),
        (at("grades", "screws", "aliases", value=["copper-no1"]), ("grades", "screws"), "'copper-no1'"),
        (at("grades", "screws", "aliases", value=["heavy steel"]), ("grades", "screws"), "'heavy steel'"),
        (at("grades", "screws", "name", value="Light iron"), ("grades", "screws"), "'light iron'"),
        (
            lambda d: d["limits"].update(unused={"value": "1 mm", "means": "x", "source": "x"}),
            ("limits", "unused"),
            "no condition uses this limit",
        ),
    ],
    ids=[
        "an alias of two grades",
        "an alias in capitals",
        "an alias that is a slug",
        "an alias that is a name",
        "two grades of one name",
        "a limit that nothing uses",
    ],
)
def test_what_would_be_ambiguous_is_refused(change: Change, place: tuple[str | int, ...], says: str) -> None:
    """A name stands for one thing, and what is defined is used."""
    (fault,) = faults_of(changed(change))
    assert fault.at == place
    assert says in fault.detail


@pytest.mark.parametrize(
    ("change", "places"),
    [
        (at("rules", 1, "id", value="copper-with-screws"), [("rules", 0), ("rules", 1)]),
        (
            lambda d: d["impossible"].append(dict(d["impossible"][0])),
            [("impossible", 0), ("impossible", 1)],
        ),
    ],
    ids=["rules", "contradictions"],
)
def test_an_id_that_stands_twice_is_told_at_both_places(
    change: Change, places: list[tuple[str | int, ...]]
) -> None:
    """Two entries of one id are two faults, one at each of them."""
    found = faults_of(changed(change))
    assert [fault.at for fault in found] == places
    assert all("2 times" in fault.detail for fault in found)


def test_all_faults_are_told_together() -> None:
    """Three faults in three sections come in one refusal, counted in its first words."""
    source = document()
    source["rules"][0]["grade"] = "coper-no1"
    source["examples"][0]["part"]["thickness"] = "6 kg"
    source["grades"]["screws"]["aliases"] = ["Birch"]
    with pytest.raises(RulebookError, match=r"^3 fault\(s\)") as refusal:
        read(source)
    assert {fault.at[0] for fault in refusal.value.faults} == {"rules", "examples", "grades"}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        pytest.param(
            TEXT.replace('title: "A', 'version: "2020.2"\ntitle: "A'), "line 4.*'version'", id="a key twice"
        ),
        pytest.param(
            TEXT.replace("grade: copper-no1\n", "grade: copper-no1\n    grade: screws\n", 1),
            "'grade'",
            id="a key twice in a rule",
        ),
        pytest.param(
            TEXT.replace("{metal: copper, steel_screws: true}", "{metal: copper, metal: steel}", 1),
            "'metal'",
            id="a key twice on one line",
        ),
        pytest.param("version: [", "not YAML", id="not YAML"),
        pytest.param("version: '2020.1\n", "not YAML", id="a quotation never closed"),
        pytest.param("- version", "not a mapping", id="a list"),
        pytest.param("", "not a mapping", id="nothing"),
        pytest.param(
            "version: !!python/object:os.system {}",
            "line 1.*means nothing here",
            id="a tag that would run code",
        ),
        pytest.param("minutes: .inf", "line 1", id="infinity"),
        pytest.param("minutes: .nan", "line 1", id="not a number"),
        pytest.param("{[1, 2]: 3}", "line 1", id="a list as a key"),
    ],
)
def test_text_that_is_not_a_document(text: str, says: str) -> None:
    """What is not YAML, or says a key twice, is refused with the line where it can be told."""
    with pytest.raises(RulebookError, match=says):
        read(from_yaml(text))


def test_decimals_and_days_become_text() -> None:
    """A number with a point keeps every digit as written, a day its form: the JSON form has no floats."""
    found = from_yaml("a: 0.10\nb: 1.00000000000000000001\nc: 2018-02-01\nd: 7\ne: true\nf: null\ng: [1.50]")
    assert found == {
        "a": "0.10",
        "b": "1.00000000000000000001",
        "c": "2018-02-01",
        "d": 7,
        "e": True,
        "f": None,
        "g": ["1.50"],
    }


def test_the_digest_is_that_of_the_content() -> None:
    """Comments, spaces and quotation marks do not change the digest; a word does; so does the order."""
    first = read(from_yaml(TEXT)).sha256
    assert read(from_yaml("# a comment\n" + TEXT.replace('"Copper"', "'Copper'"))).sha256 == first
    assert read(from_yaml(TEXT.replace("Clean.", "Clean!"))).sha256 != first
    assert canonical({"b": 1, "a": "ü"}) == '{"b":1,"a":"ü"}'.encode()


def test_a_document_survives_its_json_form() -> None:
    """Read from YAML, or from the canonical JSON of it, a rulebook is the same value."""
    import json

    source = document()
    assert read(json.loads(canonical(source))) == read(source)
