"""What comes off in work: several piles, as much as was measured, and where work is not done."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from tests.samples import document

from gradewright.core.errors import RulebookError
from gradewright.core.grading import Grader
from gradewright.core.observations import read_observations
from gradewright.core.routes import Route, routes
from gradewright.core.rulebook import Shed
from gradewright.rulebooks.differences import differences
from gradewright.rulebooks.document import read

SCREWS: dict[str, Any] = {"metal": "copper", "steel_screws": True}
MEASURED = {"grade": "screws", "share": {"same_as": "foreign_share", "otherwise": "10 %"}}
TWO = [{"grade": "screws", "share": "10 %"}, {"grade": None, "share": "5 %"}]


def made(**of_the_work: Any) -> dict[str, Any]:
    """The small document with its work otherwise; after it the foreign share has to be looked at afresh."""
    found = document(examples=[])
    work = found["preparations"]["back-out-screws"]
    work["changes"] = {"steel_screws": False, "foreign_share": "0 %"}
    work.update(of_the_work)
    return found


def ways(source: dict[str, Any], part: dict[str, Any]) -> Sequence[Route]:
    """The sequences for a part that is copper residue."""
    book = read(source)
    return routes(Grader(book), read_observations(book.attributes, part), "copper-residue").routes


def told(source: dict[str, Any]) -> list[tuple[str | int, ...]]:
    """Where a document is at fault."""
    with pytest.raises(RulebookError) as refusal:
        read(source)
    return [fault.at for fault in refusal.value.faults]


def test_each_thing_that_comes_off_goes_to_its_own_pile() -> None:
    """Of two things that come off one is sold; what has no grade is lost, and the rest is kept."""
    [way] = ways(made(sheds=TWO), SCREWS)
    assert way.shed == (("screws", Fraction(1, 10)),)
    assert (way.kept, way.lost) == (Fraction(85, 100), Fraction(5, 100))


@pytest.mark.parametrize(
    ("share", "foreign", "off"),
    [
        (MEASURED["share"], None, "0.1"),
        (MEASURED["share"], "4.5 %", "0.045"),
        ({"all_but": "foreign_share", "otherwise": "20 %"}, None, "0.2"),
        ({"all_but": "foreign_share", "otherwise": "20 %"}, "70 %", "0.3"),
    ],
)
def test_what_was_measured_comes_off(share: object, foreign: str | None, off: str) -> None:
    """As much comes off as the named share says, or leaves, and the usual where it is not known."""
    part = SCREWS if foreign is None else {**SCREWS, "foreign_share": foreign}
    [way] = ways(made(sheds={"grade": "screws", "share": share}), part)
    assert way.shed == (("screws", Fraction(off)),)


def test_work_that_would_leave_nothing_is_not_proposed() -> None:
    """Where all of the weight was measured to be something else, nothing is left to be worked on."""
    assert ways(made(sheds=MEASURED), {**SCREWS, "foreign_share": "99 %"})
    assert not ways(made(sheds=MEASURED), {**SCREWS, "foreign_share": "100 %"})


def test_work_is_not_proposed_where_an_exception_is_known() -> None:
    """An exception keeps work from what is known to meet it, and from nothing else."""
    source = made(unless=[{"foreign_share": {"above": "50 %"}}])
    assert ways(source, SCREWS)
    assert ways(source, {**SCREWS, "foreign_share": "50 %"})
    assert not ways(source, {**SCREWS, "foreign_share": "51 %"})


@pytest.mark.parametrize(
    ("of_the_work", "place"),
    [
        ({"sheds": [{"grade": "screws", "share": "60 %"}, {"grade": None, "share": "40 %"}]}, ()),
        ({"sheds": [{"grade": "screw", "share": "6 %"}]}, ("sheds", 0, "grade")),
        ({"sheds": []}, ("sheds",)),
        ({"sheds": {"grade": None, "share": {"otherwise": "6 %"}}}, ("sheds", "share")),
        (
            {"sheds": {"grade": None, "share": {"same_as": "metal", "otherwise": "6 %"}}},
            ("sheds", "share"),
        ),
        (
            {"sheds": [{"grade": None, "share": {"all_but": "foreign", "otherwise": "6 %"}}]},
            ("sheds", 0, "share", "all_but"),
        ),
        (
            {"sheds": {"grade": None, "share": {"as": "foreign_share", "otherwise": "6 %"}}},
            ("sheds", "share", "as"),
        ),
        ({"sheds": {"grade": None, "share": {"same_as": "foreign_share"}}}, ("sheds", "share", "otherwise")),
        ({"unless": [{}]}, ("unless", 0)),
    ],
)
def test_what_cannot_come_off_is_told_at_its_place(
    of_the_work: dict[str, Any], place: tuple[str | int, ...]
) -> None:
    """More than all, an unknown grade, a measure that is none, or too many of them: each at its own place."""
    assert ("preparations", "back-out-screws", *place) in told(made(**of_the_work))


def test_one_thing_that_comes_off_is_written_as_before() -> None:
    """The forms of one share, of several and of a measured one are read into the same terms."""
    shed = Shed("screws", Decimal("0.1"))
    one, same = made(), made(sheds=[{"grade": "screws", "share": "10 %"}])
    assert read(one).preparations["back-out-screws"].sheds == (shed,)
    assert read(same).preparations["back-out-screws"].sheds == (shed,)


def test_a_comparison_tells_what_comes_off() -> None:
    """What comes off instead, and where work is not done any more, stand in the sentence on the work."""
    before, after = made(), made(sheds=TWO, unless=[{"foreign_share": {"above": "50 %"}}])
    [beside] = differences(read(before), read(after), before, after).besides
    assert beside.says == (
        "Preparation Back out the steel screws: what comes off 10 % as Steel screws, and 5 % as waste "
        "(10 % as Steel screws before); no longer where foreign share above 50 %."
    )


def test_a_measure_that_says_what_comes_off_is_told_in_words() -> None:
    """A share that was measured, or all but that, with what stands in where it is not known; a limit by its
    value, and a caution by its name."""
    rest = {"grade": "screws", "share": {"all_but": "foreign_share", "otherwise": "20 %"}}
    before = made()
    after = made(sheds=rest, unless=[{"thickness": {"below": "heavy_steel_thickness"}}], cautions=["dust"])
    [beside] = differences(read(before), read(after), before, after).besides
    assert beside.says.endswith(
        "what comes off all but the foreign share (where that is not known 20 %) as Steel screws "
        "(10 % as Steel screws before); cautions Dust (Sharp edges before); "
        "no longer where thickness below 6.35 mm."
    )
