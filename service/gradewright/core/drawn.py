"""Which yards speak for a large region: so many that are drawn once for each grade.

What a whole country pays only ever stands in, where nobody near buys a grade. How far off that is depends on
how much yards differ, and hardly on how many of them were asked: where what they pay is spread normally, the
median of n yards misses a single other yard by sqrt(1 + pi / (2 n)) of that spread (the variance of a sample
median, as in any textbook; from memory). Of 16 yards that is 1.05, of all of a country's no less than 1.

The draw is by SHA-256 of grade and yard: the same on every day, whoever asks and whoever posts, and another
one for each grade. A yard that comes or goes changes it by one yard at most. Each yard drawn has all its
witnesses and one vote, as anywhere. Who weighs what is judged by the claims at all yards: where liars happen
to be many at the drawn ones, they are found out by the others. The simulation in tests/checks measures it.
"""

from __future__ import annotations

from collections.abc import Collection
from hashlib import sha256


def drawn(grade: str, yards: Collection[str], most: int) -> frozenset[str]:
    """All of the yards that pay for a grade, or `most` of them, by their slugs."""
    if len(yards) <= most:
        return frozenset(yards)
    return frozenset(sorted(yards, key=lambda yard: _lot(grade, yard))[:most])


def _lot(grade: str, yard: str) -> bytes:
    return sha256(f"{grade} {yard}".encode()).digest()
