"""A rulebook document with a fault in it is refused, and every fault is told with its place."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from tests.samples import TEXT, document

from gradewright.core.errors import Fault, RulebookError
from gradewright.core.rulebook import Shed
from gradewright.rulebooks.check import check
from gradewright.rulebooks.document import canonical, from_yaml, read

Change = Callable[[dict[str, Any]], Any]


def faults_of(source: dict[str, Any]) -> tuple[Fault, ...]:
    """The faults for which a document is refused."""
    with pytest.raises(RulebookError) as refusal:
        read(source)
    assert refusal.value.faults
    assert refusal.value.faults[0].detail in refusal.value.detail
    return refusal.value.faults


HELD = {
    "enough_yards": 3,
    "outlier": "3.5",
    "spread_floor": "2 %",
    "factor": "3",
    "agrees_within": "12 %",
    "contradicted_within": 7,
}


def changed(change: Change) -> dict[str, Any]:
    """The small rulebook with a change made to it."""
    source = document()
    change(source)
    return source


def at(*path: str | int, value: Any) -> Change:
    """A change that puts a value at a place."""

    def change(source: Any) -> None:
        for step in path[:-1]:
            source = source[step]
        source[path[-1]] = value

    return change


def without(*path: str | int) -> Change:
    """A change that takes out what is at a place."""

    def change(source: Any) -> None:
        for step in path[:-1]:
            source = source[step]
        del source[path[-1]]

    return change


def test_the_unchanged_document_is_read() -> None:
    """What the other tests spoil is read when it is not spoilt."""
    assert read(document()).version == "2020.1"


MISPLACED = [
    pytest.param(at("limit", value={}), ("limit",), id="an unknown key at the top"),
    pytest.param(without("cautions"), ("cautions",), id="a section that is missing"),
    pytest.param(
        at("rules", 0, "sources", value="x"), ("rules", 0, "sources"), id="a misspelt key of a rule"
    ),
    pytest.param(without("rules", 2, "because"), ("rules", 2, "because"), id="a rule without its reason"),
    pytest.param(
        at("rules", 2, "source", value=""), ("rules", 2, "source"), id="a rule with an empty source"
    ),
    pytest.param(
        at("rules", 0, "confidence", value="sure"), ("rules", 0, "confidence"), id="no such confidence"
    ),
    pytest.param(at("rules", 0, "grade", value="Copper No. 1"), ("rules", 0, "grade"), id="a name as a slug"),
    pytest.param(
        at("rules", 2, "when", "thickness", value={"at_leest": "3 mm"}),
        ("rules", 2, "when", "thickness", "at_leest"),
        id="a misspelt bound",
    ),
    pytest.param(
        at("rules", 2, "when", "thickness", value=None),
        ("rules", 2, "when", "thickness"),
        id="a null condition",
    ),
    pytest.param(
        at("rules", 2, "when", "thickness", value={"at_least": None}),
        ("rules", 2, "when", "thickness"),
        id="a bound of null alone",
    ),
    pytest.param(
        at("rules", 2, "when", "thickness", value={}),
        ("rules", 2, "when", "thickness"),
        id="bounds without one",
    ),
    pytest.param(
        at("rules", 0, "when", "metal", value=[]), ("rules", 0, "when", "metal"), id="a list of nothing"
    ),
    pytest.param(at("rules", 0, "when", value={}), ("rules", 0, "when"), id="a rule without conditions"),
    pytest.param(
        at("impossible", 0, "when", value={}), ("impossible", 0, "when"), id="everything impossible"
    ),
    pytest.param(at("version", value="2020"), ("version",), id="a version without a number"),
    pytest.param(at("version", value="２０２０.1"), ("version",), id="a version in full-width digits"),
    pytest.param(at("version", value=2020), ("version",), id="a version as a number"),
    pytest.param(at("effective_from", value="soon"), ("effective_from",), id="a day that is none"),
    pytest.param(at("effective_from", value="2020-02-30"), ("effective_from",), id="a day of no calendar"),
    pytest.param(at("effective_from", value=86_400), ("effective_from",), id="a day in seconds"),
    pytest.param(
        at("attributes", "metal", "kind", value="colour"), ("attributes", "metal", "kind"), id="no such kind"
    ),
    pytest.param(
        at("attributes", "metal", "minutes", value=0.5),
        ("attributes", "metal", "minutes"),
        id="a binary float",
    ),
    pytest.param(
        at("attributes", "metal", "minutes", value="-1"),
        ("attributes", "metal", "minutes"),
        id="time won back",
    ),
    pytest.param(
        at("attributes", "metal", "minutes", value="NaN"), ("attributes", "metal", "minutes"), id="no number"
    ),
    pytest.param(
        at("attributes", "metal", "minutes", value=True),
        ("attributes", "metal", "minutes"),
        id="true minutes",
    ),
    pytest.param(
        at("grades", "copper-no2", "priced_as", "factor", value="0"),
        ("grades", "copper-no2", "priced_as", "factor"),
        id="kin that make it worth nothing",
    ),
    pytest.param(
        at("preparations", "back-out-screws", "sheds", "share", value="150 %"),
        ("preparations", "back-out-screws", "sheds", "share"),
        id="more shed than there is",
    ),
    pytest.param(
        at("preparations", "back-out-screws", "sheds", "share", value="١٠ %"),
        ("preparations", "back-out-screws", "sheds", "share"),
        id="a share in Arabic digits",
    ),
    pytest.param(
        at("preparations", "back-out-screws", "per", value="hour"),
        ("preparations", "back-out-screws", "per"),
        id="work per hour",
    ),
    pytest.param(at("pricing", "stale_after", value=0), ("pricing", "stale_after"), id="stale at once"),
    pytest.param(at("pricing", "half_life", value=True), ("pricing", "half_life"), id="a half-life of true"),
    pytest.param(at("pricing", "thin_margin", value="10"), ("pricing", "thin_margin"), id="a bare margin"),
    pytest.param(
        at("pricing", "thin_margin", value="100 %"), ("pricing", "thin_margin"), id="all of the price"
    ),
    pytest.param(
        at("pricing", "most_yards_above", value=2), ("pricing", "most_yards_above"), id="two of a country"
    ),
    pytest.param(
        at("pricing", "held", value={**HELD, "few": {"yards": 3, "factor": "2"}}),
        ("pricing", "held"),
        id="few that are enough",
    ),
]


@pytest.mark.parametrize(("change", "place"), MISPLACED)
def test_what_does_not_belong_is_told_once(change: Change, place: tuple[str | int, ...]) -> None:
    """A key or a value that the document's shape does not allow is one fault, at its place."""
    assert [fault.at for fault in faults_of(changed(change))] == [place]


