"""Postings are stored as posted, by the key's account, all prices or none."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from tests.api import World, as_read, only, posting, price, problem_of, where

from gradewright.accounts.service import Role


async def test_prices_are_stored_as_posted(world: World) -> None:
    """Trailing zeros, units, from-weights and charges come back as they were sent, and stay so."""
    stored = await world.post(
        price("copper-no1", "4.10"),
        price("copper-no2", "3.350"),
        price("copper-no2", "3.5", from_weight="100 lb"),
        price("light-iron", "180.00", "gross ton", from_weight="2 lb 3 oz"),
        price("steel-heavy", "0.000001", "g"),
        price("screws", "-5.00", "short ton"),
        note="read off the board\nat the gate: ½ öre",
        evidence="sign",
    )
    assert [[p["price"], p["per"], p["from_weight"], p["line"], p["label"]] for p in stored["prices"]] == [
        ["4.10", "lb", None, 1, None],
        ["3.350", "lb", None, 2, None],
        ["3.5", "lb", "100 lb", 3, None],
        ["180.00", "gross ton", "2 lb 3 oz", 4, None],
        ["0.000001", "g", None, 5, None],
        ["-5.00", "short ton", None, 6, None],
    ]
    assert stored["note"] == "read off the board\nat the gate: ½ öre"
    assert (stored["yard"], stored["observed_on"], stored["evidence"]) == ("low-quay", "2026-05-04", "sign")
    assert await world.get(f"/v1/postings/{stored['id']}") == as_read(stored)


async def test_the_answer_says_where_the_posting_is(world: World) -> None:
    """201, and Location leads to the posting."""
    response = await world.send("/v1/postings", posting(price("copper-no2", "3.35")), "wren")
    assert response.status_code == 201
    assert await world.get(response.headers["location"]) == as_read(response.json())


async def test_the_author_is_the_account_of_the_key(world: World) -> None:
    """Two members post the same words; each posting bears its own author and revision."""
    first = await world.post(price("copper-no2", "3.35"), who="wren")
    second = await world.post(price("copper-no2", "3.35"), who="teal")
    assert (first["author"], second["author"]) == ("wren", "teal")
    assert second["revision"] == first["revision"] + 1


async def test_nobody_posts_for_another(world: World) -> None:
    """An author in the body is a field that nobody asked for."""
    body = posting(price("copper-no2", "3.35"), author="teal")
    problem = problem_of(await world.send("/v1/postings", body, "wren"), "invalid-request")
    assert where(problem) == ["#/author"]


async def test_a_maintainer_may_post(world: World) -> None:
    """A maintainer may do all that a member may."""
    response = await world.send("/v1/postings", posting(price("copper-no2", "3")), "sedge", Role.MAINTAINER)
    assert response.json()["author"] == "sedge"


async def test_posting_needs_a_key(untouched: World) -> None:
    """Without a key: 401, with the way to authenticate, before the body is looked at."""
    response = await untouched.send("/v1/postings", {"nonsense": 1})
    problem_of(response, "unauthorized")
    assert response.headers["www-authenticate"] == "Bearer"


async def test_a_revoked_key_posts_no_more(world: World) -> None:
    """From the moment of its revocation a key is worth nothing."""
    await world.post(price("copper-no2", "3.35"))
    (key,) = [key for key in await world.services.accounts.keys() if key.handle == "wren"]
    await world.services.accounts.revoke(key.id, world.clock())
    problem_of(await world.send("/v1/postings", posting(price("copper-no2", "3")), "wren"), "unauthorized")


async def test_recorded_at_is_the_service_clock(world: World) -> None:
    """The instant of recording is the service's, in UTC, to the microsecond."""
    world.clock.now = datetime(2026, 5, 4, 21, 30, 15, 250, tzinfo=UTC)
    assert (await world.post(price("copper-no2", "3")))["recorded_at"] == "2026-05-04T21:30:15.000250Z"


@pytest.mark.parametrize("named", ["copper-no2", "Copper No. 2", "COPPER NO. 2", "birch", "Birch"])
async def test_a_grade_may_be_named_in_any_way(world: World, named: str) -> None:
    """Slug, name and alias, in any case, are stored as the slug."""
    assert (await world.post(price(named, "3.35")))["prices"][0]["grade"] == "copper-no2"


@pytest.mark.parametrize("label", ["#2 Cu", "#2 CU", "#2  cu"])
async def test_a_yards_own_label_stands_for_a_grade(world: World, label: str) -> None:
    """A label of the yard is stored as written, beside the grade that it stands for."""
    body = {"label": label, "price": "3.35", "currency": "USD", "per": "lb"}
    (stored,) = (await world.post(body))["prices"]
    assert (stored["grade"], stored["label"]) == ("copper-no2", label)


