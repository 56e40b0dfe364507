"""Which pairs of rules decide by their order in a draft, and did not in the version that it builds on."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator

from gradewright.drafts.proving import Pair


def new_pairs(base: str, before: Iterable[Pair], now: Iterable[Pair]) -> Iterator[str]:
    """A sentence for each pair that the version `base` does not have, or has the other way round.

    Among the pairs that have been there before, hundreds in a version that ships, nobody would see it.
    """
    known = {(pair.first, pair.second) for pair in before}
    for pair in now:
        if (pair.first, pair.second) in known:
            continue
        turned = (pair.second, pair.first) in known
        since = (
            f"In version {base} it is the other way round." if turned else f"Version {base} has no such pair."
        )
        part = json.dumps(dict(pair.part), ensure_ascii=False)
        yield (
            f"Rule {pair.first} ({pair.first_grade}) decides before {pair.second} ({pair.second_grade}), "
            f"of a part such as {part}. {since} See that it is meant so."
        )