UNKNOWN = [
    pytest.param(
        at("rules", 2, "when", "thicknes", value={"at_least": "heavy_steel_thickness"}),
        ("rules", 2, "when", "thicknes"),
        "thickness",
        id="an attribute in a rule",
    ),
    pytest.param(
        at("impossible", 0, "when", value={"metl": "copper"}),
        ("impossible", 0, "when", "metl"),
        "metal",
        id="an attribute in what is impossible",
    ),
    pytest.param(
        at("preparations", "back-out-screws", "when", "steel_screw", value=True),
        ("preparations", "back-out-screws", "when", "steel_screw"),
        "steel_screws",
        id="an attribute in a preparation",
    ),
    pytest.param(
        at("preparations", "back-out-screws", "changes", "steel_screw", value=False),
        ("preparations", "back-out-screws", "changes", "steel_screw"),
        "steel_screws",
        id="an attribute in what work changes",
    ),
    pytest.param(
        at("cautions", "sharp", "when", 0, "metall", value="steel"),
        ("cautions", "sharp", "when", 0, "metall"),
        "metal",
        id="an attribute in a caution",
    ),
    pytest.param(
        at("cautions", "sharp", "unless", 0, "metall", value="steel"),
        ("cautions", "sharp", "unless", 0, "metall"),
        "metal",
        id="an attribute in an exception",
    ),
    pytest.param(
        at("examples", 0, "part", "thicknes", value="6 mm"),
        ("examples", 0, "part", "thicknes"),
        "thickness",
        id="an attribute in an example",
    ),
    pytest.param(
        at("rules", 2, "when", "thickness", "at_least", value="heavy_stel_thickness"),
        ("rules", 2, "when", "thickness", "at_least"),
        "heavy_steel_thickness",
        id="a limit",
    ),
    pytest.param(
        at("rules", 0, "grade", value="coper-no1"), ("rules", 0, "grade"), "copper-no1", id="a grade"
    ),
    pytest.param(
        at("grades", "copper-no2", "priced_as", "grade", value="coper-no1"),
        ("grades", "copper-no2", "priced_as"),
        "copper-no1",
        id="a grade as kin",
    ),
    pytest.param(
        at("grades", "copper-no2", "family", value="coper"),
        ("grades", "copper-no2", "family"),
        "copper",
        id="a family",
    ),
    pytest.param(
        at("preparations", "back-out-screws", "sheds", "grade", value="screw"),
        ("preparations", "back-out-screws", "sheds", "grade"),
        "screws",
        id="a grade that is shed",
    ),
    pytest.param(
        at("preparations", "back-out-screws", "cautions", value=["sharpe"]),
        ("preparations", "back-out-screws", "cautions"),
        "sharp",
        id="a caution of a preparation",
    ),
    pytest.param(
        at("cautions", "dust", "grades", value=["copper-residues"]),
        ("cautions", "dust", "grades"),
        "copper-residue",
        id="a grade of a caution",
    ),
    pytest.param(
        at("examples", 0, "grade", value="stel-heavy"), ("examples", 0), "steel-heavy", id="in an example"
    ),
    pytest.param(
        at("examples", 2, "candidates", value=["copper-no1", "copper-residu"]),
        ("examples", 2),
        "copper-residue",
        id="a candidate of an example",
    ),
    pytest.param(
        at("examples", 3, "contradiction", value="magnetic-coper"),
        ("examples", 3),
        "magnetic-copper",
        id="a contradiction of an example",
    ),
]


