"""A version that is in force instead of some that are to come: those never begin."""

from __future__ import annotations

import pytest
from tests.api import World, problem_of, small_rulebook, where
from tests.drafts.desk import RAIL, SEDGE, Desk

from gradewright.core.errors import Conflict

OCTOBER = {"version": "2026.3", "effective_from": "2026-10-01"}
MAY = {"version": "2027.1", "effective_from": "2027-05-01"}
JUNE = {"version": "2027.2", "effective_from": "2027-06-01"}
SOONER = {"version": "2027.3", "effective_from": "2026-09-01", "instead_of": ["2026.3", "2027.1"]}


@pytest.fixture
async def months(world: World) -> World:
    """Three versions that are to come, on 2026-05-04; in force is 2020.1."""
    for version in (OCTOBER, MAY, JUNE):
        await world.publish(small_rulebook(**version))
    return world


async def _in_force(world: World, *days: str) -> list[str]:
    return [(await world.get("/v1/rulebooks/in-force", on=day))["version"] for day in days]


DAYS = ("2026-08-31", "2026-09-01", "2026-10-01", "2027-05-31", "2027-06-01")


async def test_those_never_begin_and_others_do(months: World) -> None:
    """From its first day on it is in force, over the days of those that it names, until another begins."""
    assert await _in_force(months, *DAYS) == ["2020.1", "2020.1", "2026.3", "2027.1", "2027.2"]
    await months.publish(small_rulebook(**SOONER))
    assert await _in_force(months, *DAYS) == ["2020.1", "2027.3", "2027.3", "2027.3", "2027.2"]


async def test_what_was_known_before_stays(months: World) -> None:
    """As known at a revision before it was published the others are to begin."""
    before = await months.revision()
    await months.publish(small_rulebook(**SOONER))
    rulebooks = months.services.rulebooks
    day = months.clock().date().replace(month=11)
    assert (await rulebooks.in_force(day, known_at=before)).rulebook.version == "2026.3"
    over = await rulebooks.over([day], known_at=before)
    assert [version.rulebook.version for version in over.values() if version] == ["2026.3"]
    assert (await rulebooks.in_force(day)).rulebook.version == "2027.3"
    after = await months.revision()
    assert (await rulebooks.in_force(day, known_at=after)).rulebook.version == "2027.3"
    over = await rulebooks.over([day])
    assert [version.rulebook.version for version in over.values() if version] == ["2027.3"]


async def test_they_are_listed_as_never_in_force(months: World) -> None:
    """Their last day is before their first, and it is told which is instead of them; they are still there to
    be read, and to value by."""
    await months.publish(small_rulebook(**SOONER))
    listed = (await months.get("/v1/rulebooks"))["rulebooks"]
    told = [(v["version"], v["in_force_until"], v["replaced_by"], v["state"]) for v in listed]
    assert told == [
        ("2020.1", "2026-08-31", None, "in-force"),
        ("2027.3", "2027-05-31", None, "to-come"),
        ("2026.3", "2026-09-30", "2027.3", "superseded"),
        ("2027.1", "2027-04-30", "2027.3", "superseded"),
        ("2027.2", None, None, "to-come"),
    ]
    assert (await months.get("/v1/rulebooks/2027.3"))["instead_of"] == ["2026.3", "2027.1"]
    graded = await months.send("/v1/gradings", {"observed": {"metal": "copper"}, "rulebook": "2026.3"})
    assert (graded.status_code, graded.json()["rulebook"]) == (200, "2026.3")


async def test_what_each_is_held_against(months: World) -> None:
    """The version before, of those that begin; one that never does, that which it was to take over from."""
    await months.publish(small_rulebook(**SOONER))
    before = months.services.rulebooks.before
    told = [await before(version) for version in ("2020.1", "2026.3", "2027.1", "2027.2", "2027.3")]
    assert told == [None, "2020.1", "2026.3", "2027.3", "2020.1"]


@pytest.mark.parametrize(
    ("named", "says"),
    [
        ("2026.3", "2026.3 is named once too often"),
        ("2020.1", "Version 2020.1 begins on 2020-01-01, before 2027.3 does"),
        ("2027.3", "2027.3 is named once too often"),
    ],
)
async def test_what_it_cannot_be_instead_of(months: World, named: str, says: str) -> None:
    """One that is not there, or begins before, or is itself: nothing is published, and it is told why."""
    before = await months.revision()
    with pytest.raises(Conflict, match=says):
        await months.services.rulebooks.publish(
            small_rulebook(**{**SOONER, "instead_of": ["2026.3", named]}), months.clock()
        )
    assert await months.revision() == before
    assert await _in_force(months, "2026-10-01") == ["2026.3"]


async def test_whoever_keeps_the_newest_need_not_have_all(world: World) -> None:
    """One that is not there is none to begin; if it comes afterwards it does not begin either."""
    await world.publish(small_rulebook(**SOONER))
    assert await _in_force(world, "2026-10-01") == ["2027.3"]
    await world.publish(small_rulebook(**OCTOBER))
    assert await _in_force(world, "2026-10-01") == ["2027.3"]


