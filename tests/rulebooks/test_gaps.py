"""What is missing or idle in a rulebook, though every key is in its place, is told."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, get_args

import pytest
from tests.samples import document

from gradewright.core.errors import RulebookError
from gradewright.prices.posting_schemas import Evidence
from gradewright.rulebooks.document import read
from gradewright.rulebooks.shape_pricing import EVIDENCE

GAPS: list[Any] = [
    pytest.param(
        lambda d: d["pricing"]["evidence"].pop("sign"),
        ("pricing", "evidence"),
        "pricing, evidence: `sign` is missing",
        id="a kind of evidence without its weight",
    ),
    pytest.param(
        lambda d: d["pricing"]["evidence"].update(rumour="0.1"),
        ("pricing", "evidence"),
        "pricing, evidence: `rumour` is no kind of evidence",
        id="evidence of no kind",
    ),
    pytest.param(
        lambda d: d["attributes"].update(finish={**d["attributes"]["metal"], "choices": {}}),
        ("attributes", "finish"),
        "attribute finish: a choice needs `choices`",
        id="a choice of nothing",
    ),
    pytest.param(
        lambda d: d["attributes"]["thickness"].update(choices={"thick": "x"}),
        ("attributes", "thickness"),
        "attribute thickness: only a choice has `choices`",
        id="choices of a length",
    ),
    pytest.param(
        lambda d: d["grades"]["screws"].update(aliases=["loose screws "]),
        ("grades", "screws", "aliases", 0),
        "grade screws, aliases (1): take out the spaces around it",
        id="an alias that ends in a space",
    ),
    pytest.param(
        lambda d: d["preparations"]["back-out-screws"]["sheds"].update(share="100 %"),
        ("preparations", "back-out-screws", "sheds", "share"),
        "preparation back-out-screws, sheds share: what is shed is below 100 %",
        id="work that leaves nothing",
    ),
]


@pytest.mark.parametrize(("change", "at", "says"), GAPS)
def test_a_gap_is_told(change: Callable[[Any], Any], at: tuple[str | int, ...], says: str) -> None:
    """One fault, at its place, that says what to write."""
    source = document()
    change(source)
    with pytest.raises(RulebookError) as refusal:
        read(source)
    (fault,) = refusal.value.faults
    assert fault.at == at
    assert fault.detail.startswith(says)


def test_the_kinds_of_evidence_are_those_of_postings() -> None:
    """What a rulebook weighs is what a member can say that a price was seen on."""
    assert set(EVIDENCE) == set(get_args(Evidence))
