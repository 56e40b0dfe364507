"""Published versions: kept for good, chosen by the day, served whole."""

from __future__ import annotations

import asyncio
import hashlib
import json
from typing import Any

import pytest
from tests.api import World, only, problem_of, small_rulebook, where
from tests.conftest import talk_to

from gradewright.asgi import create_app
from gradewright.core.errors import Conflict, RulebookError
from gradewright.rulebooks.document import canonical
from gradewright.rulebooks.schemas import RulebookDocument
from gradewright.settings import Settings


async def in_force(world: World, on: str) -> str:
    """The version in force on a day."""
    found: str = (await world.get("/v1/rulebooks/in-force", on=on))["version"]
    return found


async def test_the_same_document_again_changes_nothing(world: World) -> None:
    """Publishing what is published takes no revision and says that it is not new."""
    before = await world.revision()
    book, new = await world.services.rulebooks.publish(small_rulebook(), world.clock())
    assert (book.version, new) == ("2020.1", False)
    assert await world.revision() == before


async def test_another_document_of_a_version_is_refused(world: World) -> None:
    """A published version can never change: a corrected document needs a version of its own."""
    with pytest.raises(Conflict, match=r"2020\.1 is published and can never change"):
        await world.services.rulebooks.publish(small_rulebook(title="Another"), world.clock())
    assert (await world.get("/v1/rulebooks/2020.1"))["title"] == "A small rulebook"


async def test_an_unsound_document_is_not_published(world: World) -> None:
    """A document that does not do what its examples say is refused, and takes no revision."""
    before = await world.revision()
    source = small_rulebook(version="2021.1")
    source["examples"][0]["grade"] = "light-iron"
    with pytest.raises(RulebookError, match="example 1"):
        await world.services.rulebooks.publish(source, world.clock())
    assert await world.revision() == before
    problem_of(await world.client.get("/v1/rulebooks/2021.1"), "no-rulebook-in-force", 404)


async def test_publishing_takes_a_revision(world: World) -> None:
    """A new version is a write to the ledger like any other."""
    before = await world.revision()
    await world.publish(small_rulebook(version="2021.1"))
    assert await world.revision() == before + 1


async def test_the_same_version_published_twice_at_once_is_kept_once(world: World) -> None:
    """Eight publishers of one document at the same moment: one is first, the others change nothing."""
    source = small_rulebook(version="2021.1", effective_from="2021-01-01")
    publish = world.services.rulebooks.publish
    outcomes = await asyncio.gather(
        *(publish(source, world.clock()) for _ in range(8)), return_exceptions=True
    )
    assert [o for o in outcomes if isinstance(o, BaseException)] == []
    assert sorted(new for _, new in outcomes) == [False] * 7 + [True]  # type: ignore[misc]


async def test_the_newest_that_has_begun_is_in_force(world: World) -> None:
    """On a day the version with the newest beginning holds, from its first day to the eve of the next."""
    await world.publish(small_rulebook(version="2023.1", effective_from="2023-03-01"))
    await world.publish(small_rulebook(version="2021.1", effective_from="2021-06-01"))  # later, but older
    found = {
        day: await in_force(world, day) for day in ("2020-01-01", "2021-05-31", "2021-06-01", "2023-02-28")
    }
    assert found == {
        "2020-01-01": "2020.1",
        "2021-05-31": "2020.1",
        "2021-06-01": "2021.1",
        "2023-02-28": "2021.1",
    }
    assert await in_force(world, "2023-03-01") == await in_force(world, "9999-12-31") == "2023.1"


async def test_without_a_day_today_counts(world: World) -> None:
    """The version in force today changes with the day."""
    await world.publish(small_rulebook(version="2026.2", effective_from="2026-05-05"))
    assert (await world.get("/v1/rulebooks/in-force"))["version"] == "2020.1"
    world.later(days=1)
    assert (await world.get("/v1/rulebooks/in-force"))["version"] == "2026.2"


