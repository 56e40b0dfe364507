"""What moves between two versions at a place with limits of its own, and by the versions' own does not.

By the solver, over all parts, at just the values that the place has said: for those who have to know whom a
draft concerns. Whether some place could have such a value is told by `comparison_places`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import z3

from gradewright.core.house_limits import HouseLimit, under
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.comparer import End
from gradewright.rulebooks.comparison_twice import Twice

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
    there = Twice((old_there, new_there), (old, new), renamed)
    none = there.ends[id(there.new)][End("no-grade")]
    moved = there.pairs_of_ends(z3.And(there.moved_there(there.moves_anyway(), graded=True), z3.Not(none)))
    for count, (came, goes, both, model) in enumerate(moved):
        if count == MOST_TOLD:
            yield "And more."
            return
        yield there.shown(came, goes, both, model).ways[0].says
