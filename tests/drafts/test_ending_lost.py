"""What of a draft a later version does not have, by the text of three documents."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from gradewright.drafts.ending import ending
from gradewright.rulebooks.standing import Standing
from tests.api import small_rulebook

Edit = Callable[[Any], Any]
DAYS = {"2020.1": date(2020, 1, 1), "2028.1": date(2028, 1, 1)}
STANDING = Standing("2020.1", None, ("2028.1",), DAYS)


def told(draft: Edit, later: Edit) -> tuple[list[tuple[str, str]], str]:
    """What is gone, and the sentence, where both builds on the small rulebook are edited."""
    before, document, published = small_rulebook(), small_rulebook(), small_rulebook()
    draft(document)
    later(published)
    found = ending(STANDING, document, before, published)
    assert found is not None
    assert found.lost is not None
    return [(change.change, change.place) for change in found.lost], found.told()


def nothing(_: Any) -> None:
    """As the base has it."""


def rule(document: Any, name: str) -> Any:
    return next(each for each in document["rules"] if each["id"] == name)


def without_rule(document: Any) -> None:
    document["rules"] = [each for each in document["rules"] if each["id"] != "copper-with-screws"]


def swapped(document: Any) -> None:
    document["rules"][:2] = reversed(document["rules"][:2])


def set_limit(value: str) -> Edit:
    return lambda document: document["limits"]["heavy_steel_thickness"].update(value=value)


REMOVED: dict[str, tuple[Edit, Edit, str]] = {
    "a caution that the later one words otherwise": (
        lambda d: d["cautions"].pop("dust"),
        lambda d: d["cautions"]["dust"].update(says="Other words."),
        "dust",
    ),
    "a caution that the later one has": (lambda d: d["cautions"].pop("dust"), nothing, "dust"),
    "a rule that gives another grade in the later one": (
        without_rule, lambda d: rule(d, "copper-with-screws").update(grade="screws"), "copper-with-screws",
    ),
    "a condition that is another in the later one": (
        lambda d: rule(d, "thick-steel")["when"].pop("thickness"),
        lambda d: rule(d, "thick-steel")["when"].update(thickness={"above": "9 mm"}),
        "thick-steel",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", REMOVED)
def test_what_the_draft_takes_out_is_back(case: str) -> None:
    """However the later version has it, it is not gone there."""
    draft, later, name = REMOVED[case]
    lost, says = told(draft, later)
    assert [change for change, _ in lost] == ["removed"]
    assert name in lost[0][1]
    assert "has all that this one changes" not in says


def test_what_follows_has_to_have_it_too() -> None:
    """A draft that keeps it ends in turn with the next version."""
    more = {**DAYS, "2028.2": date(2028, 2, 1), "2028.3": date(2028, 3, 1)}
    document, published = small_rulebook(), small_rulebook()
    set_limit("8 mm")(document)
    for later, says in (
        (("2028.1",), "for that day or a later one. Whoever"),
        (("2028.1", "2028.2", "2028.3"), "or a later one, and one from each version that follows. Whoever"),
    ):
        days = {name: day for name, day in more.items() if name in ("2020.1", *later)}
        found = ending(Standing("2020.1", None, later, days), document, small_rulebook(), published)
        assert found is not None
        assert says in found.told()


def test_what_the_later_one_takes_out_too_is_not_gone() -> None:
    """Both have the same of it, and the sentence says so."""
    lost, says = told(without_rule, without_rule)
    assert lost == []
    assert "2028.1 has all that this one changes" in says


def test_an_order_that_the_later_one_does_not_have_is_gone() -> None:
    """And one that it has too is not."""
    assert [change for change, _ in told(swapped, nothing)[0]] == ["reordered"]
    assert told(swapped, swapped)[0] == []


def test_a_value_inside_of_what_the_later_one_has_otherwise_is_gone() -> None:
    """Whether that one has another value there, or none of the entry any more."""
    place = ("changed", "limit heavy_steel_thickness, value")
    assert told(set_limit("8 mm"), set_limit("9 mm"))[0] == [place]
    assert told(set_limit("8 mm"), set_limit("8 mm"))[0] == []
    assert told(set_limit("8 mm"), lambda d: d["limits"].pop("heavy_steel_thickness"))[0] == [place]