async def test_of_two_that_begin_together_the_higher_number_holds(world: World) -> None:
    """A correction begins on the day of what it corrects and has a higher number: 2020.10 is after 2020.9."""
    await world.publish(small_rulebook(version="2020.9", effective_from="2020-02-01"))
    corrected = small_rulebook(version="2020.10", effective_from="2020-02-01")
    book, _ = await world.services.rulebooks.publish(corrected, world.clock())
    assert await in_force(world, "2020-02-01") == "2020.10"
    assert await world.services.rulebooks.replaced_by(book) == ("2020.9",)


@pytest.mark.parametrize("version", ["2020.9", "2019.99", "2020.010"])
async def test_a_version_that_would_never_be_in_force_is_refused(world: World, version: str) -> None:
    """Where a version of a higher number, or the same, begins on that day, another takes no revision."""
    await world.publish(small_rulebook(version="2020.10", effective_from="2020-02-01"))
    before = await world.revision()
    late = small_rulebook(version=version, effective_from="2020-02-01")
    with pytest.raises(Conflict, match=rf"2020\.10 begins on 2020-02-01 too.*{version} never would be"):
        await world.services.rulebooks.publish(late, world.clock())
    assert await world.revision() == before
    assert await in_force(world, "2020-02-01") == "2020.10"


async def test_a_version_that_was_replaced_can_be_loaded_again(world: World) -> None:
    """What is published stays so: loading it again changes nothing, though a later one holds on its day."""
    earlier = small_rulebook(version="2020.9", effective_from="2020-02-01")
    await world.publish(earlier)
    await world.publish(small_rulebook(version="2020.10", effective_from="2020-02-01"))
    _, new = await world.services.rulebooks.publish(earlier, world.clock())
    assert not new


async def test_before_the_first_there_is_none(untouched: World) -> None:
    """A day before any version is a fault of that parameter, with the first day there is."""
    response = await untouched.client.get("/v1/rulebooks/in-force?on=2019-12-31")
    problem = problem_of(response, "no-rulebook-in-force")
    assert where(problem) == ["on"]
    assert "2020-01-01" in problem.detail


async def test_a_version_that_another_process_publishes_is_noticed(world: World, database_url: str) -> None:
    """A running service grades by a version that the operator's command line has just loaded."""
    assert await in_force(world, "2026-05-04") == "2020.1"
    other = create_app(Settings(database_url=database_url))
    async with talk_to(other):
        source = small_rulebook(version="2026.1", effective_from="2026-01-01")
        await other.state["services"].rulebooks.publish(source, world.clock())
    assert await in_force(world, "2026-05-04") == "2026.1"
    graded = await world.send("/v1/gradings", {"observed": {"metal": "copper"}})
    assert graded.json()["rulebook"] == "2026.1"


async def test_all_versions_are_listed_in_short(world: World) -> None:
    """The list has every version, the earliest in force first, with its counts and digest."""
    await world.publish(small_rulebook(version="2019.1", effective_from="2019-01-01", summary="Before."))
    listed = (await world.get("/v1/rulebooks"))["rulebooks"]
    assert [(v["version"], v["effective_from"], v["summary"]) for v in listed] == [
        ("2019.1", "2019-01-01", "Before."),
        ("2020.1", "2020-01-01", "The first."),
    ]
    assert {(v["grades"], v["rules"]) for v in listed} == {(6, 4)}
    assert listed[1]["sha256"] == hashlib.sha256(canonical(small_rulebook())).hexdigest()


async def test_it_is_listed_until_when_each_is_in_force(world: World) -> None:
    """On 2026-05-04: superseded, replaced on its first day, in force and to come, each with its last day."""
    for version, day in (("2026.1", "2026-05-04"), ("2026.2", "2026-05-04"), ("2027.1", "2026-05-05")):
        await world.publish(small_rulebook(version=version, effective_from=day))
    listed = (await world.get("/v1/rulebooks"))["rulebooks"]
    assert [(v["version"], v["in_force_until"], v["state"]) for v in listed] == [
        ("2020.1", "2026-05-03", "superseded"),
        ("2026.1", "2026-05-03", "superseded"),
        ("2026.2", "2026-05-04", "in-force"),
        ("2027.1", None, "to-come"),
    ]
    world.later(days=1)
    listed = (await world.get("/v1/rulebooks"))["rulebooks"]
    assert [v["state"] for v in listed] == ["superseded", "superseded", "superseded", "in-force"]


