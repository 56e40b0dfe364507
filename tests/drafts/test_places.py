"""What a draft changes at places that have limits of their own, and nowhere else: the check tells it."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from gradewright.accounts.service import Role
from gradewright.core.house_limits import HouseLimit
from gradewright.core.observations import Kind
from gradewright.core.rulebook import Bound, Condition, Grade, Limit, Rulebook, When
from gradewright.drafts import places
from gradewright.rulebooks.at_place import moves_there
from gradewright.rulebooks.document import read
from tests.api import small_rulebook
from tests.core.rulebooks import attribute, rulebook
from tests.drafts.desk import RAIL, SEDGE, Desk

LINE = "heavy_steel_thickness"
STEEL = {"observed": {"metal": "steel", "thickness": "7 mm"}, "yard": "low-quay"}


async def says(desk: Desk, place: str, value: str) -> None:
    """A place says where heavy steel begins there."""
    said = {"reason": "The sign.", "from": "2026-05-01", "limits": [{"limit": LINE, "value": value}]}
    added = await desk.world.send(f"/v1/{place}/house-rules", said, SEDGE, Role.MAINTAINER)
    assert added.status_code == 201, added.text


async def silenced(desk: Desk, *, copper: bool, line: str = "6.35 mm") -> str:
    """A draft whose rules have a value in the place of the limit, which a caution still asks for; with
    `copper`, another grade moves everywhere."""
    made = await desk.make()
    document: dict[str, Any] = (await desk.read(made["id"]))["document"]
    rules = json.loads(json.dumps(document["rules"]).replace(LINE, line))
    steel = {"metal": "steel", "thickness": {"below": LINE}}
    thin = {"name": "Thin", "when": [steel], "says": "Sharp.", "source": "made for tests"}
    patch: dict[str, Any] = {"rules": rules, "cautions": {"thin": thin}, "examples": []}
    if copper:
        rules[0]["grade"] = "screws"
        patch["grades"] = {"copper-residue": {"by_name_only": True}, "screws": {"by_name_only": None}}
    patched = await desk.patch(made["id"], patch, made["etag"])
    assert patched.status_code == 200, patched.text
    name: str = made["id"]
    return name


async def told(desk: Desk, name: str) -> list[str]:
    """What the check of a draft tells of places."""
    found = await desk.check(name)
    assert found["sound"], found["faults"]
    return [note for note in found["notes"] if "own limits hold" in note]


@pytest.mark.parametrize(("copper", "line"), [(False, "6.35 mm"), (True, "6.35 mm"), (False, "5 mm")])
async def test_a_word_of_a_place_that_would_fall_silent_is_told(desk: Desk, copper: bool, line: str) -> None:
    """With the place and a part, whatever else moves, be it between the same grades; and that part changes
    its grade there, as it says."""
    await says(desk, "yards/low-quay", "8 mm")
    name = await silenced(desk, copper=copper, line=line)
    [note] = await told(desk, name)
    start, part = note.split(": ", 1)
    assert start == f"At Low Quay ({LINE} 8 mm), and not where the rulebook's own limits hold"
    assert part.startswith("Metal steel, thickness ")
    assert 6.35 <= float(part.split()[3]) < 8
    assert part.endswith(": was Light iron, is now Heavy steel.")
    before = (await desk.world.send("/v1/gradings", {**STEEL, "on": "2026-12-31"})).json()["grade"]
    for step, who in (("submission", SEDGE), ("approval", RAIL)):
        taken = await desk.step(name, step, who)
        assert taken.status_code in (200, 201), taken.text
    after = (await desk.world.send("/v1/gradings", {**STEEL, "on": "2027-01-01"})).json()["grade"]
    assert (before, after) == ("light-iron", "steel-heavy")


async def test_what_moves_everywhere_or_nowhere_is_not_told_of_a_place(desk: Desk) -> None:
    """No place has a word; or its word is the rulebook's own; or the line itself moves, also elsewhere."""
    name = await silenced(desk, copper=False)
    assert await told(desk, name) == []
    await says(desk, "yards/low-quay", "6.35 mm")
    assert await told(desk, name) == []
    moved = await silenced(desk, copper=False, line="6.35 mm")
    await says(desk, "yards/cinder-lane", "6.350 mm")
    assert await told(desk, moved) == []


