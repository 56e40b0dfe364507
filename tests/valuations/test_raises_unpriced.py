"""Work on a part whose grade has no price: told where what it leads to, or what comes off, is paid for."""

from __future__ import annotations

from typing import Any

import pytest
from tests import samples
from tests.valuations.test_sequences import valued
from tests.valuations.test_valuing import DAY, level, part

from gradewright.core.grading import Grader
from gradewright.core.methods import METHOD
from gradewright.core.pricelist import PriceList
from gradewright.core.units import MASS_UNITS
from gradewright.rulebooks.document import read
from gradewright.rulebooks.service import Version

SCREWED = {"metal": "copper", "steel_screws": True, "foreign_share": "5 %"}
FOAMY = {**SCREWED, "foreign_share": "60 %"}
COUNTED = (
    " Work on it sells all the same: what that brings is told counted from nothing, as the piece itself has "
    "no price here."
)


def version() -> Version:
    """The small rulebook, of which residue goes by no other price; foam alone makes residue too."""
    document = samples.document(examples=[])
    del document["grades"]["copper-residue"]["priced_as"], document["grades"]["copper-no2"]["priced_as"]
    foam = {"metal": "copper", "foreign_share": {"above": "50 %"}}
    document["rules"].insert(0, {**document["rules"][0], "id": "foamy-copper", "when": foam})
    book = read(document)
    return Version(book, Grader(book), "")


def paying(paid: dict[str, str]) -> PriceList:
    """Prices in dollars a pound, by grade."""
    levels = [level("region", "XO-KEL", "Kelder Bay", paid)]
    return PriceList(version().rulebook, levels, on=DAY, currency="USD", unit=MASS_UNITS["lb"])


def line(observed: dict[str, Any], paid: dict[str, str], weight: str = "10 lb", **more: Any) -> Any:
    """The one line of a valuation of a part."""
    [found] = valued(part("base", weight, observed), version=version(), by=paying(paid), **more).parts
    return found


def test_work_that_leads_to_a_price_is_told_with_all_that_it_brings() -> None:
    """Nine tenths as clean copper, one as screws: counted from nothing, which the line says."""
    found = line(SCREWED, {"copper-no1": "4.00", "screws": "0.10"})
    assert (found.grade, found.amount, found.price) == ("copper-residue", None, None)
    [work] = found.raises
    assert (work.preparation, work.grade) == ("back-out-screws", "copper-no1")
    # 9 x 4.00 + 1 x 0.10, in 3 minutes
    assert (work.gain, work.minutes, work.per_hour) == ("36.10", "3", "722.00")
    assert [(each.grade, each.amount) for each in work.shed] == [("screws", "0.10")]
    assert work.best == ["by the hour", "in all"]
    assert found.unpriced.endswith(COUNTED)


def test_what_comes_off_is_told_where_the_piece_stays_what_it_is() -> None:
    """A piece that is of the same grade without a price after it: what comes off is paid for."""
    found = line(FOAMY, {"screws": "0.10"})
    [work] = found.raises
    assert (work.grade, work.gain) == ("copper-residue", "0.10")
    assert found.unpriced.endswith(COUNTED)


@pytest.mark.parametrize("paid", [{}, {"copper-no2": "3.00"}, {"screws": "0.10"}])
def test_work_that_sells_nothing_is_not_told(paid: dict[str, str]) -> None:
    """Nor work that makes of it another grade without a price: whether that is better nobody knows."""
    found = line(SCREWED, paid)
    assert found.raises == []
    assert "Work on it" not in found.unpriced


def test_a_grade_that_is_only_named_has_no_work() -> None:
    """Nothing is known of it."""
    [found] = valued(
        part("base", "10 lb", None, "copper-residue"), version=version(), by=paying({"copper-no1": "4.00"})
    ).parts
    assert (found.raises, "Work on it" in found.unpriced) == ([], False)


@pytest.mark.parametrize("method", ["1", "2", "3", "4"])
def test_earlier_methods_told_no_work_on_what_has_no_price(method: str) -> None:
    """What was kept is repeated as it was."""
    found = line(SCREWED, {"copper-no1": "4.00"}, method=method)
    assert (found.raises, "Work on it" in found.unpriced) == ([], False)
    assert METHOD not in {"1", "2", "3", "4"}


def test_what_is_taken_off_leaves_its_own_pile_alone() -> None:
    """The total stays incomplete: work that is only told is in no sum."""
    answer = valued(part("base", "10 lb", SCREWED), version=version(), by=paying({"copper-no1": "4.00"}))
    assert (answer.complete, answer.totals.likely) == (False, "0.00")
    assert "sharp" in {caution.id for caution in answer.cautions}
