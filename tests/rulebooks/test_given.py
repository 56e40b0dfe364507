"""Parts that show something are written in the words and units of the rulebook."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from tests.samples import document

from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import Bound, Condition, LargestFirst, Rulebook
from gradewright.rulebooks.document import read
from gradewright.rulebooks.given import Writing, as_given
from gradewright.rulebooks.proof import prove
from gradewright.rulebooks.proof_lines import finding_lines
from gradewright.rulebooks.solving import Parts, every_when


def asking(kind: Kind, *bounds: str) -> tuple[Parts, Rulebook]:
    """The small rulebook with an attribute `x` about which rules ask by these bounds alone."""
    book = read(document())
    attribute = Attribute("x", kind, "-", "-", Decimal(1), "-")
    rules = tuple(
        replace(book.rules[0], when=(Condition("x", below=Bound(attribute.read(given), given)),))
        for given in bounds
    )
    book = replace(
        book, attributes={"x": attribute}, rules=rules, impossible=(), preparations={}, cautions={}
    )
    return Parts(book.attributes, every_when(book)), book


@pytest.mark.parametrize(
    ("kind", "bounds", "written"),
    [
        (Kind.LENGTH, ("24 in",), ["20 in", "24 in", "40 in"]),
        (Kind.LENGTH, ("1/8 in", "1/4 in"), ["0.1 in", "1/8 in", "0.2 in", "1/4 in", "1 in"]),
        (Kind.LENGTH, ("18 AWG",), ["1 mm", "18 AWG", "2 mm"]),
        (Kind.SHARE, ("5 %", "10 %"), ["2 %", "5 %", "8 %", "10 %", "50 %"]),
        (Kind.DATE, ("1979-07-02", "1980-01-01"), [
            "1978-01-01", "1979-07-02", "1979-12-31", "1980-01-01", "1981-01-01",
        ]),
        (Kind.YEAR, ("1980",), [1979, 1980, 1981]),
    ],
)  # fmt: skip
def test_values_are_written_as_bounds_are(kind: Kind, bounds: tuple[str, ...], written: list[object]) -> None:
    """A bound by its own text, what lies between by a round value in its unit, days by years; each of them
    is in the cell that it stands for."""
    parts, book = asking(kind, *bounds)
    writing = Writing(parts, book)
    cells = parts.axes["x"].cells
    found = [writing.value("x", cell) for cell in cells]
    assert [parts.cell("x", book.attributes["x"].read(each)) for each in found] == list(range(len(cells)))
    assert found == written


def test_any_day_and_any_measure_reads_well() -> None:
    """Where nothing is asked of an attribute any value does: no first day of all days."""
    for kind, value, written in (
        (Kind.DATE, date.min, "2000-01-01"), (Kind.YEAR, 1800, 2000), (Kind.LENGTH, Decimal(1), "0.5 mm"),
    ):  # fmt: skip
        parts, book = asking(kind)
        cell: Value = value
        assert Writing(parts, book).value("x", cell) == written


def test_a_single_value_of_a_measure_in_an_order_has_its_unit() -> None:
    """What the other measure is held against is written as a bound is, and no bare number."""
    book = read(document())
    sides = {name: replace(book.attributes["thickness"], name=name) for name in ("long", "wide")}
    value = sides["wide"].read("20 mm")
    for bounds in ((), (Bound(value, "2 cm"),)):
        rules = [
            replace(book.rules[0], when=(Condition("wide", (value,)),)),
            *(replace(book.rules[0], when=(Condition("long", below=each),)) for each in bounds),
        ]
        order = LargestFirst("sides", tuple(sides), "-", "-")
        ordered = replace(
            book, attributes=sides, rules=tuple(rules), impossible=(), preparations={}, cautions={},
            largest_first=(order,),
        )  # fmt: skip
        given = as_given(ordered)
        assert given.get(("long", value)) == ("2 cm" if bounds else None)
        assert ("wide", value) not in given


def test_what_shows_the_same_is_told_as_a_range() -> None:
    """Measures that have no answer either are one range in words, and not a list of samples."""
    source = document()
    source["grades"]["copper-no2"]["by_name_only"] = True
    source["rules"][3]["when"]["thickness"] = {"below": "2 mm"}
    source["limits"]["heavy_steel_thickness"]["value"] = "1/4 in"
    source["examples"] = []
    holes = [hole for hole in prove(read(source)).findings if hole.kind == "no-answer"]
    told = [hole for hole in holes if "thickness" in (hole.part or {})]
    assert told
    for hole in told:
        assert (hole.ranges or {})["thickness"] == "at least 2 mm and below 1/4 in"
        assert "    The same for thickness: at least 2 mm and below 1/4 in." in finding_lines(hole)
