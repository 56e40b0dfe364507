"""Lines in a grade that was not brought: told with the bin that they may be, marked down; never guessed."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from typing import Any

import pytest
from tests.api import World, empty_world
from tests.conftest import KINDS
from tests.settlements.test_settling import ZERO, valuation
from tests.settlements.tickets import asking, kept, line, open_yard, settled, ticket
from tests.valuations.market import shipped

from gradewright.settlements.accepted import how_accepted
from gradewright.settlements.schemas import SettlementIn
from gradewright.settlements.told_schemas import SettlementOut

NO1 = {"grade": "copper-no1", "weight": "40.0 lb"}
IRON = {"grade": "light-iron", "weight": "50.0 lb"}
SHRED = line("shred", "50.0", "0.08", "4.00", grade="light-iron")


@pytest.fixture(scope="module", params=KINDS)
async def settling(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The yard under a rulebook that ships: that of other tests sells No. 2 by name only."""
    async with empty_world(request, request.param) as made:
        await made.publish(shipped("2018.1"))
        yield await open_yard(made, furnish=True)


def body(*lines: Any, bins: Any = (NO1, IRON), matches: Any = (), **more: Any) -> Any:
    """A request with these lines, and the iron as it was brought."""
    lines = (*lines, SHRED)
    total = sum(round(float(each["amount"]) * 100) for each in lines) / 100
    of = ticket(*lines, total=f"{total:.2f}", **more)
    return {**asking(of, matches=[*matches]), "against": {"bins": [*bins]}}


def as_written(meant: Any) -> Any:
    """What is to be written under matches, as it is told."""
    return [{name: told for name, told in each.items() if told is not None} for each in meant]


async def test_a_bin_that_is_there_as_another_grade_is_suggested(settling: World) -> None:
    """No. 1 of 40 lb, on the ticket as No. 2: it is told with what to write, which makes it grade."""
    asked = body(line("#2 Cu", "40.0", "3.10", "124.00"))
    found = await settled(settling, asked)
    SettlementOut.model_validate(found)
    assert found["effects"] == {**ZERO, "missing": "-140.00", "unexpected": "124.00"}
    assert (found["complete"], found["marked_down"], found["may_be_marked_down"]) == (False, [], [])
    assert found["says"].endswith(
        "Line 1 may be some of what is missing, marked down: match it by hand if so."
    )
    (unclear,) = found["unmatched"]["lines"]
    assert unclear == {
        "line": 1,
        "because": "Nothing of Copper No. 2 was expected. It weighs what is missing of Copper No. 1: it may "
        "be that, marked down.",
        "meant": [{"line": 1, "bin": "copper-no1", "part": None}],
        "meant_together": [],
    }
    asked["matches"] = as_written(unclear["meant"])
    told = await settled(settling, asked)
    assert (told["effects"], told["complete"]) == ({**ZERO, "grade": "-16.00"}, True)
    assert told["difference"] == found["difference"]


PART = line("#1 Cu", "30.0", "3.50", "105.00")
PARTS: dict[str, tuple[list[Any], str]] = {
    "what is short": (
        [PART, line("#2 Cu", "10.0", "3.10", "31.00")],
        "It weighs what is missing of Copper No. 1: it may be that, marked down.",
    ),
    "less than is short": (
        [PART, line("#2 Cu", "8.0", "3.10", "24.80")],
        "There is less of Copper No. 1 than was brought: it may be some of that, marked down.",
    ),
    "no grade": (
        [PART, line("mixed Cu", "10.0", "3.10", "31.00")],
        "It weighs what is missing of Copper No. 1: it may be some of that.",
    ),
    "no kin, and what is short": (
        [PART, line("heavy", "10.0", "0.10", "1.00", grade="steel-heavy")],
        "It weighs what is missing of Copper No. 1: it may be that, marked down.",
    ),
}


@pytest.mark.parametrize("case", PARTS)
async def test_what_is_short_of_a_bin_is_suggested(settling: World, case: str) -> None:
    """A part of a bin is on a line in a grade that was not brought: what is suggested, written as it is told,
    leaves nothing unclear.
    """
    lines, because = PARTS[case]
    asked = body(*lines)
    found = await settled(settling, asked)
    (unclear,) = found["unmatched"]["lines"]
    assert unclear["because"].endswith(because)
    asked["matches"] = as_written(unclear["meant"])
    assert asked["matches"] == [{"line": 2, "bin": "copper-no1"}]
    told = await settled(settling, asked)
    assert (told["complete"], told["effects"]["unexpected"]) == (True, "0.00")


async def test_what_may_be_marked_down_goes_before_what_is_only_as_heavy(settling: World) -> None:
    """Steel of 9.9 lb is missing as well, and nearer to the line of No. 2 than all of No. 1 is; it comes
    after No. 1, of which 8 lb may be on that line.
    """
    bins = (NO1, IRON, {"grade": "steel-heavy", "weight": "9.9 lb", "price": "0.10"})
    found = await settled(settling, body(PART, line("#2 Cu", "8.0", "3.10", "24.80"), bins=bins))
    (unclear,) = found["unmatched"]["lines"]
    assert [each["bin"] for each in unclear["meant"]] == ["copper-no1", "steel-heavy"]