@pytest.mark.parametrize(("change", "place", "suggested"), UNKNOWN)
def test_an_unknown_name_is_told_with_what_was_meant(
    change: Change, place: tuple[str | int, ...], suggested: str
) -> None:
    """A name that the document does not define is one fault at its place, with the nearest name."""
    (fault,) = faults_of(changed(change))
    assert fault.at == place
    assert suggested in fault.suggestions
    assert suggested in fault.detail


WRONG_VALUES = [
    pytest.param(
        at("limits", "heavy_steel_thickness", "value", value="6.35 kg"),
        ("limits", "heavy_steel_thickness", "value"),
        id="a limit of length in kilograms",
    ),
    pytest.param(
        at("limits", "heavy_steel_thickness", "value", value="6.35"),
        ("limits", "heavy_steel_thickness", "value"),
        id="a limit without a unit",
    ),
    pytest.param(
        at("rules", 2, "when", "thickness", value={"at_least": "3 lb"}),
        ("rules", 2, "when", "thickness", "at_least"),
        id="a bound in pounds",
    ),
    pytest.param(
        at("rules", 2, "when", "thickness", value="thick"),
        ("rules", 2, "when", "thickness"),
        id="a word for a length",
    ),
    pytest.param(
        at("rules", 0, "when", "foreign_share", value={"above": "0.05"}),
        ("rules", 0, "when", "foreign_share", "above"),
        id="a share without its sign",
    ),
    pytest.param(
        at("examples", 0, "part", "thickness", value="6.35 kg"),
        ("examples", 0, "part", "thickness"),
        id="an example in kilograms",
    ),
    pytest.param(
        at("examples", 0, "part", "thickness", value="-1 mm"),
        ("examples", 0, "part", "thickness"),
        id="below zero",
    ),
    pytest.param(
        at("rules", 0, "when", "steel_screws", value="yes"),
        ("rules", 0, "when", "steel_screws"),
        id="yes in quotes",
    ),
    pytest.param(
        at("rules", 0, "when", "metal", value=["copper", "coper"]),
        ("rules", 0, "when", "metal"),
        id="no such choice",
    ),
    pytest.param(
        at("rules", 0, "when", "metal", value={"at_least": "copper"}),
        ("rules", 0, "when", "metal"),
        id="a range of choices",
    ),
    pytest.param(
        at("rules", 0, "when", "steel_screws", value={"above": False}),
        ("rules", 0, "when", "steel_screws"),
        id="more than no",
    ),
    pytest.param(
        at("preparations", "back-out-screws", "changes", "steel_screws", value="none"),
        ("preparations", "back-out-screws", "changes", "steel_screws"),
        id="a change to what it cannot be",
    ),
]


