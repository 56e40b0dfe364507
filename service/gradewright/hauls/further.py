"""Whether something stays at home only because there are no more trips."""

from __future__ import annotations

from dataclasses import replace

from gradewright.core.haul.plan import Haul, NoSuchPlan, Place, Reckoned, reckon
from gradewright.hauls.question import MOST_TRIPS, Question

BOUND_UNSAID = frozenset({"1", "2"})
"""The methods that told nothing of how many trips there are at most where that is why something stays."""


def all_made(question: Question, found: Reckoned) -> bool:
    """Whether a load is limited and a plan makes all the trips that there may be."""
    limited = question.method not in BOUND_UNSAID and question.load is not None
    return limited and found.trips == question.trips


def alone(question: Question, found: Reckoned, number: int) -> int:
    """What as much of a bin as a trip carries would leave at best on one of its own, of what stays of it;
    nothing where that is no more, or where there are trips left.
    """
    haul = question.haul
    if not all_made(question, found):
        return 0
    lots = zip(haul.lots, found.plan, strict=True)
    kept = [lot for lot, place in lots if lot.bin == number and place is None]
    best = 0
    for many in range(1, len(kept) + 1):
        some = replace(haul, lots=tuple(kept[:many]), trips=1)
        for buyer in range(len(haul.buyers)):
            for grade in kept[0].grades:
                best = max(best, _worth(some, Place(0, buyer, grade)))
    return best


def within(question: Question) -> str:
    """Of which plans it is told that none is better: those with so many trips."""
    return f" with at most {question.trips} trip{'s'[: question.trips != 1]}"


def how_many(question: Question) -> str:
    """What to do where there are no more trips."""
    do = "Allow more of them." if question.trips < MOST_TRIPS else "Ask again for what stays."
    return f"there are {question.trips} at most. {do}"


def _worth(haul: Haul, place: Place) -> int:
    try:
        return reckon(haul, tuple(place for _ in haul.lots)).worth
    except NoSuchPlan:  # more than a trip carries, or too little for a price there
        return 0
