"""Whether what waits would leave one author alone: then nobody else is left to hold a price against."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable

from gradewright.core.sightings import Entry, Sighting


def leaves_one_alone(
    claims: Iterable[Sighting], waiting: Collection[Entry], enough_yards: int, few_yards: int
) -> bool:
    """Whether, without what waits, some author hears others at fewer than `few_yards` yards, where others
    speak of `enough_yards` and more.
    """
    said = [(s.author, s.yard, s.entry not in waiting) for s in claims]
    all_yards, alone = _speakers((author, yard) for author, yard, _ in said)
    counting, alone_there = _speakers((author, yard) for author, yard, counts in said if counts)
    return any(
        counting - alone_there[author] < few_yards and all_yards - alone[author] >= enough_yards
        for author in {author for author, _, counts in said if counts}
    )


def _speakers(said: Iterable[tuple[str, str]]) -> tuple[int, Counter[str]]:
    """How many yards are spoken of, and of how many of them each author alone speaks."""
    by_yard: dict[str, set[str]] = {}
    for author, yard in said:
        by_yard.setdefault(yard, set()).add(author)
    return len(by_yard), Counter(name for names in by_yard.values() if len(names) == 1 for name in names)
