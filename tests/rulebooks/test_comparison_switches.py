"""What is only on or off is told in a sentence, and a version compared with itself waits for nobody."""

from __future__ import annotations

import json
from typing import Any

import pytest
from tests.api import small_rulebook
from tests.prices.test_histories import HELD, STANDING

from gradewright.rulebooks.comparing import Comparing
from gradewright.rulebooks.comparison import compare
from gradewright.rulebooks.document import read

ON = "whoever confirms or disputes a price weighs by what they have posted themselves"
OFF = "whoever confirms or disputes a price has a full voice, whatever they have posted"


def judging(**more: Any) -> Any:
    """The small rulebook with a rule for prices that wait."""
    made = small_rulebook()
    made["pricing"] = {**made["pricing"], "held": {**HELD, **more}, "standing": STANDING}
    return made


@pytest.mark.parametrize(
    ("was", "now", "says"), [({}, {"words_weighed": True}, ON), ({"words_weighed": True}, {}, OFF)]
)
def test_a_switch_is_told_in_a_sentence(was: dict[str, bool], now: dict[str, bool], says: str) -> None:
    """Not as a value that is there or not."""
    before, after = judging(**was), judging(**now)
    found = compare((read(before), before), (read(after), after))
    assert f"Pricing, held: {says}." in found.summary


async def test_a_version_is_compared_with_itself_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """However many others are being worked out."""

    async def never(*_: Any) -> None:
        raise AssertionError("it waits behind others")

    monkeypatch.setattr(Comparing, "_worked_out", never)
    document = small_rulebook()
    book = read(document), json.loads(json.dumps(document))
    assert (await Comparing().of(book, book)).kind == "same"
