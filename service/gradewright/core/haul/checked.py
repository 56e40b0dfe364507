"""What the solver says, held against what is known: it can be wrong, and says so of nothing.

The presolve of HiGHS 1.16 loses choices of some hauls, and then calls a worse one the best, or says that
there is none. So it is left out; and where what comes back contradicts what is known, or itself, it is asked
again in other ways. Where all of them do, there is the best choice that any has found, and no bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import isnan

from gradewright.core.haul.solver import INFINITY, Asked, Found, Guard, Options, solve

TOLERANCE = 1e-6
"""How far off, of what is summed up, a number of the solver may be."""
WAYS: tuple[Options, ...] = (
    {"presolve": "off"},
    {"presolve": "off", "mip_detect_symmetry": False, "mip_heuristic_effort": 0.0, "random_seed": 21},
    {"presolve": "on", "presolve_rule_off": 1 << 16},
)
"""How the solver is asked, one after the other. The rule that the last leaves out, the seventeenth, tries all
values of a few columns: without it presolving lost no plan of the hauls in which it was seen to lose some."""


def checked(asked: Asked, seconds: float, guard: Guard, known: float | None) -> Found:
    """What the first of the ways says that agrees with what is known, and with itself. That there is no
    choice at all is asked a second time. `known`: what some choice comes to, in these columns or not.
    """
    best, spent, doubted, nothing = asked.begun(), 0.0, False, False
    for number, way in enumerate(WAYS):
        found = solve(replace(asked, start=None) if number else asked, seconds - spent, guard, way)
        spent += found.seconds
        if found.columns is not None and asked.holds(found.columns):
            best = found.columns if best is None else max(best, found.columns, key=asked.comes_to)
            doubted, nothing = doubted or nothing, False
        if not _agrees(asked, found, best, known):
            doubted = True
        elif found.columns is None and (nothing or found.finished):
            if nothing:
                break
            nothing = True
        elif found.seconds or not doubted:
            return found._replace(seconds=spent)
    if nothing and (not doubted or found.finished):
        return Found(None, -INFINITY, spent, True)
    return Found(best, INFINITY, spent, False, True)


def _agrees(asked: Asked, found: Found, best: Sequence[float] | None, known: float | None) -> bool:
    """Whether what was found can be so, beside the best choice that is known."""
    if found.doubted or isnan(found.bound):
        return False
    worths = [each for each in (known, None if best is None else asked.comes_to(best)) if each is not None]
    if found.columns is None and found.finished:
        return not worths
    if any(below(found.bound, worth) for worth in worths):
        return False
    if found.columns is None:
        return True
    came_to = asked.comes_to(found.columns)
    near_enough = found.bound - came_to <= asked.gap + TOLERANCE * max(1.0, abs(came_to))
    return asked.holds(found.columns) and (near_enough or not found.finished)


def below(bound: float, worth: float) -> bool:
    """Whether a bound is less than what something comes to, by more than the solver's numbers may be off."""
    return isnan(bound) or bound < worth - TOLERANCE * max(1.0, abs(worth))
