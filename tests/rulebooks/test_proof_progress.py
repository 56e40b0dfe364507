"""What a proof tells while it is worked out: always what is looked at now, and how far that is."""

from __future__ import annotations

from tests.rulebooks.test_proof import house, small

from gradewright.rulebooks.document import read
from gradewright.rulebooks.proof import Proof, prove

LOOKED_AT = ["rules", "conditions", "preparations", "parts without an answer"]


def heard(limits: list[str]) -> tuple[list[tuple[str, int, int]], Proof]:
    """All that the proof of the small rulebook tells, under so many sets of limits besides its own."""
    told: list[tuple[str, int, int]] = []
    houses = [[house(given)] for given in limits]
    proof = prove(read(small()), houses, lambda what, done, of: told.append((what, done, of)))
    return told, proof


def test_each_thing_that_is_looked_at_is_told_in_its_order() -> None:
    """Under its own limits, and under those of each place, by the number of the set of limits."""
    told, _ = heard(["8 mm", "9 mm"])
    there = [f"limits of places, {number} of 2: {what}" for number in (1, 2) for what in LOOKED_AT]
    assert list(dict.fromkeys(what for what, _, _ in told)) == [*LOOKED_AT, *there, "pairs of rules"]


def test_it_moves_while_limits_of_a_place_are_looked_at() -> None:
    """Under a place's limits as many steps are told as under its own, each on from the one before."""
    told, _ = heard(["8 mm"])
    own = [step for step in told if step[0] in LOOKED_AT]
    there = [(what.partition(": ")[2], done, of) for what, done, of in told if what.startswith("limits")]
    assert len(own) > len(LOOKED_AT)
    assert there == own
    assert all(0 <= done <= of for _, done, of in told)


def test_hearing_changes_nothing() -> None:
    """What is found is the same whoever listens."""
    assert heard(["8 mm"])[1] == prove(read(small()), [[house("8 mm")]])
