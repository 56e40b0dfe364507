"""Measures that have an order are given their values together: only such as are in it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from gradewright.core.observations import Value

Pair = tuple[str, str]
"""Two measures, of which the second is not to be more than the first."""
Group = tuple[str, ...]
"""An attribute by itself, or all measures that orders hold together."""


def groups(pairs: Sequence[Pair]) -> dict[str, Group]:
    """The measures that each is held together with, itself among them."""
    found: dict[str, Group] = {}
    for pair in pairs:
        group = tuple(dict.fromkeys(other for name in pair for other in found.get(name, (name,))))
        found.update(dict.fromkeys(group, group))
    return found


def of_all_in_order(
    group: Group,
    pairs: Sequence[Pair],
    values: Mapping[str, Sequence[Value]],
    bits: Mapping[str, Mapping[int, int]],
) -> set[int]:
    """All that can come of values of a group in their order; none if no values are.

    `bits`: for the places of the values that each may have, what comes of that value; of several, all of it.
    """
    if len(group) == 1:
        return set(bits[group[0]].values())
    known: Group = ()
    found: dict[tuple[int, ...], set[int]] = {(): {0}}
    """By the places of those measures that others have yet to be held against."""
    for n, name in enumerate(group):
        held = [pair for pair in pairs if name in pair and {*pair} <= {*known, name}]
        later = [pair for pair in pairs if {*pair} & {*group[n + 1 :]}]
        kept = tuple(each for each in (*known, name) if any(each in pair for pair in later))
        further: dict[tuple[int, ...], set[int]] = defaultdict(set)
        for before, so_far in found.items():
            at = dict(zip(known, before, strict=True))
            for place, more in bits[name].items():
                at[name] = place
                if all(values[two][at[two]] <= values[one][at[one]] for one, two in held):  # type: ignore[operator]
                    further[tuple(at[each] for each in kept)].update(each | more for each in so_far)
        known, found = kept, further
    return set().union(*found.values())
