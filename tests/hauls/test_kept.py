"""Hauls are kept with their plan, and repeated from it: byte for byte, whatever has come since."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest
from sqlalchemy import text

from gradewright.accounts.service import Role
from gradewright.core.haul.found import Best, Told
from gradewright.hauls import service
from gradewright.hauls.question import Question
from gradewright.hauls.schemas import HaulIn
from tests.api import World, price, problem_of
from tests.hauls.asking import PATH, bin_of, open_yards
from tests.yards.saying import say

BINS = [
    bin_of("copper-no1", "60 lb"),
    bin_of("copper-no2", "45 lb"),
    bin_of("light-iron", "5 lb"),
    bin_of("brass-yellow", "100 g", lots=3),
]
ASKED: dict[str, Any] = {
    "region": "XO-KEL",
    "bins": BINS,
    "costs": {"trip": "5", "stop": "4", "pile": "2", "stop_at": {"tern-row": "4.50"}},
    "load": "100 lb",
    "hold_back": True,
}


async def test_kept_read_and_replayed_it_is_the_same(world_without_rulebook: World) -> None:
    """Kept, read, replayed and asked again with its pins, an answer has the same bytes whatever changed."""
    world = await open_yards(world_without_rulebook)
    first = await world.send(PATH, {**ASKED, "keep": True})
    assert first.status_code == 201, first.text
    name = first.headers["haul-id"]
    assert first.headers["location"] == f"{PATH}/{name}"
    await world.post(price("copper-no1", "1.00"), yard="cinder-lane", on="2027-05-04")
    labels = [{"label": "Number two", "grade": "copper-no2"}]
    await say(world, "/v1/yards/cinder-lane", from_="2027-05-01", labels=labels, refuses=["light-iron"])
    another = {"slug": "new-pier", "name": "New Pier", "region": "XO-KEL", "currency": "USD", "unit": "lb"}
    assert (await world.send("/v1/yards", another, "sedge", Role.MAINTAINER)).status_code == 201
    await world.post(price("brass-yellow", "9.00"), yard="new-pier", on="2027-05-04")
    world.later(days=3)
    read = await world.client.get(f"{PATH}/{name}")
    replayed = await world.client.post(f"{PATH}/{name}/replay")
    assert (read.status_code, replayed.status_code) == (200, 200), replayed.text
    assert read.content == replayed.content == first.content
    pins, on = first.json()["pins"], first.json()["on"]
    pinned = {"on": on, "known_at": pins["revision"], "rulebook": pins["rulebook"]}
    assert (await world.send(PATH, {**ASKED, **pinned})).content == first.content
    without = first.content.replace(f',"sha256":"{pins["sha256"]}"'.encode(), b"")
    assert hashlib.sha256(without).hexdigest() == pins["sha256"]


async def test_what_the_solver_found_in_time_is_repeated_from_the_plan(
    yards: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan that was not proved, with its bound, is repeated as it was told, without a search."""

    def short(haul: Any, seconds: int, stopped: Any) -> Told:
        home = Best((None,) * len(haul.lots), 0, 99_999)
        return Told(home, None, False, {})

    monkeypatch.setattr(service, "_best", short)
    first = await yards.send(PATH, {**ASKED, "keep": True})
    monkeypatch.undo()
    assert first.json()["proof"]["proved"] is False
    assert first.json()["second"]["says"].startswith("No plan for another choice of yards was found")
    replayed = await yards.client.post(f"{PATH}/{first.headers['haul-id']}/replay")
    assert replayed.content == first.content


