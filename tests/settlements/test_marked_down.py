"""Some of a bin on the line of a cheaper grade that was brought too: told as grade, or as unclear."""

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

from gradewright.settlements.schemas import SettlementIn
from gradewright.settlements.told_schemas import SettlementOut

BINS = [
    {"grade": "copper-no1", "weight": "10 lb"},
    {"grade": "copper-no2", "weight": "5 lb"},
    {"grade": "light-iron", "weight": "50 lb"},
]


@pytest.fixture(scope="module", params=KINDS)
async def settling(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The yard under a rulebook that ships: that of other tests sells No. 2 by name only."""
    async with empty_world(request, request.param) as made:
        await made.publish(shipped("2018.1"))
        yield await open_yard(made, furnish=True)


def sold(no1: str, no2: str, **more: Any) -> Any:
    """A ticket with so much of both, and the iron as it was."""
    amounts = (f"{float(no1) * 3.5:.2f}", f"{float(no2) * 3.1:.2f}")
    return ticket(
        line("#1 Cu", no1, "3.50", amounts[0]),
        line("#2 Cu", no2, "3.10", amounts[1], **more),
        line("shred", "50", "0.08", "4.00", grade="light-iron"),
        total=f"{float(amounts[0]) + float(amounts[1]) + 4:.2f}",
    )


def body(of: Any, *matches: Any, **against: Any) -> Any:
    """A request that holds it against all three bins."""
    return {**asking(of, matches=[*matches]), "against": against or {"bins": BINS}}


async def test_what_was_marked_down_is_told_as_grade(settling: World) -> None:
    """3 lb of No. 1 are on the line of No. 2: 3 x (3.10 - 3.50), and no weight is missing or too much."""
    found = await settled(settling, body(sold("7", "8")))
    SettlementOut.model_validate(found)
    assert found["effects"] == {**ZERO, "grade": "-1.20"}
    assert (found["complete"], found["may_be_marked_down"]) == (True, [])
    assert found["says"] == "Paid 1.20 USD less than expected: -1.20 grade."
    (down,) = found["marked_down"]
    says = "1.361 kg (3 lb) of Copper No. 1 was accepted as Copper No. 2: it is in line 2."
    assert down == {
        "bin": "copper-no1",
        "accepted_as": "copper-no2",
        "lines": [2],
        "weight": {"kg": "1.36077711", "shown": "1.361 kg (3 lb)"},
        "least": None,
        "most": None,
        "says": says,
    }
    group = next(one for one in found["groups"] if len(one["bins"]) == 2)
    assert group["lines"] == [1, 2]
    assert group["says"] == f"Paid 1.20 USD less than expected: -1.20 grade. {says}"
    assert [one["matched_by"] for one in found["lines"]] == ["grade"] * 3


async def test_against_a_valuation_too(settling: World) -> None:
    """Its piles are bins like others."""
    of = await valuation(settling, {"name": "tube", "weight": "5 lb", "grade": "copper-no2"})
    found = await settled(settling, body(sold("7", "8"), valuation=of))
    assert found["effects"] == {**ZERO, "grade": "-1.20"}


async def test_by_earlier_methods_it_was_weight(settling: World) -> None:
    """What was answered by them is repeated by them, without a word of it."""
    request = SettlementIn.model_validate(body(sold("7", "8"))).request()
    for method in ("1", "2"):
        then = json.loads((await settling.services.settlements.settle(request, method)).answer.body)
        assert then["effects"] == {**ZERO, "weight": "-1.20"}
        assert not then.keys() & {"marked_down", "may_be_marked_down"}


async def test_what_two_scales_differ_by_is_nobody_s_doing(settling: World) -> None:
    """0.53 lb are short of 10 lb of No. 1, and over on No. 2: scales that show whole pounds and hundredths,
    and differ by half a per cent, leave 0.555 open. It is unclear; by method 4 it was told as marked down.
    """
    close = body(sold("9.47", "5.53"))
    found = await settled(settling, close)
    assert (found["effects"]["grade"], found["marked_down"], found["complete"]) == ("0.00", [], False)
    assert [one["accepted_as"] for one in found["may_be_marked_down"]] == ["copper-no2"]
    request = SettlementIn.model_validate(close).request()
    then = json.loads((await settling.services.settlements.settle(request, "4")).answer.body)
    assert (len(then["marked_down"]), then["may_be_marked_down"], then["complete"]) == (1, [], True)


async def test_what_is_unclear_is_said_by_hand(settling: World) -> None:
    """No. 1 lacks 3 lb and No. 2 has 1.5 lb more: it is told with what to write, and each of both, sent as it
    stands, makes it clear.
    """
    unclear = sold("7", "6.5")
    found = await settled(settling, body(unclear))
    assert (found["effects"]["grade"], found["marked_down"], found["complete"]) == ("0.00", [], False)
    (doubt,) = found["may_be_marked_down"]
    assert (doubt["bins"], doubt["accepted_as"], doubt["lines"]) == (["copper-no1"], "copper-no2", [2])
    assert doubt["because"].startswith("Line 2 weighs more than was brought as Copper No. 2")
    assert found["says"].endswith(doubt["because"])
    yes, no = (
        [{name: told for name, told in each.items() if told is not None} for each in doubt[which]]
        for which in ("meant", "not_so")
    )
    assert (yes, no) == (
        [{"line": 2, "bin": "copper-no2"}, {"line": 2, "bin": "copper-no1"}],
        [{"line": 2, "bin": "copper-no2"}],
    )
    for matches, bins, grade in ((yes, 2, "-0.80"), (no, 1, "0.00")):
        told = await settled(settling, body(unclear, *matches))
        assert (told["complete"], told["may_be_marked_down"]) == (True, [])
        assert max(len(one["bins"]) for one in told["groups"]) == bins
        assert told["effects"]["grade"] == grade
        assert told["difference"] == found["difference"]
        # 1.5 of 15 lb are missing, of both alike: 9 lb of No. 1 are there, 7 of them on its own line. It can
        # be that they are all of the one, or of the other.
        down = (
            "Between 0.68 kg (1 lb 8 oz) and 1.361 kg (3 lb) of Copper No. 1 was accepted as Copper No. 2: "
            "it is in line 2, with others. It is reckoned as 0.907 kg (2 lb), by which the bins there are "
            "off alike."
        )
        assert [one["says"] for one in told["marked_down"]] == ([down] if bins == 2 else [])
        assert any(one["says"].endswith(down) for one in told["groups"]) == (bins == 2)
    request = SettlementIn.model_validate(body(unclear, *yes)).request()
    then = json.loads((await settling.services.settlements.settle(request, "4")).answer.body)
    assert (then["marked_down"], then["effects"]["grade"]) == ([], "-0.80")


async def test_what_is_matched_by_hand_is_told_as_marked_down(settling: World) -> None:
    """Of a line that stands for a bin of a dearer grade by hand all that it weighs less deductions is told,
    or its share of that; one in a grade that is paid more is not marked down.
    """
    of = ticket(line("#2 Cu", "9", "3.10", "27.90"), total="27.90")
    no1 = {"bins": [{"grade": "copper-no1", "weight": "10 lb"}]}
    found = await settled(settling, body(of, {"line": 1, "bin": "copper-no1"}, **no1))
    SettlementOut.model_validate(found)
    (down,) = found["marked_down"]
    assert down == {
        "bin": "copper-no1",
        "accepted_as": "copper-no2",
        "lines": [1],
        "weight": {"kg": "4.08233133", "shown": "4.082 kg (9 lb)"},
        "least": None,
        "most": None,
        "says": "4.082 kg (9 lb) of Copper No. 1 was accepted as Copper No. 2: it is in line 1.",
    }
    both = [{"line": 1, "bin": each} for each in ("copper-no1", "copper-no2")]
    three = line("#2 Cu", "6.7", "3.10", "20.77", gross="7 lb", deduction="0.3 lb")
    found = await settled(settling, body(ticket(three, total="20.77"), *both, bins=BINS[:2]))
    (down,) = found["marked_down"]
    # Of 7 lb on the scale two thirds are No. 1, and of 0.3 lb that were deducted.
    assert down["weight"]["shown"] == "2.026 kg (4 lb 7.5 oz)"
    up = ticket(line("#1 Cu", "5", "3.50", "17.50"), total="17.50")
    found = await settled(settling, body(up, {"line": 1, "bin": "copper-no2"}, bins=BINS[1:2]))
    assert (found["marked_down"], found["effects"]["grade"]) == ([], "2.00")


@pytest.mark.parametrize(
    ("zeros", "no1", "no2", "down", "doubts"),
    [
        ("", "9", "6", 0, 0),
        (".0", "9", "6", 1, 0),
        (".0", "9.9", "5.1", 0, 0),
        (".0", "9.9", "5.2", 0, 0),
        (".0", "9.7", "5.2", 1, 0),
        (".0", "9.0", "5.2", 0, 1),
    ],
)
async def test_what_scales_leave_open_is_no_mark_down(
    settling: World, zeros: str, no1: str, no2: str, down: int, doubts: int
) -> None:
    """Weights that are written in whole pounds leave a pound open for each grade, weights in tenths a tenth;
    and half a per cent beside, unless both together weigh the same. What is beyond that is told. The iron
    tells that the tenths are weighed.
    """
    bins = [{"grade": one["grade"], "weight": one["weight"].replace(" ", f"{zeros} ")} for one in BINS]
    if zeros:
        bins[2]["weight"] = "50.3 lb"
    found = await settled(settling, body(sold(no1, no2), bins=bins))
    assert (len(found["marked_down"]), len(found["may_be_marked_down"])) == (down, doubts)


FINER: dict[str, tuple[dict[str, str], int]] = {
    "nothing": ({}, 0),
    "the gross weight": ({"gross": "6.0 lb"}, 1),
    "the tare": ({"gross": "8 lb", "tare": "2.0 lb"}, 1),
    "the deduction": ({"deduction": "0.0 lb"}, 1),
}


@pytest.mark.parametrize("finer", FINER)
async def test_the_step_of_a_scale_is_the_finest_digit_of_all_it_weighed(settling: World, finer: str) -> None:
    """A pound is short of No. 1 and over of No. 2, net in whole pounds, which leaves it open; where any other
    weight is in tenths the scale shows tenths. All that it showed is whole pounds all the same, as of a scale
    that prints more than it weighs: so it is in doubt, and by method 5 was told as marked down.
    """
    more, off = FINER[finer]
    asked = body(sold("9", "6", **more))
    found = await settled(settling, asked)
    assert (found["marked_down"], len(found["may_be_marked_down"])) == ([], off)
    request = SettlementIn.model_validate(asked).request()
    then = json.loads((await settling.services.settlements.settle(request, "5")).answer.body)
    assert (len(then["marked_down"]), then["may_be_marked_down"]) == (off, [])


async def test_it_is_kept_and_repeated(settling: World) -> None:
    """Replayed with its pins it is the same bytes."""
    name = await kept(settling, body(sold("7", "8")))
    headers = await settling.key("wren")
    read = await settling.client.get(f"/v1/settlements/{name}", headers=headers)
    again = await settling.client.post(f"/v1/settlements/{name}/replay", headers=headers)
    assert (again.status_code, again.content) == (200, read.content)
    assert again.json()["marked_down"] != []