async def test_a_label_counts_from_its_day(world: World) -> None:
    """The day before a label's first day the yard had no such label, and it is told from when on it has."""
    body = {"label": "#2 Cu", "price": "3.35", "currency": "USD", "per": "lb"}
    assert (await world.post(body, on="2026-01-01"))["prices"][0]["grade"] == "copper-no2"
    response = await world.send("/v1/postings", posting(body, on="2025-12-31"), "wren")
    problem = problem_of(response, "unknown-grade")
    assert where(problem) == ["#/prices/0/label"]
    assert "is not a label of low-quay on 2025-12-31; it is one from 2026-01-01 on." in only(problem).detail


async def test_a_label_of_another_yard_is_unknown(untouched: World) -> None:
    """Labels are a yard's own."""
    body = posting({"label": "#2 Cu", "price": "3", "currency": "USD", "per": "lb"}, yard="tern-row")
    problem = problem_of(await untouched.send("/v1/postings", body, "wren"), "unknown-grade")
    assert where(problem) == ["#/prices/0/label"]


async def test_a_misspelt_label_is_suggested(untouched: World) -> None:
    """The yard's label that is written most alike is suggested, as the yard writes it."""
    body = posting({"label": "#2Cu", "price": "3", "currency": "USD", "per": "lb"})
    problem = problem_of(await untouched.send("/v1/postings", body, "wren"), "unknown-grade")
    assert (only(problem).suggestions or [])[0] == "#2 Cu"


async def test_today_may_be_tomorrow_far_in_the_east(world: World) -> None:
    """A day that has begun somewhere (UTC+14) can be posted; one that has begun nowhere cannot."""
    world.clock.now = datetime(2026, 5, 4, 9, 59, 59, tzinfo=UTC)
    body = posting(price("copper-no2", "3.35"), on="2026-05-05")
    problem = problem_of(await world.send("/v1/postings", body, "wren"), "invalid-request")
    assert where(problem) == ["#/observed_on"]
    world.clock.now = datetime(2026, 5, 4, 10, 0, tzinfo=UTC)
    assert (await world.send("/v1/postings", body, "wren")).status_code == 201


@pytest.mark.parametrize("on", ["1989-12-31", "0001-01-01", "2026-05-05", "9999-12-31"])
async def test_a_day_that_nobody_can_have_seen(untouched: World, on: str) -> None:
    """Days before 1990 and in the future are refused, at the field."""
    response = await untouched.send("/v1/postings", posting(price("copper-no2", "3"), on=on), "wren")
    assert where(problem_of(response, "invalid-request")) == ["#/observed_on"]


async def test_a_day_before_any_rulebook_points_at_the_day(untouched: World) -> None:
    """Where no rulebook names the grades of that day, the fault is at `observed_on`."""
    response = await untouched.send(
        "/v1/postings", posting(price("copper-no2", "3"), on="2019-12-31"), "wren"
    )
    assert where(problem_of(response, "no-rulebook-in-force")) == ["#/observed_on"]


async def test_five_hundred_prices_and_no_more(world: World) -> None:
    """500 prices are one posting; 501 are refused at the list, and nothing of them is stored."""
    prices = [price("copper-no2", "3.35", from_weight=f"{n} lb") for n in range(1, 502)]
    response = await world.send("/v1/postings", posting(*prices), "wren")
    assert where(problem_of(response, "invalid-request")) == ["#/prices"]
    stored = await world.post(*prices[:500])
    assert [entry["line"] for entry in stored["prices"]] == list(range(1, 501))
    assert (await world.get(f"/v1/postings/{stored['id']}")) == as_read(stored)


async def test_a_posting_without_prices_is_refused(untouched: World) -> None:
    """Nothing seen is nothing to post."""
    problem = problem_of(await untouched.send("/v1/postings", posting(), "wren"), "invalid-request")
    assert where(problem) == ["#/prices"]


async def test_a_grade_has_one_price_per_from_weight(untouched: World) -> None:
    """The same grade twice, under whatever names, for the same from-weight, in whatever unit, is refused."""
    body = posting(
        price("copper-no2", "3.35", from_weight="100 lb"),
        price("copper-no1", "4"),
        price("Birch", "3.30", from_weight="1600 oz"),
        price("copper-no1", "4", from_weight="100 lb"),
    )
    problem = problem_of(await untouched.send("/v1/postings", body, "wren"), "invalid-request")
    assert where(problem) == ["#/prices/2"]
    assert "line 1" in only(problem).detail


async def test_there_is_no_such_posting(untouched: World) -> None:
    """An id that is nobody's is 404."""
    problem_of(await untouched.client.get("/v1/postings/p-0123456789abcdef0123"), "not-found")
