"""The collector of cycles looks less often while a large answer is worked out, and then as before."""

from __future__ import annotations

import gc

import pytest

from gradewright import collector


def test_it_looks_as_often_as_before_once_all_are_done() -> None:
    """Of answers that overlap the last to end puts back what was before the first; one that fails too."""
    before = gc.get_threshold()
    first, second = collector.seldom(), collector.seldom()
    first.__enter__()
    second.__enter__()
    assert gc.get_threshold() == collector.SELDOM != before
    first.__exit__(None, None, None)
    assert gc.get_threshold() == collector.SELDOM
    second.__exit__(None, None, None)
    assert gc.get_threshold() == before
    with pytest.raises(ValueError, match="anything"), collector.seldom():
        raise ValueError("anything")
    assert gc.get_threshold() == before
