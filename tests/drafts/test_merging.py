"""JSON Merge Patch as RFC 7396 has it."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest

from gradewright.drafts.merging import merged

APPENDIX_A = [
    ('{"a":"b"}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"b"}', '{"b":"c"}', '{"a":"b","b":"c"}'),
    ('{"a":"b"}', '{"a":null}', "{}"),
    ('{"a":"b","b":"c"}', '{"a":null}', '{"b":"c"}'),
    ('{"a":["b"]}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"c"}', '{"a":["b"]}', '{"a":["b"]}'),
    ('{"a":{"b":"c"}}', '{"a":{"b":"d","c":null}}', '{"a":{"b":"d"}}'),
    ('{"a":[{"b":"c"}]}', '{"a":[1]}', '{"a":[1]}'),
    ('["a","b"]', '["c","d"]', '["c","d"]'),
    ('{"a":"b"}', '["c"]', '["c"]'),
    ('{"a":"foo"}', "null", "null"),
    ('{"a":"foo"}', '"bar"', '"bar"'),
    ('{"e":null}', '{"a":1}', '{"e":null,"a":1}'),
    ("[1,2]", '{"a":"b","c":null}', '{"a":"b"}'),
    ("{}", '{"a":{"bb":{"ccc":null}}}', '{"a":{"bb":{}}}'),
]
"""Original, patch, result: the test cases of RFC 7396, appendix A, all 15 of them."""


@pytest.mark.parametrize(("original", "patch", "result"), APPENDIX_A)
def test_the_examples_of_the_rfc(original: str, patch: str, result: str) -> None:
    """Each test case of the RFC's appendix A comes out as it says, with its names in that order."""
    assert json.dumps(merged(json.loads(original), json.loads(patch))) == json.dumps(json.loads(result))


def test_neither_side_is_changed() -> None:
    """The document that is patched, and the patch, stay as they were."""
    document: dict[str, Any] = {"a": {"b": 1, "c": [1]}, "d": 2}
    patch = {"a": {"b": None, "e": {"f": 3}}}
    before = copy.deepcopy((document, patch))
    assert merged(document, patch) == {"a": {"c": [1], "e": {"f": 3}}, "d": 2}
    assert (document, patch) == before