def digest_of(answer: dict[str, Any]) -> str:
    """The digest as any client can work it out from the document that it has been sent."""
    document = {name: value for name, value in answer.items() if name != "sha256"}
    compact = json.dumps(document, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(compact.encode()).hexdigest()


async def test_a_version_is_served_whole_and_in_its_own_order(untouched: World) -> None:
    """The document comes as published, its keys in its order; its digest can be worked out from it."""
    found = await untouched.get("/v1/rulebooks/2020.1")
    assert list(found) == [*small_rulebook(), "sha256"]
    assert {name: value for name, value in found.items() if name != "sha256"} == small_rulebook()
    assert list(found["attributes"]) == list(small_rulebook()["attributes"])
    assert digest_of(found) == found["sha256"]
    RulebookDocument.model_validate(found)


async def test_an_unknown_version_in_the_path_is_not_found(untouched: World) -> None:
    """404, at the parameter of the path, with the versions there are and the nearest suggested."""
    problem = problem_of(await untouched.client.get("/v1/rulebooks/2020.2"), "no-rulebook-in-force", 404)
    assert where(problem) == ["version"]
    assert only(problem).suggestions == ["2020.1"]
    assert "2020.1" in problem.detail


async def test_an_unknown_version_in_a_body_is_unprocessable(untouched: World) -> None:
    """422, at the member that names it."""
    body = {"observed": {"metal": "copper"}, "rulebook": "2020.2"}
    problem = problem_of(await untouched.send("/v1/gradings", body), "no-rulebook-in-force")
    assert where(problem) == ["#/rulebook"]


@pytest.mark.parametrize("path", ["/v1/rulebooks/2020.1", "/v1/rulebooks/in-force?on=2020-01-01"])
@pytest.mark.parametrize(
    ("condition", "status"),
    [
        ('"{sha256}"', 304),
        ('W/"{sha256}"', 304),
        ('"abc", "{sha256}"', 304),
        ('"abc" ,W/"{sha256}"', 304),
        ("*", 304),
        ('"abc"', 200),
        ("{sha256}", 200),
        ('"{sha256}x"', 200),
        ("", 200),
    ],
)
async def test_a_version_is_not_sent_again_to_who_has_it(
    untouched: World, path: str, condition: str, status: int
) -> None:
    """If-None-Match is compared weakly, as a list: 304 without a body and with the ETag where one fits."""
    first = await untouched.client.get(path)
    etag = first.headers["etag"]
    assert etag == f'"{first.json()["sha256"]}"'
    sent = condition.format(sha256=etag.strip('"'))
    again = await untouched.client.get(path, headers={"If-None-Match": sent})
    assert (again.status_code, again.headers["etag"]) == (status, etag)
    assert (again.content == b"") == (status == 304)


async def test_a_version_can_be_asked_for_without_its_body(untouched: World) -> None:
    """HEAD gives the ETag and no body."""
    answer = await untouched.client.head("/v1/rulebooks/2020.1")
    assert (answer.status_code, answer.content) == (200, b"")
    assert answer.headers["etag"]


async def test_a_service_without_a_rulebook_says_what_to_load(app: Any, client: Any) -> None:
    """Before the first version nothing is graded, and readiness says so."""
    response = await client.post("/v1/gradings", json={"observed": {}})
    assert "rulebooks load" in problem_of(response, "no-rulebook-in-force").detail
    problem_of(await client.get("/readyz"), "unavailable")
    assert (await client.get("/v1/rulebooks")).json() == {"rulebooks": []}
