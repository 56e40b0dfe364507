"""What a version that begins in the past would change: all that was valued or posted for days since."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from gradewright.drafts.past import Used, used
from gradewright.rulebooks.document import read
from tests.api import World, price, small_rulebook

TODAY = date(2026, 5, 4)
SCREW = {"name": "screws", "weight": "1 lb", "grade": "screws"}


async def there(world: World, begins: str, version: str = "2026.1") -> Used | None:
    """What there is of days on which a version that begins then would be in force."""
    made = read(small_rulebook(version=version, effective_from=begins))
    return await used(world.services.database, world.services.rulebooks, made, TODAY)


async def value(world: World, **more: Any) -> None:
    """A valuation of the day."""
    found = await world.send("/v1/valuations", {"region": "XO-KEL", "parts": [SCREW], **more})
    assert found.status_code in (200, 201), found.text


async def test_where_nothing_was_asked_nothing_changes(world: World) -> None:
    """A ledger without prices and kept answers may have any version that ships."""
    assert await there(world, "2026-05-04") is None
    assert await there(world, "2021-01-01") is None


@pytest.mark.parametrize("begins", ["2026-05-04", "2026-05-01", "2026-04-20", "2021-01-01"])
async def test_a_kept_answer_of_a_day_since_is_counted(world: World, begins: str) -> None:
    """One that was kept today, by the version whose place it would take."""
    await value(world)
    assert await there(world, begins) is None
    await value(world, keep=True)
    assert await there(world, begins) == Used("2020.1", answers=1, postings=0)


async def test_a_kept_decision_is_counted_too(world: World) -> None:
    """Teardowns, hauls, settlements and recoveries are answers as well."""
    asked = {"region": "XO-KEL", "hour_rate": "15.00", "device": SCREW, "keep": True}
    found = await world.send("/v1/teardowns", asked)
    assert found.status_code in (200, 201), found.text
    assert await there(world, "2026-05-01") == Used("2020.1", answers=1, postings=0)


async def test_prices_of_days_since_are_counted(world: World) -> None:
    """Those seen since then, and those that were posted since then of days before."""
    await world.post(price("copper-no1", "4.00"), on="2026-04-20")
    for begins in ("2026-05-04", "2026-05-01", "2026-04-20", "2021-01-01"):
        assert await there(world, begins) == Used("2020.1", answers=0, postings=1)


async def test_a_version_that_is_there_already_ends_the_days(world: World) -> None:
    """What was seen or posted only after the next version begins is told by that one."""
    await world.publish(small_rulebook(version="2026.3", effective_from="2026-05-03"))
    await world.post(price("copper-no1", "4.00"), on="2026-05-03")
    assert await there(world, "2026-04-25") is None
    await world.post(price("copper-no1", "4.10"), on="2026-05-02")
    assert await there(world, "2026-04-25") == Used("2020.1", answers=0, postings=1)


async def test_days_on_which_nothing_could_be_asked_are_free(world: World) -> None:
    """A version before the first takes nobody's place; nor does one to come, or one that is there."""
    await world.post(price("copper-no1", "4.00"))
    await value(world, keep=True)
    assert await there(world, "2019-01-01", "2019.1") is None
    assert await there(world, "2026-05-05") is None
    assert await there(world, "2020-01-01", "2020.1") is None


def test_how_much_there_is_is_told_in_words() -> None:
    """Only what there is, in the singular where it is one."""
    assert Used("2020.1", 1, 0).told() == "1 kept answer"
    assert Used("2020.1", 0, 2).told() == "2 postings"
    assert Used("2020.1", 1200, 1).told() == "1,200 kept answers and 1 posting"