async def test_what_depends_on_the_time_says_so(yards: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing was proved, the same request has other bytes with another bound, and each answer says
    that it may; one that was proved says nothing of the kind and has the same bytes again.
    """
    again = "Asked again, another may be found; kept, it is repeated as it is."
    assert again not in (proved := await yards.send(PATH, ASKED)).text
    assert (await yards.send(PATH, ASKED)).content == proved.content
    hashes = set()
    for bound in (99_999, 88_888):
        home = Told(Best((None,) * 6, 0, bound), None, False, {})
        monkeypatch.setattr(service, "_best", lambda *_, home=home: home)
        found = (await yards.send(PATH, ASKED)).json()
        assert again in found["proof"]["says"]
        hashes.add(found["pins"]["sha256"])
    assert len(hashes) == 2


@pytest.mark.parametrize("known", [True, False])
async def test_what_its_work_ended_is_told_to_be_found_again(
    yards: World, monkeypatch: pytest.MonkeyPatch, known: bool
) -> None:
    """An answer that no clock has ended says that the same is found again, and repeats so; one that was kept
    before that was told apart repeats as it was.
    """
    home = Told(Best((None,) * 6, 0, 99_999), None, False, {}, not known)
    monkeypatch.setattr(service, "_best", lambda *_: home)
    if not known:
        plain = Question.plain
        cut = lambda *of: {name: one for name, one in plain(*of).items() if name != "by_clock"}  # noqa: E731
        monkeypatch.setattr(Question, "plain", cut)
    first = await yards.send(PATH, {**ASKED, "keep": True})
    monkeypatch.undo()
    said = "Asked again, the same is found; more seconds allow more work."
    assert first.json()["proof"]["says"].endswith(said) is known
    assert (await yards.client.post(f"{PATH}/{first.headers['haul-id']}/replay")).content == first.content


async def test_what_was_kept_by_method_1_went_into_whatever_was_named(yards: World) -> None:
    """Asked now, a grade above the bin's own is refused; a haul that was kept with one is repeated."""
    down = [bin_of("copper-no2", "120 lb", lower_to=["copper-no1"])]
    asked = {"region": "XO-KEL", "bins": down}
    problem_of(await yards.send(PATH, asked), "invalid-request")
    hauls = yards.services.hauls
    worked = await hauls.haul(HaulIn.model_validate(asked).request(), "1")
    kept = await hauls.keeping.keep(worked.asked, worked.answer)
    replayed = await yards.client.post(f"{PATH}/{kept.id}/replay")
    assert (replayed.status_code, replayed.content) == (200, worked.answer.body)
    (pile,) = replayed.json()["trips"][0]["stops"][0]["piles"]
    assert (pile["grade"], replayed.json()["pins"]["method"]) == ("copper-no1", "1")


async def test_a_plan_called_the_best_that_is_not(yards: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a kept plan was called the best and another leaves more, its replay says that it differs."""

    def wrong(haul: Any, seconds: int, stopped: Any) -> Told:
        return Told(Best((None,) * len(haul.lots), 0, 0), None, True, {})

    monkeypatch.setattr(service, "_best", wrong)
    kept = await yards.send(PATH, {**ASKED, "keep": True})
    monkeypatch.undo()
    problem_of(await yards.client.post(f"{PATH}/{kept.headers['haul-id']}/replay"), "internal-error", 500)


async def test_the_plan_is_kept_beside_the_request(yards: World) -> None:
    """What is kept names the yards, so that a plan means the same wherever and whenever it is read."""
    kept = await yards.send(PATH, {**ASKED, "keep": True})
    async with yards.services.database.read() as session:
        found = await session.execute(
            text("SELECT request FROM answers WHERE id = :id"), {"id": kept.headers["haul-id"]}
        )
        request = json.loads(found.scalar_one())
    assert {place[1] for place in request["found"]["best"]["plan"] if place} == {
        stop["yard"] for trip in kept.json()["trips"] for stop in trip["stops"]
    }


async def test_what_was_not_kept_is_not_there(yards: World) -> None:
    """An id that no haul has is told as such."""
    for name in ("h-00", "v-00"):
        problem_of(await yards.client.get(f"{PATH}/{name}"), "not-found", 404)
        problem_of(await yards.client.post(f"{PATH}/{name}/replay"), "not-found", 404)
