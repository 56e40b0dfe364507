"""What the solver proposes, held against all plans in whole numbers, where its floats are not fine enough.

What is proved here is so whatever the solver says: see `exact`. Each plan that it points at is reckoned, and
counts or is left out; where there is none left to point at, what is known is the best.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import NamedTuple

from gradewright.core.haul.begin import best_of
from gradewright.core.haul.exact import Judged
from gradewright.core.haul.found import Best
from gradewright.core.haul.model import Model
from gradewright.core.haul.plan import Haul, Plan, Reckoned, reckon, tidied
from gradewright.core.haul.solver import Number, Row


class Aim(NamedTuple):
    """What a plan is to have the most of: as an objective, and as it is worked out."""

    objective: Mapping[int, Number]
    comes_to: Callable[[Reckoned], int]


def held(
    haul: Haul, model: Model, best: Best, seconds: float, rows: Iterable[Row] = ()
) -> tuple[Best, float]:
    """The best of all plans that rows allow, from one of them on, proved where the work was enough; and the
    seconds that it stands for.
    """
    aim = Aim(model.worth(), lambda reckoned: reckoned.worth)
    plan, finished, spent = _most(haul, model, best.plan, aim, rows, seconds)
    left = reckon(haul, plan).worth
    found = replace(best, plan=plan, worth=left, bound=max(left, best.bound))
    return replace(found, bound=left, doubted=False) if finished else found, spent


def lightest_plan(haul: Haul, model: Model, first: Best, seconds: float) -> tuple[Best, float]:
    """Of the plans that leave as much, the one that asks for the least; and the seconds."""
    heaviest = model.lightness_of(reckon(haul, first.plan))

    def lightness(reckoned: Reckoned) -> int:
        return model.lightness_of(reckoned) if reckoned.worth >= first.worth else heaviest

    aim, same = Aim(model.lightness(), lightness), model.leaves(first.worth)
    plan, _, spent = _most(haul, model, first.plan, aim, (same,), seconds)
    return replace(first, plan=plan), spent


def above(haul: Haul, model: Model, worth: int, seconds: float) -> Reckoned | None:
    """A plan that leaves more than so much, None where none was found."""
    found: list[Reckoned] = []

    def judged(plan: Plan) -> Judged:
        found.extend(each for each in _reckoned(haul, plan) if each.worth > worth)
        return None if found else (worth + 1, [model.but_for(plan)])

    model.searched(model.worth(), worth + 1, seconds, judged)
    return found[0] if found else None


def _most(
    haul: Haul, model: Model, known: Plan, aim: Aim, rows: Iterable[Row], seconds: float
) -> tuple[Plan, bool, float]:
    """The plan with the most of an aim, from one on; whether that is proved; the seconds."""
    found = [reckon(haul, known)]

    def judged(plan: Plan) -> Judged:
        more = [each for each in _reckoned(haul, plan) if aim.comes_to(each) > aim.comes_to(found[-1])]
        found.extend(more)
        return aim.comes_to(found[-1]) + 1, [model.but_for(plan)]

    finished, spent = model.searched(aim.objective, aim.comes_to(found[0]) + 1, seconds, judged, rows)
    return found[-1].plan, finished, spent


def _reckoned(haul: Haul, plan: Plan) -> list[Reckoned]:
    """A plan worked out, tidied; none where it cannot be made, and only a margin has let it in."""
    found = best_of(haul, [tidied(haul, plan)])
    return [] if found is None else [found]
