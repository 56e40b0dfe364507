"""Drafts through the client, spoken to the real service in this process."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from datetime import date
from decimal import Decimal

import pytest
from tests.api import World, empty_world, settle, small_rulebook
from tests.sdk.test_readme import InProcess
from tests.sdk.test_words_served import Members

import gradewright_sdk as gw
from gradewright.accounts.service import Role

WHY = "The circular has changed."
LIMIT = {"limits": {"heavy_steel_thickness": {"value": "6.345 mm"}}}


@pytest.fixture
async def bay(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The small district, with two maintainers and a member."""
    async with empty_world(request, "sqlite") as world:
        await settle(world)
        await world.key("rail", Role.MAINTAINER)
        await world.key("wren")
        yield world


@pytest.fixture
async def members(bay: World) -> Members:
    """Clients of its members."""
    return Members(bay, InProcess(bay.client, {}))


async def test_a_version_is_written_and_published(members: Members) -> None:
    """Typed results of each step, from a published version to the next one."""

    def work() -> None:
        sedge, rail = members.client("sedge").drafts, members.client("rail").drafts
        made = sedge.create(from_="2020.1", why=WHY, version="2027.1", effective_from=date(2027, 1, 1),
                            summary="The second.")  # fmt: skip
        assert (made.id, made.state, made.base, made.step) == ("d-1", "draft", "2020.1", 1)
        assert made.made_from == gw.DraftSource(version="2020.1")
        edited = sedge.patch("d-1", LIMIT, why="6.345 mm since June.", etag=made.etag)
        assert [(change.change, change.pointer, change.after) for change in edited.taken.changes] == [
            ("changed", "#/limits/heavy_steel_thickness/value", '"6.345 mm"')
        ]
        file = sedge.yaml("d-1")
        text = file.text.replace("A small rulebook", "A smaller rulebook")
        replaced = sedge.replace("d-1", text, why="A better title.", etag=file.etag)
        assert (replaced.step, replaced.title) == (3, "A smaller rulebook")
        checked = sedge.check("d-1")
        assert (checked.sound, checked.proved, checked.on) == (True, True, date(2026, 5, 4))
        compared = sedge.compare("d-1")
        assert (compared.before, compared.after, len(compared.moves)) == ("2020.1", "2027.1", 1)
        assert sedge.compare("d-1", with_="2020.1") == compared
        submitted = sedge.submit("d-1", why="It is right now.", etag=replaced.etag)
        back = rail.refuse("d-1", why="Not the title.", etag=submitted.etag)
        whole = sedge.get("d-1")
        assert (whole.etag, whole.state) == (back.etag, "draft")
        document = {**whole.document, "title": "A small rulebook"}
        again = sedge.replace("d-1", document, why="The old title.", etag=whole.etag)
        submitted = sedge.submit("d-1", why="So be it.", etag=again.etag)
        published = rail.approve("d-1", why="Looked at it.", etag=submitted.etag)
        [note] = published.notes
        assert (published.state, "word for word" in note) == ("published", True)
        whole = rail.get("d-1")
        assert whole.published == "to come"
        assert [(step.step, step.by) for step in whole.steps] == [
            ("made", "sedge"), ("edited", "sedge"), ("edited", "sedge"), ("submitted", "sedge"),
            ("refused", "rail"), ("edited", "sedge"), ("submitted", "sedge"), ("approved", "rail"),
        ]  # fmt: skip
        version = members.client("wren").rulebooks.get("2027.1")
        assert (version.sha256, version.title) == (published.sha256, "A small rulebook")
        assert sedge.step("d-1", 2).why == "6.345 mm since June."
        assert sedge.get("d-1", step=2).document["title"] == "A small rulebook"

    await members.apart(work)


async def test_none_takes_a_name_out(members: Members) -> None:
    """None reaches the service as null, a decimal as text; a float is refused before it is sent."""

    def work() -> None:
        drafts = members.client("sedge").drafts
        made = drafts.create(from_="2020.1", why=WHY)
        patch = {"cautions": {"dust": None}, "pricing": {"thin_below": 4}, "attributes": {"thickness": {
            "minutes": Decimal("0.40")}}}  # fmt: skip
        taken = drafts.patch(made.id, patch, why="x", etag=made.etag)
        document = drafts.get(made.id).document
        assert "dust" not in document["cautions"]
        assert document["pricing"]["thin_below"] == 4
        assert document["attributes"]["thickness"]["minutes"] == "0.40"
        assert taken.taken.changed == 3
        with pytest.raises(TypeError, match="float"):
            drafts.patch(made.id, {"limits": {"x": 0.5}}, why="x", etag=taken.etag)

    await members.apart(work)