async def test_it_is_found_out_once_for_each_limits(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever checks again, or takes a step after it, does not wait for it again."""
    asked: list[object] = []
    found = places._found
    monkeypatch.setattr(places, "_found", lambda *each: asked.append(each[2]) or found(*each))
    await says(desk, "yards/low-quay", "8 mm")
    name = await silenced(desk, copper=False)
    for _ in range(2):
        assert len(await told(desk, name)) == 1
    assert len(asked) == 1
    await says(desk, "yards/cinder-lane", "8 mm")
    [note] = await told(desk, name)
    assert note.startswith(f"At Cinder Lane, at Low Quay ({LINE} 8 mm), and not")
    assert len(asked) == 1
    await says(desk, "regions/XO", "9 mm")
    assert len(await told(desk, name)) == 2
    assert len(asked) == 2


async def test_a_limit_that_is_taken_out_is_told_too(desk: Desk) -> None:
    """Under another name it is another one: what a place says of the first counts no more."""
    await says(desk, "yards/low-quay", "8 mm")
    made = await desk.make()
    document: dict[str, Any] = (await desk.read(made["id"]))["document"]
    other = json.loads(json.dumps(document).replace(LINE, "thick_steel"))
    patch = {name: other[name] for name in ("rules", "impossible", "preparations") if name in other}
    patch |= {"limits": {LINE: None, **other["limits"]}, "cautions": other["cautions"]}
    patched = await desk.patch(made["id"], patch, made["etag"])
    assert patched.status_code == 200, patched.text
    [note] = await told(desk, made["id"])
    assert note.startswith(
        f"At Low Quay ({LINE} 8 mm), and not where the rulebook's own limits hold: Metal steel"
    )


async def test_what_is_said_for_days_after_the_end_is_not_told(desk: Desk) -> None:
    """Another version is in force by then, published already."""
    later = {
        "version": "2028.1",
        "effective_from": "2028-01-01",
        "summary": "The third.",
        "title": "The third",
    }
    await desk.world.publish(small_rulebook(**later))
    said = {"reason": "The sign.", "limits": [{"limit": LINE, "value": "8 mm"}]}
    name = await silenced(desk, copper=False)
    for day, count in (("2028-01-01", 0), ("2027-12-31", 1)):
        body = {**said, "from": day}
        added = await desk.world.send("/v1/yards/low-quay/house-rules", body, SEDGE, Role.MAINTAINER)
        assert added.status_code == 201, added.text
        assert len(await told(desk, name)) == count


async def test_what_was_found_is_of_just_these_documents(desk: Desk) -> None:
    """Another draft of the same limits, and the same one on another base, are looked at for themselves."""
    await says(desk, "yards/low-quay", "8 mm")
    silent, moved = await silenced(desk, copper=False), await silenced(desk, copper=False, line="8 mm")
    assert len(await told(desk, silent)) == 1
    assert await told(desk, moved) == []
    before = await desk.world.services.rulebooks.get("2020.1")
    after = (await desk.world.services.drafts.document(await desk.world.services.drafts.get(silent))), silent
    looked_at = places.AtPlaces()
    limits = (await desk.world.services.drafts._proofs.houses(before.rulebook, date.max)).whose
    book = read(after[0])
    assert len(await looked_at.moved(before.rulebook, book, limits)) == 1
    assert await looked_at.moved(book, book, limits) == ()
    back = await looked_at.moved(book, before.rulebook, limits)
    assert len(back) == 1
    assert back[0].endswith("was Heavy steel, is now Light iron.")
    other = read({**after[0], "rules": json.loads(json.dumps(after[0]["rules"]).replace("6.35 mm", "5 mm"))})
    assert await looked_at.moved(other, book, limits) == ()


def test_of_many_moves_at_a_place_a_few_are_told() -> None:
    """And that there are more; where a grade is another slug by now, it has not moved; what had none is no
    loss to anyone."""
    metals = ("copper", "tin", "zinc", "lead")
    asked = [attribute("metal", Kind.CHOICE, metals), attribute("thick", Kind.LENGTH)]

    def book(limit: str | None, least: int = 0, thin: str | None = "thin") -> Rulebook:
        line = Bound(Decimal(6), "6 mm", limit)
        rules = [
            ((Condition("metal", (metal,)), Condition("thick", at_least=line)), f"{metal}-thick")
            for metal in metals[least:]
        ]
        rest: list[tuple[When, str]] = [] if thin is None else [((), thin)]
        made = rulebook(asked, [*rules, *rest])
        grades = {grade: Grade(grade, grade, "any", "-") for _, grade in [*rules, *rest]}
        return replace(made, limits={"line": Limit("line", Decimal(6), "6 mm", "-", "-")}, grades=grades)

    limits = [HouseLimit("line", "8 mm", "low-quay", "at Low Quay", date(2026, 1, 1))]
    told = list(moves_there(book("line"), book(None), {}, limits))
    assert (len(told), told[-1]) == (4, "And more.")
    assert all(": was thin, is now " in each and ", thick " in each for each in told[:3]), told
    assert len(list(moves_there(book("line", 1), book(None, 1), {}, limits))) == 3
    assert list(moves_there(book("line"), book("line", thin="other"), {"thin": "other"}, limits)) == []
    assert list(moves_there(book("line", thin=None), book(None, thin=None), {}, limits)) == []