@pytest.mark.parametrize(("change", "place"), WRONG_VALUES)
def test_a_value_that_the_attribute_does_not_take(change: Change, place: tuple[str | int, ...]) -> None:
    """A value of another kind, or without its unit, is a fault at its place."""
    found = faults_of(changed(change))
    assert place in [fault.at for fault in found]
    assert {fault.at[0] for fault in found} <= {place[0], "limits"}


def of_two_kinds(value: str, kind: str) -> dict[str, Any]:
    """The small rulebook with one limit for a thickness, and for something of another kind in two places."""
    source = document()
    source["attributes"]["made"] = {**source["attributes"]["thickness"], "kind": kind}
    source["limits"]["line"] = {"value": value, "means": "x", "source": "x"}
    source["rules"][2]["when"]["thickness"] = {"at_least": "line"}
    source["rules"][1]["when"]["made"] = {"below": "line"}
    source["cautions"]["sharp"]["unless"] = [{"made": {"at_least": "line"}}, {"thickness": {"above": "line"}}]
    return source


KINDS = {
    "share": ("5 %", "a share"),
    "area": ("10 cm2", "an area"),
    "density": ("8.9 g/cm3", "a density"),
    "year": ("1980", "a year"),
    "date": ("2005-08-13", "a date"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_a_limit_is_of_one_kind(kind: str) -> None:
    """Each use of a limit on something of another kind than its first use is a fault where it stands,
    whatever its value reads as; what is measured alike may share one."""
    for value in ("0.5 mm", KINDS[kind][0]):
        told = {fault.at: fault.detail for fault in faults_of(of_two_kinds(value, kind))}
        thickness, sharp = ("rules", 2, "when", "thickness", "at_least"), ("cautions", "sharp", "unless")
        wrong = {thickness, (*sharp, 1, "thickness", "above")}
        assert told.keys() - {("limits", "line", "value")} == wrong
        assert (
            f"line is {KINDS[kind][1]} elsewhere (rule clean-copper, when made below), and thickness is a "
            "length: make two limits"
        ) in told[thickness]
    assert read(of_two_kinds("0.5 mm", "length")).limits["line"].value == Decimal("0.5")


def test_a_bound_on_what_has_no_order_says_nothing_of_a_limit() -> None:
    """It is a fault of its own, and the limit is still what it is where it is used rightly."""
    source = changed(at("rules", 0, "when", "metal", value={"at_least": "heavy_steel_thickness"}))
    assert [fault.at for fault in faults_of(source)] == [("rules", 0, "when", "metal")]


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


def test_an_unsound_example_is_told_in_its_words() -> None:
    """An example that the rules do not bear out names the part as written, what is asked, what is given."""
    source = document()
    source["examples"][1]["grade"] = "steel-heavy"
    (fault,) = [fault for fault in check(read(source)) if fault.at[0] == "examples"]
    assert fault.at == ("examples", 1)
    assert "metal: steel, thickness: 6.34 mm" in fault.detail
    assert "steel-heavy is expected; light-iron is found, by rule thin-steel" in fault.detail


@pytest.mark.parametrize(
    ("example", "says"),
    [
        (
            {"part": {"metal": "copper"}, "candidates": ["copper-no1"]},
            "undecided between copper-no1 is expected",
        ),
        ({"part": {"metal": "copper"}, "ungraded": True}, "no grade is expected; undecided between"),
        ({"part": {"metal": "copper", "sticks_to_magnet": True}, "grade": "copper-no1"}, "a contradiction"),
        (
            {"part": {"metal": "steel", "thickness": "7 mm"}, "contradiction": "magnetic-copper"},
            "steel-heavy is found, by rule",
        ),
        ({"part": {"metal": "copper"}}, "names none"),
    ],
)
def test_every_kind_of_example_is_held(example: dict[str, Any], says: str) -> None:
    """Candidates, contradictions, no grade and no answer at all are compared with what is given."""
    source = document(examples=[example])
    assert any(says in fault.detail for fault in check(read(source)) if fault.at == ("examples", 0))


def test_kin_in_a_circle_are_found() -> None:
    """Grades that are priced as each other are told, each of them."""
    source = document()
    source["grades"]["copper-no1"]["priced_as"] = {"grade": "copper-residue", "factor": "2"}
    circles = [fault.at[1] for fault in check(read(source)) if "priced as itself" in fault.detail]
    assert circles == ["copper-no1", "copper-no2", "copper-residue"]


def test_a_grade_priced_as_itself_is_found() -> None:
    """The smallest circle is one too."""
    source = document()
    source["grades"]["screws"]["priced_as"] = {"grade": "screws", "factor": "1"}
    assert ("grades", "screws") in [fault.at for fault in check(read(source)) if "priced as" in fault.detail]


def test_a_grade_that_no_rule_gives_is_found() -> None:
    """A grade is given by a rule, or it is marked as sold by name only."""
    faults = [fault for fault in check(read(document())) if "no rule gives" in fault.detail]
    assert [fault.at for fault in faults] == [("grades", "copper-no2")]
    source = document()
    source["grades"]["copper-no2"]["by_name_only"] = True
    assert check(read(source)) == ()


def test_values_are_read_exactly() -> None:
    """Limits, factors and shares are exact decimals in the kind's own unit."""
    book = read(document())
    assert book.limits["heavy_steel_thickness"].value == Decimal("6.35")
    assert book.grades["copper-no2"].kin_factor == Decimal("0.9")
    assert book.preparations["back-out-screws"].sheds == (Shed("screws", Decimal("0.1")),)
    assert book.pricing.thin_margin == Decimal("0.1")


def disputed(day: str, **of_the_rule: str) -> dict[str, Any]:
    """The small rulebook as of a day, its second rule disputed."""
    source = document(version="2026.9", effective_from=day)
    source["rules"][1] |= {"confidence": "disputed", **of_the_rule}
    return source


@pytest.mark.parametrize("day", ["2026-07-02", "2027-01-01"])
def test_a_disputed_rule_says_what_would_settle_it(day: str) -> None:
    """In a version from after 1 July 2026 a disputed rule without `settled_by` is a fault at the rule."""
    (fault,) = [fault for fault in check(read(disputed(day))) if fault.at == ("rules", 1)]
    assert fault.detail.startswith("rule clean-copper: it is disputed")
    settled = read(disputed(day, settled_by="Have it assayed."))
    assert settled.rules[1].settled_by == "Have it assayed."
    assert not [fault for fault in check(settled) if fault.at[0] == "rules"]


def test_older_versions_need_not_say_what_would_settle_it() -> None:
    """Versions up to 1 July 2026, which can never change, stay sound without it."""
    assert not [fault for fault in check(read(disputed("2026-07-01"))) if fault.at[0] == "rules"]


@pytest.mark.parametrize("confidence", ["published", "common-practice"])
def test_only_a_dispute_can_be_settled(confidence: str) -> None:
    """A rule that is not disputed and says what would settle it is refused."""
    source = changed(at("rules", 1, "settled_by", value="Have it assayed."))
    source["rules"][1]["confidence"] = confidence
    (fault,) = faults_of(source)
    assert fault.at == ("rules", 1)
    assert "only a rule whose `confidence` is disputed has `settled_by`" in fault.detail
