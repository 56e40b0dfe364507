"""What is said the same: levels that agree, one by one and as a span."""

from __future__ import annotations

from decimal import Decimal

import pytest

from gradewright.core.spoken import agree, agreeing


@pytest.mark.parametrize("within", ["0", "0.05", "0.1", "0.25", "0.333", "0.99"])
def test_those_that_agree_with_a_level_are_all_between_two(within: str) -> None:
    share = Decimal(within)
    for one in range(1, 40):
        first, last = agreeing(one, share)
        assert [level for level in range(-50, 4100) if agree(level, one, share)] == [*range(first, last + 1)]
