"""What is told where the solver was wrong: a right plan by the newest method, or one that nothing proves."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from gradewright.core.haul.best import best
from gradewright.core.haul.found import Best, GoesFrom, Told
from gradewright.core.haul.solver import Guard
from gradewright.hauls import service
from gradewright.hauls.schemas import HaulIn
from tests.api import World, price
from tests.hauls.asking import PATH, bin_of, hauled, open_yards

KEPT: dict[str, Any] = {
    "yards": ["tern-row"],
    "bins": [bin_of("brass-yellow", "4 lb")],
    "costs": {"trip": "10"},
    "hold_back": True,
    "keep": True,
}


async def test_what_the_solver_calls_impossible_is_planned(world_without_rulebook: World) -> None:
    """Three bins at two yards whose prices rise: earlier methods had no answer, as the solver lost the plans
    of another choice of yards. Both choices are as they were counted by hand.
    """
    world = await open_yards(world_without_rulebook)
    iron, heavy = "light-iron", "steel-heavy-no2"
    for yard, paid in {
        "low-quay": [(heavy, 0, "0.75"), (iron, 0, "-0.09"), (iron, 25, "0.18"), (iron, 34, "0.60")],
        "tern-row": [(heavy, 0, "0.30"), (heavy, 21, "0.34"), (iron, 0, "0.04"), (iron, 47, "0.17")],
    }.items():
        prices = [
            price(grade, cents, per="kg", **({"from_weight": f"{least} kg"} if least else {}))
            for grade, least, cents in paid
        ]
        await world.post(*prices, yard=yard, on="2027-05-04")
    bins = [bin_of(iron, "15 kg", "one"), bin_of(heavy, "15 kg", "two"), bin_of(iron, "18 kg", "three")]
    asked = {
        "yards": ["low-quay", "tern-row"],
        "costs": {"trip": "4.26", "stop": "1.11", "pile": "0.36", "stop_at": {"tern-row": "0.81"}},
        "trips": 2,
    }
    request = HaulIn.model_validate({**asked, "bins": bins}).request()
    with pytest.raises(ValueError, match="NaN"):
        await world.services.hauls.haul(request, "3")
    found = await hauled(world, *bins, **asked)
    # All as light iron at Low Quay: 48 kg at 0.60, less 4.26 and 1.11.
    assert (found["left"]["likely"], found["proof"]["proved"]) == ("23.43", True)
    # Number 2 there at 0.75, the iron at Tern Row at 0.04 (0.60 and 0.72), less 4.26, 1.11 and 0.81.
    assert (found["second"]["left"], found["second"]["proof"]["proved"]) == ("6.39", True)


async def test_what_nothing_proves_is_told_and_kept_so(yards: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the solver contradicts itself, the answer says so, and not that there was too little work; kept,
    it is repeated as it was.
    """
    home = Best((None,), 0, 800, doubted=True)
    told = Told(home, replace(home, bound=600), True, {}, False)
    monkeypatch.setattr(service, "_best", lambda *_: told)
    first = await yards.send(PATH, KEPT)
    monkeypatch.undo()
    assert first.status_code == 201, first.text
    proof, second = first.json()["proof"], first.json()["second"]["proof"]
    assert proof["proved"] is second["proved"] is False
    wrong = "The solver contradicts itself on this haul, so nothing is proved; none leaves more than"
    assert proof["says"] == f"The best plan found. {wrong} 8.00 above it."
    assert second["says"] == f"The best plan with another choice of yards found. {wrong} 6.00 above it."
    assert [kept["says"] for kept in first.json()["kept"]] == ["The best plan found keeps it."]
    replayed = await yards.client.post(f"{PATH}/{first.headers['haul-id']}/replay")
    assert (replayed.status_code, replayed.content) == (200, first.content)


async def test_a_weight_that_was_not_found_is_not_called_none(
    yards: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the work was too little to tell from which weight on something goes, that is said, and not that
    no weight changes it.
    """

    def unlooked(haul: Any, seconds: int, stopped: Any) -> Told:
        return replace(best(haul, seconds, stopped), goes_from={0: GoesFrom(None, False)})

    monkeypatch.setattr(service, "_best", unlooked)
    first = await yards.send(PATH, KEPT)
    monkeypatch.undo()
    (kept,) = first.json()["kept"]
    not_found = "From which weight on it would go was not found; perhaps from none."
    assert kept["says"] == f"Taking it leaves no more than keeping it. {not_found}"
    assert (kept["why"], kept["goes_from"]) == ("not-worth", None)
    replayed = await yards.client.post(f"{PATH}/{first.headers['haul-id']}/replay")
    assert (replayed.status_code, replayed.content) == (200, first.content)


async def test_a_kept_haul_is_held_as_its_method_held_it(
    yards: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A replay looks for a better plan as the method did that called one the best: methods 1 to 3 took the
    solver at its word, and methods up to 4 held nothing in whole numbers.
    """
    hauls, asked = yards.services.hauls, {**KEPT, "keep": False}
    taken = []
    init = Guard.__init__

    def watched(self: Guard, *of: Any, **more: Any) -> None:
        init(self, *of, **more)
        taken.append((self.unchecked, self.rough))

    monkeypatch.setattr(Guard, "__init__", watched)
    for method, taken_so in (("3", (True, True)), ("4", (False, True)), ("5", (False, False))):
        worked = await hauls.haul(HaulIn.model_validate(asked).request(), method)
        kept = await hauls.keeping.keep(worked.asked, worked.answer)
        taken.clear()
        await hauls.replay(kept.id)
        assert taken == [taken_so]
