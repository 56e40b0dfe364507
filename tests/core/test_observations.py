"""Reading what people wrote of a part, and showing it again."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from tests.core.rulebooks import attribute

from gradewright.core.errors import ObservationError
from gradewright.core.observations import Attribute, Kind, Value, read_observations

ATTRIBUTES = {
    a.name: a
    for a in (
        attribute("metal", Kind.CHOICE, ("copper", "brass", "cast-iron")),
        attribute("drained", Kind.YES_NO),
        attribute("thickness", Kind.LENGTH),
        attribute("foreign_share", Kind.SHARE),
        attribute("board_area", Kind.AREA),
        attribute("density", Kind.DENSITY),
        attribute("made_year", Kind.YEAR),
        attribute("capacitor_date", Kind.DATE),
    )
}


@pytest.mark.parametrize(
    ("name", "raw", "value", "shown"),
    [
        ("metal", "cast-iron", "cast-iron", "cast-iron"),
        ("drained", True, True, "yes"),
        ("drained", False, False, "no"),
        ("thickness", "1/4 in", Decimal("6.35"), "6.35 mm"),
        ("foreign_share", "2.5 %", Decimal("0.025"), "2.5 %"),
        ("foreign_share", "0 %", Decimal(0), "0 %"),
        ("foreign_share", "100 %", Decimal(1), "100 %"),
        ("board_area", "10.1 cm2", Decimal("10.1"), "10.1 cm2"),
        ("density", "8.9 g/cm3", Decimal("8.9"), "8.9 g/cm3"),
        ("made_year", 1979, 1979, "1979"),
        ("made_year", "1979", 1979, "1979"),
        ("capacitor_date", "1979-07-02", date(1979, 7, 2), "1979-07-02"),
    ],
)
def test_a_value_is_typed_and_shown_as_people_write_it(
    name: str, raw: object, value: Value, shown: str
) -> None:
    """Each kind takes its own form, and shows it again in the same."""
    kind: Attribute = ATTRIBUTES[name]
    assert kind.read(raw) == value
    assert type(kind.read(raw)) is type(value)
    assert kind.show(value) == shown


@pytest.mark.parametrize(
    ("name", "raw", "says"),
    [
        ("metal", "Coper", "did you mean copper"),
        ("metal", 3, "write one of copper, brass, cast-iron"),
        ("drained", "yes", "not true or false"),
        ("drained", 1, "not true or false"),
        ("thickness", 6.35, "has no unit"),
        ("thickness", "6.35", "mm"),
        ("thickness", "0 mm", "cannot be"),
        ("thickness", "gauge 16", "gauge"),
        ("foreign_share", "101 %", "from 0 % to 100 %"),
        ("foreign_share", "0.05", "%"),
        ("board_area", "ten cm2", "cm2"),
        ("density", "8.9", "g/cm3"),
        ("made_year", True, "not a year"),
        ("made_year", 979, "not a year"),
        ("made_year", "٢٠٢٠", "not a year"),
        ("capacitor_date", "2 July 1979", "write it as 1979-07-02"),
        ("capacitor_date", "1979-02-30", "not a date"),
    ],
)
def test_what_cannot_be_read_says_what_to_write(name: str, raw: object, says: str) -> None:
    """A refused value names its attribute and shows the form that it takes."""
    with pytest.raises(ObservationError, match=name) as refused:
        ATTRIBUTES[name].read(raw)
    assert says in refused.value.detail
    assert refused.value.faults[0].at == (name,)


def test_all_faults_of_a_part_are_told_at_once() -> None:
    """Three bad observations are three faults, each at its own place; a misspelt name gets the near ones."""
    with pytest.raises(ObservationError) as refused:
        read_observations(
            ATTRIBUTES, {"metl": "copper", "thickness": "thin", "drained": True, "made_year": 5}
        )
    assert [fault.at for fault in refused.value.faults] == [("metl",), ("thickness",), ("made_year",)]
    assert refused.value.faults[0].suggestions == ("metal",)
