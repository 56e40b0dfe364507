"""What each call sends, and that both clients send the same."""

from __future__ import annotations

from collections.abc import Callable
from itertools import islice
from typing import Any

import pytest
from tests.sdk import calls_asking, calls_posting

import gradewright_sdk as gw
from gradewright_sdk.testing import FakeGradewright, samples

CALLS = [*calls_posting.CALLS, *calls_asking.CALLS]


@pytest.mark.parametrize(
    ("call", "method", "path", "query", "body"), [case[1:] for case in CALLS], ids=[case[0] for case in CALLS]
)
async def test_what_a_call_sends(
    everything: FakeGradewright,
    call: Callable[[Any], Any],
    method: str,
    path: str,
    query: dict[str, str],
    body: object,
) -> None:
    """Each call sends exactly this, and both clients send the same and read the same from the answer."""
    with everything.client(key="gw_k") as client:
        one = call(client)
    async with everything.async_client(key="gw_k") as async_client:
        other = await call(async_client)
    assert one == other
    for sent in everything.requests:
        assert (sent.method, sent.path, sent.query, sent.json) == (method, path, query, body)
        assert sent.headers["authorization"] == "Bearer gw_k"
        assert sent.headers["user-agent"] == f"gradewright-sdk/{gw.__version__}"
        assert ("content-type" in sent.headers) is (body is not None)


async def test_postings_are_listed_over_all_pages(fake: FakeGradewright) -> None:
    """Listing postings goes through all pages, and fetches the next only when it is needed."""
    pages = {
        "": {"postings": [samples.posting(id="p-5"), samples.posting(id="p-4")], "next": "c1"},
        "c1": {"postings": [samples.posting(id="p-3")], "next": "c2"},
        "c2": {"postings": [], "next": None},
    }
    fake.answer("GET", "/v1/postings", lambda request: pages[request.query.get("cursor", "")])
    with fake.client() as client:
        postings = client.postings.list(yard="low-quay", page_size=2)
        assert next(postings).id == "p-5"
        assert len(fake.requests) == 1
        assert [posting.id for posting in postings] == ["p-4", "p-3"]
    assert [sent.query for sent in fake.requests] == [
        {"yard": "low-quay", "limit": "2"},
        {"yard": "low-quay", "limit": "2", "cursor": "c1"},
        {"yard": "low-quay", "limit": "2", "cursor": "c2"},
    ]
    async with fake.async_client() as async_client:
        ids = [posting.id async for posting in async_client.postings.list(yard="low-quay", page_size=2)]
    assert ids == ["p-5", "p-4", "p-3"]


async def test_pages_that_never_end(fake: FakeGradewright) -> None:
    """A cursor that comes again would never end: it is an UnexpectedAnswer."""
    fake.answer("GET", "/v1/postings", {"postings": [samples.posting()], "next": "again"})
    with pytest.raises(gw.UnexpectedAnswer, match="again"), fake.client() as client:
        list(islice(client.postings.list(), 10))
    async with fake.async_client() as async_client:
        postings = async_client.postings.list()
        assert (await anext(postings)).id == (await anext(postings)).id
        with pytest.raises(gw.UnexpectedAnswer, match="again"):
            await anext(postings)
