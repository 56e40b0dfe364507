"""The list of postings: newest first, page by page, pinned to where the first page began."""

from __future__ import annotations

from typing import Any

import httpx
import pytest
from tests.api import World, as_read, price, problem_of, where

from gradewright.web.pagination import encode_cursor


@pytest.fixture
async def many(world: World) -> list[str]:
    """The ids of 25 postings at three yards, oldest first."""
    ids = []
    for number in range(25):
        yard = ("low-quay", "tern-row", "far-gate")[number % 3]
        ids.append((await world.post(price("copper-no1", f"3.{number:02}"), yard=yard))["id"])
    return ids


async def pages(world: World, **query: Any) -> list[list[str]]:
    """The ids on all pages, as the Link header leads to them; a posting comes in after each."""
    found = []
    response = await world.client.get("/v1/postings", params=query)
    while True:
        assert response.status_code == 200, response.text
        page = response.json()
        found.append([posting["id"] for posting in page["postings"]])
        link = response.links.get("next")
        assert (link is None) == (page["next"] is None)
        if link is None:
            return found
        assert httpx.URL(link["url"]).params["cursor"] == page["next"]
        await world.post(price("copper-no1", "9"))
        response = await world.client.get(link["url"])


async def test_new_postings_do_not_shift_the_pages(world: World, many: list[str]) -> None:
    """While postings come in, the pages hold each of the first page's time once, newest first."""
    found = await pages(world, limit=10)
    assert [len(page) for page in found] == [10, 10, 5]
    assert [posting for page in found for posting in page] == many[::-1]


async def test_a_page_that_is_just_full_is_the_last(world: World, many: list[str]) -> None:
    """25 postings in pages of 25, or of 5: no empty page at the end."""
    assert [len(page) for page in await pages(world, limit=25)] == [25]
    newer = await pages(world, limit=13)
    assert [len(page) for page in newer] == [13, 12]


@pytest.mark.parametrize(
    ("query", "yards"),
    [
        ({"yard": "low-quay"}, {0}),
        ({"region": "XO-KEL"}, {0, 1}),
        ({"region": "XO"}, {0, 1, 2}),
        ({"region": "XO-FEN"}, {2}),
        ({"region": "XO-FEN", "yard": "far-gate"}, {2}),
        ({"region": "XO-FEN", "yard": "low-quay"}, set()),
    ],
)
async def test_postings_of_a_yard_or_region(
    world: World, many: list[str], query: dict[str, str], yards: set[int]
) -> None:
    """Filters hold on every page: a yard, a region with those below it, or both."""
    wanted = [posting for number, posting in enumerate(many) if number % 3 in yards][::-1]
    found = [posting for page in await pages(world, limit=4, **query) for posting in page]
    assert [posting for posting in found if posting in many] == wanted
    assert set(found) <= set(many)


async def test_the_list_has_whole_postings(world: World) -> None:
    """A posting in the list is the posting itself."""
    stored = await world.post(price("copper-no1", "3.350"), price("light-iron", "0.08"), note="a note")
    assert (await world.get("/v1/postings"))["postings"] == [as_read(stored)]


async def test_the_link_keeps_the_question(world: World, many: list[str]) -> None:
    """The link to the next page has every parameter of this one, and the cursor."""
    response = await world.client.get("/v1/postings?region=XO-KEL&limit=2")
    asked = dict(httpx.URL(response.links["next"]["url"]).params)
    assert asked == {"region": "XO-KEL", "limit": "2", "cursor": response.json()["next"]}


async def test_an_empty_list(untouched: World) -> None:
    """Nothing posted: an empty page, and none after it."""
    response = await untouched.client.get("/v1/postings")
    assert response.json() == {"postings": [], "next": None}
    assert "link" not in response.headers


BAD = [
    pytest.param("limit=0", "invalid-request", "limit", id="no postings"),
    pytest.param("limit=201", "invalid-request", "limit", id="too many"),
    pytest.param("limit=-1", "invalid-request", "limit", id="below zero"),
    pytest.param("limit=ten", "invalid-request", "limit", id="a word"),
    pytest.param("limit=1e2", "invalid-request", "limit", id="an exponent"),
    pytest.param("limit=1_0", "invalid-request", "limit", id="an underscore"),
    pytest.param("limit=%D9%A3", "invalid-request", "limit", id="an Arabic digit"),
    pytest.param("limit=", "invalid-request", "limit", id="nothing"),
    pytest.param("limit=99999999999999999999", "invalid-request", "limit", id="twenty digits"),
    pytest.param("cursor=abc", "invalid-request", "cursor", id="a short cursor"),
    pytest.param("cursor=AAAAAAAAAAAA", "invalid-request", "cursor", id="a cursor of nothing"),
    pytest.param(f"cursor={encode_cursor(3, 4)}", "invalid-request", "cursor", id="of another list"),
    pytest.param(f"cursor={encode_cursor(2**63)}", "invalid-request", "cursor", id="beyond 64 bits"),
    pytest.param(f"cursor={encode_cursor(-(2**70))}", "invalid-request", "cursor", id="far below zero"),
    pytest.param(f"cursor={encode_cursor(5)}x", "invalid-request", "cursor", id="one letter more"),
    pytest.param("yard=nowhere", "unknown-yard", "yard", id="no such yard"),
    pytest.param("region=XQ", "unknown-region", "region", id="no such region"),
    pytest.param("page=2", "invalid-request", "page", id="no such parameter"),
]


@pytest.mark.parametrize(("query", "slug", "parameter"), BAD)
async def test_a_page_that_cannot_be_given(untouched: World, query: str, slug: str, parameter: str) -> None:
    """One fault, at the parameter."""
    assert where(problem_of(await untouched.client.get(f"/v1/postings?{query}"), slug)) == [parameter]


@pytest.mark.parametrize("number", [0, 1, 2**63 - 1])
async def test_a_made_up_cursor_does_no_harm(untouched: World, number: int) -> None:
    """A cursor is not a secret: one that somebody made up within bounds gives a page of the list."""
    assert (await untouched.get("/v1/postings", cursor=encode_cursor(number)))["postings"] == []