async def test_only_one_is_instead_of_another(months: World) -> None:
    """What is not to begin any more cannot be named again."""
    await months.publish(small_rulebook(**SOONER))
    again = small_rulebook(version="2027.4", effective_from="2026-09-02", instead_of=["2027.1"])
    with pytest.raises(Conflict, match=r"Version 2027\.3 is in force instead of 2027\.1 already"):
        await months.services.rulebooks.publish(again, months.clock())
    # Nor does it come back where the one that is instead of it does not begin either.
    more = small_rulebook(version="2027.4", effective_from="2026-08-01", instead_of=["2027.3"])
    await months.publish(more)
    assert await _in_force(months, *DAYS) == ["2027.4", "2027.4", "2027.4", "2027.4", "2027.2"]


async def test_one_on_the_same_day_may_have_a_higher_number(months: World) -> None:
    """Of two that begin together the higher one is in force, unless it never begins."""
    lower = small_rulebook(version="2027.1", effective_from="2027-06-01", instead_of=["2027.2"])
    with pytest.raises(Conflict, match="published and can never change"):
        await months.services.rulebooks.publish(lower, months.clock())
    await months.publish(small_rulebook(**{**JUNE, "version": "2027.01"}, instead_of=["2027.2"]))
    assert await _in_force(months, "2027-06-01") == ["2027.01"]


@pytest.fixture
def desk(months: World) -> Desk:
    """Maintainers beside them."""
    return Desk(months)


async def test_a_draft_brings_sooner_what_was_to_come(desk: Desk) -> None:
    """Made from the last of those that it is instead of, which has in it what all before have: it is sound,
    published, and ended by what is left. A draft that is made from it names none any more."""
    made = await desk.make(body={"from": "2027.1"}, version="2027.3", effective_from="2026-09-01")
    found = await desk.check(made["id"])
    assert [fault["pointer"] for fault in found["faults"]] == ["#/effective_from"]
    patch = {"instead_of": ["2026.3", "2027.1"], "title": "All at once"}
    assert (await desk.patch(made["id"], patch, made["etag"])).status_code == 200
    found = await desk.check(made["id"])
    assert (found["faults"], found["ended_by"]["version"]) == ([], "2027.2")
    await desk.taken(made["id"], "submission", SEDGE)
    await desk.taken(made["id"], "approval", RAIL, ended_by="2027.2")
    assert await _in_force(desk.world, *DAYS) == ["2020.1", "2027.3", "2027.3", "2027.3", "2027.2"]
    later = await desk.make(body={"from": "2027.3"}, version="2027.5", effective_from="2026-12-01")
    assert "instead_of" not in (await desk.read(later["id"]))["document"]


async def test_a_draft_is_told_what_it_cannot_be_instead_of(desk: Desk) -> None:
    """The fault points at the name in the list."""
    made = await desk.make(version="2026.9", effective_from="2026-12-01", base="2026.3")
    patch = {"instead_of": ["2027.1", "2026.3", "2027.9"]}
    assert (await desk.patch(made["id"], patch, made["etag"])).status_code == 200
    found = await desk.check(made["id"])
    assert [fault["pointer"] for fault in found["faults"]] == ["#/instead_of/1", "#/instead_of/2"]
    assert "2026.3 begins on 2026-10-01, before 2026.9 does" in found["faults"][0]["detail"]
    assert "There is no version 2027.9 to be in force instead of" in found["faults"][1]["detail"]
    refused = problem_of(await desk.step(made["id"], "submission", SEDGE), "unsound-rulebook", 422)
    assert where(refused) == ["#/instead_of/1", "#/instead_of/2"]


async def test_a_draft_of_what_another_is_instead_of_is_told_so(desk: Desk) -> None:
    """It never would be in force, whatever its day."""
    await desk.world.publish(small_rulebook(**{**SOONER, "instead_of": ["2026.3", "2027.8"]}))
    made = await desk.make(body={"from": "2027.2"}, version="2027.8", effective_from="2027-08-01")
    found = await desk.check(made["id"])
    assert [fault["pointer"] for fault in found["faults"]] == ["#/version"]
    assert "2027.3, which is published, is in force instead of 2027.8" in found["faults"][0]["detail"]


async def test_a_base_has_not_what_was_published_after_it(desk: Desk) -> None:
    """2026.9 was published after 2026.3, for a day before it: what it brought would be lost."""
    await desk.world.publish(small_rulebook(version="2026.9", effective_from="2026-08-01"))
    made = await desk.make(body={"from": "2026.3"}, version="2027.3", effective_from="2026-08-02")
    assert (await desk.patch(made["id"], {"instead_of": ["2026.3"]}, made["etag"])).status_code == 200
    found = await desk.check(made["id"])
    assert [fault["pointer"] for fault in found["faults"]] == ["#/effective_from"]


async def test_what_later_ones_were_to_bring_is_told(desk: Desk) -> None:
    """Of those that never begin, the ones after that from which the draft was made."""
    made = await desk.make(body={"from": "2026.3"}, version="2027.3", effective_from="2026-09-01")
    patch = {"instead_of": ["2026.3", "2027.1", "2027.2"], "title": "All at once"}
    assert (await desk.patch(made["id"], patch, made["etag"])).status_code == 200
    found = await desk.check(made["id"])
    assert found["faults"] == []
    assert any(note.startswith("2027.1 and 2027.2 never begin then.") for note in found["notes"])