async def test_faults_are_of_their_kinds(members: Members) -> None:
    """Stale with who did what, UnsoundRulebook with every fault, Forbidden, Conflict, NotFound."""

    def work() -> None:
        sedge, rail = members.client("sedge").drafts, members.client("rail").drafts
        made = sedge.create(document=small_rulebook(), why=WHY)
        rail.patch(made.id, {"title": "Rail's"}, why="A title.", etag=made.etag)
        with pytest.raises(gw.Stale) as stale:
            sedge.patch(made.id, LIMIT, why="x", etag=made.etag)
        assert stale.value.status == 412
        assert "rail edited it" in stale.value.errors[0].detail
        etag = sedge.get(made.id).etag
        with pytest.raises(gw.UnsoundRulebook) as unsound:
            sedge.submit(made.id, why="x", etag=etag)
        assert {fault.pointer for fault in unsound.value.errors} == {"#/version", "#/effective_from"}
        with pytest.raises(gw.Conflict):
            rail.approve(made.id, why="x", etag=etag)
        with pytest.raises(gw.Forbidden):
            members.client("wren").drafts.get(made.id)
        with pytest.raises(gw.NotFound):
            sedge.get("d-99")
        with pytest.raises(ValueError, match="one of from_, draft and document"):
            sedge.create(why=WHY)
        taken = sedge.withdraw(made.id, why="No.", etag=etag)
        assert taken.state == "withdrawn"

    await members.apart(work)


async def test_drafts_are_listed_over_all_pages(members: Members) -> None:
    """One after the other, newest first, of any state or of one; of YAML text and of other drafts too."""

    def work() -> None:
        drafts = members.client("sedge").drafts
        first = drafts.create(from_="2020.1", why=WHY)
        copy = drafts.create(draft=first.id, why=WHY)
        assert copy.made_from == gw.DraftSource(draft="d-1", step=1)
        drafts.create(document=drafts.yaml("d-1").content, base="2020.1", why=WHY)
        drafts.withdraw("d-2", why="No.", etag=copy.etag)
        assert [draft.id for draft in drafts.list(page_size=2)] == ["d-3", "d-2", "d-1"]
        assert [draft.id for draft in drafts.list(state="withdrawn")] == ["d-2"]

    await members.apart(work)


async def test_async_and_sync_are_the_same(members: Members) -> None:
    """The async client writes and reads the same."""
    async with members.async_client("sedge") as client:
        made = await client.drafts.create(from_="2020.1", why=WHY, version="2027.1")
        await client.drafts.patch(made.id, LIMIT, why="x", etag=made.etag)
        found = await client.drafts.get(made.id)
        listed = [draft.id async for draft in client.drafts.list()]
    assert found == await members.apart(lambda: members.client("sedge").drafts.get(made.id))
    assert listed == [made.id]


async def test_what_a_draft_would_change_is_told_before_it_is_published(members: Members) -> None:
    """Kept valuations and lists under the draft, and the published version compared with the one before."""

    def work() -> None:
        client = members.client("rail")
        part = {"name": "strap", "weight": "10 lb", "observed": {"metal": "steel", "thickness": "6.347 mm"}}
        client.valuations.value([part], region="XO-KEL", keep=True)
        own = {"version": "2027.1", "effective_from": "2027-01-01", "summary": "The second."}
        made = client.drafts.create(why=WHY, from_="2020.1", **own)
        taken = client.drafts.patch(made.id, LIMIT, why=WHY, etag=made.etag)
        found = client.drafts.impact(made.id)
        assert (found.draft, found.version, found.against) == (made.id, "2027.1", "2020.1")
        assert (found.valuations, found.parts, found.parts_changed) == (1, 1, 1)
        (move,) = found.currencies[0].moves
        assert (move.before, move.after, move.weight_kg) == (
            "light-iron",
            "steel-heavy",
            Decimal("4.5359237"),
        )
        listed = client.drafts.impact(made.id, parts=[part], region="XO-KEL", against="2020.1")
        assert [(each.name, each.after.grade) for each in listed.each] == [("strap", "steel-heavy")]
        assert (listed.from_, listed.to) == (None, None)
        none = client.drafts.impact(made.id, from_=date(2020, 1, 1), to="2020-02-01")
        assert (none.valuations, none.from_, none.to) == (0, date(2020, 1, 1), date(2020, 2, 1))
        taken = client.drafts.submit(made.id, why=WHY, etag=taken.etag)
        members.client("sedge").drafts.approve(made.id, why=WHY, etag=taken.etag)
        heard: list[str] = []
        told = client.rulebooks.compare("2027.1", progress=lambda what, done, of: heard.append(what))
        assert set(heard) == {"moves", "limits of places"}
        compared = client.rulebooks.compare("2027.1")
        assert json.loads(compared.raw) == json.loads(told.raw)
        assert (compared.before, compared.kind) == ("2020.1", "changes")
        assert [(each.before, each.after) for each in compared.limits] == [("6.35 mm", "6.345 mm")]
        (way,) = compared.moves[0].ways
        assert way.ranges["thickness"] == "at least 6.345 mm and below 6.35 mm"
        assert compared == client.rulebooks.compare("2027.1", with_="2020.1")
        heard.clear()
        proved = client.rulebooks.proof("2027.1", progress=lambda what, done, of: heard.append(what))
        assert (proved.version, proved.sound, proved.findings) == ("2027.1", True, ())
        # Approval has proved it: it is kept, and there is nothing to hear of.
        assert (heard, json.loads(proved.raw)) == ([], json.loads(client.rulebooks.proof("2027.1").raw))

    await members.apart(work)
