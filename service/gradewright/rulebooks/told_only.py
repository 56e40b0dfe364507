"""Where a rule forgets that it asks for what is told of some things only."""

from __future__ import annotations

from collections.abc import Iterator

from gradewright.core.decision import DecisionIndex
from gradewright.core.errors import Fault
from gradewright.core.rulebook import Rulebook
from gradewright.core.told_of import outside
from gradewright.rulebooks.reach import Search


def about_others(rulebook: Rulebook, index: DecisionIndex) -> Iterator[Fault]:
    """Rules that ask for such an observation and could be about another thing.

    Where it is not told of that one, nothing would keep the rule from taking it.
    """
    search, told_of = Search(index), list(outside(rulebook.told_of, rulebook.attributes))
    anyway = index.impossible_bits & index.anyway
    for number, rule in enumerate(rulebook.rules):
        asked = {condition.attribute for condition in rule.when}
        left = {
            name: entry.id
            for entry, name, when in told_of
            if name in asked and search.some_part((*rule.when, *when), anyway)
        }
        for name, why in left.items():
            detail = f"rule {rule.id}: {name} is told of some things only (told_of {why}): ask for these too"
            yield Fault(detail, ("rules", number, "when"))
