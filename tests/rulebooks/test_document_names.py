"""What does not belong in a rulebook document, and names that nobody knows, are told at their places."""

from __future__ import annotations

import pytest
from tests.rulebooks.changing import HELD, Change, at, changed, faults_of, without
from tests.samples import document

from gradewright.rulebooks.document import read


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
