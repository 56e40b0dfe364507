"""What a draft would change at places that have limits of their own, and nowhere else."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Sequence

from gradewright.collector import gives_back
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.names import new_slugs
from gradewright.rulebooks.page_words import listed
from gradewright.rulebooks.proofs import Limits

MOST_KNOWN = 256
MOST_NAMED = 5
GRADING = ("attributes", "impossible", "largest_first", "rules")


class AtPlaces:
    """Finds it out once for each two versions and set of limits: a second or two of a processor."""

    def __init__(self) -> None:
        self._known: OrderedDict[tuple[object, ...], tuple[str, ...]] = OrderedDict()

    async def moved(
        self, before: Rulebook, after: Rulebook, whose: Sequence[Sequence[Limits]]
    ) -> tuple[str, ...]:
        """A sentence for each set of limits under which parts move that by the versions' own do not; of each
        the words of all who say it."""
        if all(getattr(before, name) == getattr(after, name) for name in GRADING):
            return ()
        found = [(said, await self._of(before, after, said[0])) for said in whose]
        return tuple(
            f"{_at(said)}, and not where the rulebook's own limits hold: {' '.join(told)}"
            for said, told in found
            if told
        )

    async def _of(self, before: Rulebook, after: Rulebook, own: Limits) -> tuple[str, ...]:
        values = tuple((limit.name, limit.given) for limit in own)
        key = before.sha256, after.sha256, values
        if key not in self._known:
            self._known[key] = await asyncio.to_thread(gives_back()(_found), before, after, own)
            while len(self._known) > MOST_KNOWN:
                self._known.popitem(last=False)
        return self._known[key]


def _found(before: Rulebook, after: Rulebook, own: Limits) -> tuple[str, ...]:
    from gradewright.rulebooks.at_place import moves_there  # the solver, loaded where it is needed

    return tuple(moves_there(before, after, new_slugs(before, after), own))


def _at(whose: Sequence[Limits]) -> str:
    """Where these limits hold, such as "At Low Quay (heavy_steel_thickness 8 mm)"."""
    names = dict.fromkeys(listed((each.within for each in own), "and") for own in whose)
    more = f" and {len(names) - MOST_NAMED} more such places" if len(names) > MOST_NAMED else ""
    at = f"{', '.join(list(names)[:MOST_NAMED])}{more}"
    values = ", ".join(f"{each.name} {each.given}" for each in whose[0])
    return f"{at[0].upper()}{at[1:]} ({values})"