async def test_two_bins_that_are_one_line_together_are_suggested(settling: World) -> None:
    """30 lb of No. 1 and 10 lb of bright wire were thrown together, and are 40 lb of No. 2: told with what to
    write for both, which makes it grade.
    """
    bins = (
        {**NO1, "weight": "30.0 lb"},
        {"grade": "copper-bright", "weight": "10.0 lb", "price": "3.80"},
        IRON,
    )
    asked = body(line("#2 Cu", "40.0", "3.10", "124.00"), bins=bins)
    (unclear,) = (await settled(settling, asked))["unmatched"]["lines"]
    assert unclear["because"].endswith(
        "It weighs what is missing of Copper No. 1 and of Bare bright copper wire together: it may be all of "
        "that, marked down."
    )
    assert as_written(unclear["meant_together"]) == [
        {"line": 1, "bin": "copper-no1"},
        {"line": 1, "bin": "copper-bright"},
    ]
    told = await settled(settling, {**asked, "matches": as_written(unclear["meant_together"])})
    assert (told["effects"], told["complete"]) == ({**ZERO, "grade": "-19.00"}, True)
    before = await by_method(settling, asked, "3")
    assert before["unmatched"]["lines"][0].keys() == {"line", "because", "meant"}


async def test_two_lines_that_are_a_bin_together_are_both_suggested(settling: World) -> None:
    """25 lb as No. 2 and 15 lb as light copper are the 40 lb of No. 1."""
    lines = (
        line("#2 Cu", "25.0", "3.10", "77.50"),
        line("sheet", "15.0", "2.50", "37.50", grade="copper-light"),
    )
    unclear = (await settled(settling, body(*lines)))["unmatched"]["lines"]
    assert [one["because"].partition(" expected. ")[2] for one in unclear] == [
        f"Together with line {other} it weighs what is missing of Copper No. 1: it may be that, marked down."
        for other in (2, 1)
    ]
    matches = [match for one in unclear for match in as_written(one["meant"])]
    assert (await settled(settling, body(*lines, matches=matches)))["complete"] is True


async def test_nothing_is_suggested_that_nothing_speaks_for(settling: World) -> None:
    """Of what is not short, of what is paid more, and of no kin where the weight is another."""
    for sold in (
        [line("#1 Cu", "39.9", "3.50", "139.65"), line("#2 Cu", "0.1", "3.10", "0.31")],
        [PART, line("heavy", "3.0", "0.10", "0.30", grade="steel-heavy")],
        [PART, line("bright", "10.0", "3.70", "37.00", grade="copper-bright")],
    ):
        found = await settled(settling, body(*sold))
        (unclear,) = found["unmatched"]["lines"]
        assert (unclear["meant"], "missing" in unclear["because"]) == ([], False)


async def test_what_was_brought_too_may_be_no_kin(settling: World) -> None:
    """10 lb of motors are missing, and there are 10 lb more of light iron, as which no buyer of iron takes
    them: it is told as unclear, with what to write.
    """
    bins = ({"grade": "motors-copper", "weight": "50.0 lb", "price": "0.40"}, IRON)
    sold = ticket(
        line("motors", "40.0", "0.40", "16.00", grade="motors-copper"),
        line("shred", "60.0", "0.08", "4.80", grade="light-iron"),
        total="20.80",
    )
    asked = {**asking(sold), "against": {"bins": [*bins]}}
    found = await settled(settling, asked)
    (doubt,) = found["may_be_marked_down"]
    assert (doubt["bins"], doubt["accepted_as"], found["complete"]) == (
        ["motors-copper"],
        "light-iron",
        False,
    )
    told = await settled(settling, {**asked, "matches": as_written(doubt["meant"])})
    assert (told["effects"], told["complete"]) == ({**ZERO, "grade": "-3.20"}, True)
    before = await by_method(settling, asked, "3")
    assert (before["may_be_marked_down"], before["complete"]) == ([], True)


async def by_method(world: World, asked: Any, method: str) -> Any:
    """The answer by an earlier method."""
    request = SettlementIn.model_validate(asked).request()
    return json.loads((await world.services.settlements.settle(request, method)).answer.body)


async def test_by_method_3_nothing_is_suggested(settling: World) -> None:
    """What was answered then stays so: where some of a bin is on a line of its own, nothing is meant."""
    before = await by_method(settling, body(*PARTS["what is short"][0]), "3")
    (unclear,) = before["unmatched"]["lines"]
    assert (unclear["because"], unclear["meant"]) == ("Nothing of Copper No. 2 was expected.", [])
    assert before["says"].endswith("-35.00 weight, 31.00 lines that stand for no bin.")


