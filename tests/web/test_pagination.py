"""Cursors come back as they were given, and only those that were given."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from litestar.testing import RequestFactory

from gradewright.web.pagination import decode_cursor, encode_cursor, next_link
from gradewright.web.problems import RequestRefused


@given(st.lists(st.integers(min_value=0, max_value=2**63 - 1), min_size=1, max_size=3))
def test_a_cursor_comes_back(numbers: list[int]) -> None:
    """What is put into a cursor is read out of it."""
    assert decode_cursor(encode_cursor(*numbers), len(numbers)) == tuple(numbers)


@given(st.text(alphabet="ABCabc019_-", max_size=60))
def test_a_cursor_that_was_not_given_is_refused(text: str) -> None:
    """Made-up text is refused at the parameter, never misread."""
    with pytest.raises(RequestRefused) as refusal:
        decode_cursor(text, 1)
    assert refusal.value.errors[0].parameter == "cursor"


def test_a_cursor_of_another_list_is_refused() -> None:
    """A cursor with another count of numbers belongs to another list."""
    with pytest.raises(RequestRefused):
        decode_cursor(encode_cursor(1, 2), 1)


def test_a_changed_cursor_is_refused() -> None:
    """A cursor with one character changed is not this service's."""
    cursor = encode_cursor(312)
    changed = ("B" if cursor[0] == "A" else "A") + cursor[1:]
    with pytest.raises(RequestRefused):
        decode_cursor(changed, 1)


def test_the_link_repeats_the_question() -> None:
    """The next link has this page's parameters, encoded again, with the new cursor in place of the old."""
    request = RequestFactory().get("/v1/postings", query_params={"yard": "low quay&x", "cursor": "old"})
    link = next_link(request, "NEW")["Link"]
    assert link == '</v1/postings?yard=low+quay%26x&cursor=NEW>; rel="next"'


def test_the_last_page_has_no_link() -> None:
    """Where there is no next page there is no Link."""
    assert next_link(RequestFactory().get("/v1/postings"), None) == {}
