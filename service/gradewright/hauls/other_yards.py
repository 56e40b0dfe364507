"""What is said of the best of another choice of yards: what is proved, what was found, and what was not."""

from __future__ import annotations

from collections.abc import Callable

from gradewright.core.haul.found import Best, Told

BOUND_UNSAID = frozenset({"1"})
"""The methods by which it had the words of the first choice, and its bound was "or less than that"."""


def found_less(going: str, told: Told, second: Best, money: Callable[[int], str], method: str) -> str:
    """What the second choice leaves less: so much where that is proved, else between what and what."""
    less, least = told.best.worth - second.worth, told.best.worth - second.bound
    leaves = f"{going} leaves {f'{money(less)} less' if less else 'the same'}"
    if second.proved:
        return f"{leaves}."
    if method in BOUND_UNSAID:
        return f"{leaves}, or less than that."
    if least < 0:
        more = f"none leaves more than {money(-least)} above what this plan leaves"
        return f"{leaves}, by the best plan found; of any other choice of yards {more}."
    between = f"between {money(least)} and {money(less)} less"
    return f"{leaves}, by the best plan found; the best of any other choice of yards leaves {between}."


def none_found(told: Told, method: str) -> str:
    """That there is none, or that none was found."""
    if told.looked:
        return "There is no other choice of yards."
    if method in BOUND_UNSAID:
        return "None was found in the time given."
    within = "time" if told.by_clock else "work"
    return f"No plan for another choice of yards was found in the {within} given. There may be one."


def of_these(method: str) -> str:
    """Of which plans a bound of the second choice speaks."""
    return "" if method in BOUND_UNSAID else " with another choice of yards"