async def test_bins_of_a_valuation_are_suggested_too(settling: World) -> None:
    """Its piles are bins like others."""
    of = await valuation(settling)
    asked = body(line("#2 Cu", "10", "3.10", "31.00"))
    found = await settled(settling, {**asked, "against": {"valuation": of}})
    (unclear,) = found["unmatched"]["lines"]
    assert "It weighs what is missing of Copper No. 1" in unclear["because"]


async def test_it_is_kept_and_repeated(settling: World) -> None:
    """Replayed with its pins it is the same bytes."""
    name = await kept(settling, body(*PARTS["what is short"][0]))
    headers = await settling.key("wren")
    read = await settling.client.get(f"/v1/settlements/{name}", headers=headers)
    again = await settling.client.post(f"/v1/settlements/{name}/replay", headers=headers)
    assert (again.status_code, again.content) == (200, read.content)
    taken = await settling.send(f"/v1/settlements/{name}/withdrawal", {"reason": "no figure has it"}, "wren")
    assert taken.status_code == 201


async def test_what_is_unclear_is_in_no_share_of_the_yards_figures(settling: World) -> None:
    """Three sellers with doubts of three kinds: more on the line of another grade, a line that stands for no
    bin, a bin that is there as another grade. Until three tell, nothing is told; then they are counted apart.
    """
    lines: Any = [
        [PART, line("#2 Cu", "10.1", "3.10", "31.31")],
        [line("#2 Cu", "40.0", "3.10", "124.00")],
        [PART, line("#2 Cu", "11.5", "3.10", "35.65")],
    ]
    two = {"grade": "copper-no2", "weight": "5.0 lb"}
    for number, (who, sold) in enumerate(zip(("wren", "dunlin", "siskin"), lines, strict=True)):
        bins = (NO1, IRON, two) if number == 2 else (NO1, IRON)
        await kept(settling, body(*sold, bins=bins), who)
    first = await figures(settling)
    assert "copper-no1" not in first
    settling.later(hours=1)
    for who, net in (("wren", "39.8"), ("dunlin", "39.9"), ("siskin", "40.0")):
        clear = line("#1 Cu", net, "3.50", f"{float(net) * 3.5:.2f}")
        await kept(settling, body(clear), who)
    no1 = (await figures(settling))["copper-no1"]
    assert (no1["often"]["tickets"], no1["often"]["of"], no1["unclear"]) == (0, 3, 3)


async def accepted(world: World, asked: Any) -> Any:
    """How each bin counts in the figures: the share that it was marked down by, None where it is unclear."""
    request = SettlementIn.model_validate(asked).request()
    settled_ = (await world.services.settlements.settle(request)).settled
    return {one.grade: one.share for one in how_accepted(settled_)}


async def test_what_a_line_may_be_is_unclear(settling: World) -> None:
    """A bin that is missing, where a line stands for no bin: whatever that weighs. Without such a line
    nothing is known of the bin, and it counts for nothing.
    """
    of = {"copper-no1": None, "light-iron": 0}
    assert await accepted(settling, body(line("mixed", "25.0", "3.10", "77.50"))) == of
    assert await accepted(settling, body()) == {"light-iron": 0}
    for nothing in ("0", "-0.10"):  # what costs to be rid of is never marked down
        bins = ({**NO1, "price": nothing}, IRON)
        of = await accepted(settling, body(line("mixed", "25.0", "3.10", "77.50"), bins=bins))
        assert of == {"light-iron": 0}


async def test_all_that_a_line_may_be_is_unclear(settling: World) -> None:
    """Also what is not named any more, where it may be one of many bins."""
    bands = ["wire-80", "wire-70", "wire-60", "wire-50"]
    bins = [{"grade": grade, "weight": "30.0 lb", "price": "1.00"} for grade in bands]
    lines = [line(grade, "25.0", "1.00", "25.00", grade=grade) for grade in bands]
    lines += [line("rest", "9.0", "0.10", "0.90", grade="wire-low"), SHRED]
    asked = {**asking(ticket(*lines, total="104.90")), "against": {"bins": [*bins, IRON]}}
    found = await settled(settling, asked)
    assert len(found["unmatched"]["lines"][0]["meant"]) == 3
    assert await accepted(settling, asked) == {**dict.fromkeys(bands), "light-iron": 0}


async def test_what_is_paid_less_goes_by_what_is_posted(settling: World) -> None:
    """Iron is paid less than No. 1, whatever this ticket pays for it: it may be that."""
    sold = (PART, line("shred", "10.0", "4.00", "40.00", grade="light-iron"))
    found = await settled(settling, {**asking(ticket(*sold, total="145.00")), "against": {"bins": [NO1]}})
    (unclear,) = found["unmatched"]["lines"]
    assert as_written(unclear["meant"]) == [{"line": 2, "bin": "copper-no1"}]


async def figures(world: World) -> Any:
    """What is told of the yard, by grade."""
    answer = await world.client.get("/v1/yards/low-quay/settlements", headers=await world.key("wren"))
    assert answer.status_code == 200, answer.text
    return {one["grade"]: one for one in answer.json()["grades"]}
