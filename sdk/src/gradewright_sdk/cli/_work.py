"""Work that would raise a part, for people: what it becomes, what is taken off and lost, and how to do it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gradewright_sdk.cli._show import minutes, number, weight

if TYPE_CHECKING:
    from gradewright_sdk._models import Raise, Shed

MOST_OF_ALL = ("in all",)


def work(one: Raise) -> str:
    """It in a few sentences; the steps are numbered where there are several."""
    told = ["adds the most in all."] if one.best == MOST_OF_ALL else []
    if one.about_pieces is not None:
        told.append(f"takes the time of some {one.about_pieces}, as no one weighs that: give their count.")
    if one.grade:
        left = f" ({weight(one.kept_kg)})" if one.kept_kg is not None and (one.shed or one.lost_kg) else ""
        told.append(f"becomes {one.grade_name or one.grade}{left}.")
    told += [f"Beside it {_shed(each)}." for each in one.shed]
    if one.lost_kg:
        told.append(f"{weight(one.lost_kg)} is lost.")
    if len(one.steps) > 1:
        told += [f"{n}. {step.how} ({minutes(step.minutes)})" for n, step in enumerate(one.steps, 1)]
    elif one.how:
        told.append(one.how)
    return " ".join(told)


def _shed(each: Shed) -> str:
    worth = f", {number(each.amount)}" if each.amount is not None else ", which has no price"
    return f"{each.grade_name} ({weight(each.weight_kg)}{worth})"
