"""What moves between two versions at a place with limits of its own, and by the versions' own does not.

By the solver, over all parts, at just the values that the place has said: for those who have to know whom a
draft concerns. Whether some place could have such a value is told by `comparison_places`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import z3

from gradewright.core.house_limits import HouseLimit, under
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.comparer import Comparer, End

MOST_TOLD = 3


def moves_there(
    old: Rulebook, new: Rulebook, renamed: Mapping[str, str], limits: Sequence[HouseLimit]
) -> Iterator[str]:
    """Each such move in a sentence, with a part that shows it: a few, and that there are more.

    Told are parts that have a grade at the place by the first version, but for those that have none by the
    second: such a version has a fault, and is told it. `renamed`: slugs of grades that are others now.
    """
    (old_there, own_before), (new_there, own_after) = under(old, limits), under(new, limits)
    if not own_before and not own_after:
        return
    usual, there = Comparer(old, new, renamed), Comparer(old_there, new_there, renamed)
    every = z3.Not(usual.same)
    known = {(came, goes) for came, goes, _, _ in usual.pairs_of_ends(every)}
    before, after = (there.ends[id(side)] for side in (there.old, there.new))
    graded = there.parts.any_of(formula for end, formula in before.items() if end.grade)
    told = there.parts.any_of(z3.And(before[came], after[goes]) for came, goes in known)
    none = after[End("no-grade")]
    others = there.pairs_of_ends(z3.And(z3.Not(there.same), graded, z3.Not(none), z3.Not(told)))
    for count, (came, goes, both, model) in enumerate(others):
        if count == MOST_TOLD:
            yield "And more."
            return
        yield there.shown(came, goes, both, model).ways[0].says
