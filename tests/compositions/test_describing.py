"""What can hurt whoever opens a kind of device, by the rulebook that ships."""

from __future__ import annotations

from decimal import Decimal

import pytest

from gradewright.compositions.describing import cautions_of, concerning_kind, describe_kind
from gradewright.compositions.kept import DeviceKind
from gradewright.core.composition import Piece, Record, typical
from gradewright.rulebooks.service import Version
from tests.checks.shipped import on

GRADER = on("2028-01-01")
VERSION = Version(GRADER.rulebook, GRADER, "")


def shown(kind: str, grade: str | None = None, *parts: str) -> set[str]:
    """The cautions of a kind out of which grades came."""
    found = typical([Record("c-1", "a", (1, 1), tuple(Piece(part, share=Decimal("0.1")) for part in parts))])
    return {caution.id for caution in cautions_of(DeviceKind(kind, kind, grade), found, VERSION)}


@pytest.mark.parametrize(
    ("kind", "caution"),
    [("fridge", "refrigerant"), ("microwave-oven", "stored-charge"), ("compressor", "refrigerant")],
)
def test_a_kind_that_the_rulebook_knows(kind: str, caution: str) -> None:
    """A device or an assembly of that name has the cautions that such a part has, or may have."""
    assert caution in shown(kind)


def test_a_kind_by_the_grade_in_which_it_is_sold() -> None:
    """Of a kind that the rulebook cannot describe the grade tells what to mind."""
    assert "refrigerant" in shown("drinks-cooler", "appliances-undrained")
    assert describe_kind(DeviceKind("drinks-cooler", "Drinks cooler"), VERSION) is None


def test_a_kind_that_nobody_can_describe_is_still_a_device_out_of_which_parts_come() -> None:
    """Of a kind without a word or a grade what is said of any device may apply, and what is said of anything
    that is given the grades that come out; none of it is certain.
    """
    assert {"mains-lead", "stored-charge", "refrigerant"} <= shown("drinks-cooler")
    assert "no-burning" in shown("drive", None, "motors-copper")
    assert concerning_kind(DeviceKind("drive", "Drive"), None, VERSION).certain == ()


def test_what_comes_out_of_it_has_cautions_of_its_own() -> None:
    """A battery in a toy is cautioned of, however harmless the toy."""
    lithium = {c.id for c in VERSION.rulebook.cautions.values() if "batteries-lithium" in c.grades}
    assert lithium
    assert lithium <= shown("toy", None, "batteries-lithium", "plastics")


def test_certain_is_only_what_any_device_of_the_kind_has() -> None:
    """What comes by the grade in which a kind is sold, or by what usually comes out of one, may apply; what
    the rulebook says of the kind itself is certain.
    """
    treadmill = concerning_kind(DeviceKind("treadmill", "Treadmill", "appliances-whole"), None, VERSION)
    assert {"stored-charge", "mains-lead"} <= {caution.id for caution in treadmill.certain}
    assert {"asbestos", "foam-gases", "beryllium-oxide"}.isdisjoint(c.id for c in treadmill.all)
    cooler = concerning_kind(DeviceKind("drinks-cooler", "Cooler", "appliances-undrained"), None, VERSION)
    assert not cooler.certain
    assert "refrigerant" in {caution.id for caution in cooler.possible}


@pytest.mark.parametrize("grade", [None, "light-iron", "appliances-whole"])
def test_a_compressor_that_came_out_is_told_whatever_one_is_sold_as(grade: str | None) -> None:
    """Out of a kind of one's own came a compressor: what escapes from one may apply, also where such devices
    are sold as a grade that says nothing of it. That was told of those without a grade alone, up to teardowns
    by method 6 and valuations by method 7.
    """
    kind = DeviceKind("odd-cooler", "Odd cooler", grade)
    pieces = (Piece("compressors", share=Decimal("0.3")), Piece("copper-no2", share=Decimal("0.1")))
    found = typical([Record("c-1", "a", (1, 1), pieces)])
    gases = {"refrigerant", "foam-gases"}
    assert gases <= {caution.id for caution in concerning_kind(kind, found, VERSION).possible}
    before = {caution.id for caution in concerning_kind(kind, found, VERSION, by_grade=True).possible}
    assert (gases <= before) == (grade is None)
    door = typical([Record("c-2", "a", (1, 1), (Piece("copper-no2", share=Decimal("0.1")),))])
    assert not gases & {caution.id for caution in concerning_kind(kind, door, VERSION).possible}


@pytest.mark.parametrize(("kind", "grade"), [("motor", None), ("drive-motor", "motors-copper")])
def test_work_on_such_a_device_has_cautions_of_its_own(kind: str, grade: str | None) -> None:
    """Opening a motor is work that the rulebook knows: eyes and hands, and nothing is burnt off."""
    assert {"eyes-and-hands", "no-burning"} <= shown(kind, grade)
    assert "lithium-cells" not in shown(kind, grade)
