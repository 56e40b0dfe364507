"""An order of rules that the version before did not have is told with the check of a draft."""

from __future__ import annotations

from typing import Any

import pytest

from gradewright.rulebooks import proof
from tests.api import Body
from tests.drafts.desk import NEXT, Desk
from tests.samples import document


def overlapping(**own: str) -> Body:
    """The small rulebook, where thick steel begins at 3 mm and thin steel ends at the limit: the first of the
    two rules decides in between."""
    made = document(**own, title=f"With thinner heavy steel, {own['version']}")
    made["grades"]["copper-no2"]["by_name_only"] = True
    made["rules"][2]["when"]["thickness"] = {"at_least": "3 mm"}
    made["examples"] = [example for example in made["examples"] if example["part"].get("metal") != "steel"]
    return made


@pytest.fixture
async def base(desk: Desk) -> Body:
    """A version with one pair of rules whose order decides, published on the first one."""
    made = overlapping(version="2021.1", effective_from="2021-01-01", summary="Thinner.")
    await desk.world.publish(made)
    return made


async def noted(desk: Desk, made: Body) -> list[str]:
    """What the check of a document on that base notes of the order of its rules."""
    name = (await desk.make(body={"document": made}, base="2021.1"))["id"]
    found = await desk.check(name)
    assert found["proved"], found["faults"]
    assert found["pairs"]
    return [note for note in found["notes"] if note.startswith("Rule ")]


async def test_an_order_that_is_kept_is_not_told(desk: Desk, base: Body) -> None:
    """A draft with the pairs of its base, and nothing new among them, has no note of any."""
    assert await noted(desk, {**base, **NEXT}) == []


async def test_a_rule_that_is_moved_up_is_told(desk: Desk, base: Body) -> None:
    """Two rules that have changed places are told with a part that meets both, and what the base had."""
    made = {**base, **NEXT}
    made["rules"][2:] = reversed(made["rules"][2:])
    (note,) = await noted(desk, made)
    assert note.startswith(
        "Rule thin-steel (light-iron) decides before thick-steel (steel-heavy), of a part "
    )
    assert '{"metal": "steel", "thickness": "' in note
    assert note.endswith("In version 2021.1 it is the other way round. See that it is meant so.")


async def test_a_new_pair_is_told_and_no_old_one(desk: Desk, base: Body) -> None:
    """A rule that takes from another by its order alone is told; the pair that was there before is not."""
    made = {**base, **NEXT}
    thinner = {"metal": "steel", "thickness": {"below": "1 mm"}}
    made["rules"].insert(3, {**made["rules"][2], "id": "thinner", "when": thinner})
    (note,) = await noted(desk, made)
    assert note.startswith("Rule thinner (steel-heavy) decides before thin-steel (light-iron), of a part ")
    assert note.endswith("Version 2021.1 has no such pair. See that it is meant so.")


async def test_the_base_is_proved_once(desk: Desk, base: Body, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the base has is looked up where its proof is kept; a draft without pairs asks for none."""
    proved: list[str] = []
    plain = proof.prove

    def counted(rulebook: Any, *args: Any) -> proof.Proof:
        proved.append(rulebook.version)
        return plain(rulebook, *args)

    monkeypatch.setattr(proof, "prove", counted)
    without = document(**NEXT, title="Without any pair")
    without["grades"]["copper-no2"]["by_name_only"] = True
    made = await desk.make(body={"document": without}, base="2021.1")
    assert (await desk.check(made["id"]))["pairs"] == []
    assert proved == ["2027.1"]
    for title in ("One", "Another"):
        await noted(desk, {**base, **NEXT, "title": title})
    assert sorted(proved) == ["2021.1", "2027.1", "2027.1", "2027.1"]
