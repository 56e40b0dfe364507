"""What the yards of a place pay better from a weight on, each by its own prices."""

from __future__ import annotations

from collections.abc import Mapping

from gradewright.core.better import Step, steps_of
from gradewright.core.consensus import Sighting
from gradewright.core.pricelist import tiers_of
from gradewright.prices.counting import Asked, Counted
from gradewright.yards.service import Atlas

MOST_YARDS = 60
"""Where more yards than these pay by weight nobody goes through them for a pile: a country is no place to
point into, and to work all of them out would take seconds."""


def better_of(
    counted: Counted, asked: Asked, atlas: Atlas, yard: str | None = None
) -> Mapping[str, tuple[Step, ...]]:
    """By grade the steps of all yards that were asked for, or of one of them, by yard and from-weight.

    Only yards that say a from-weight are looked at, and none where they are more than `MOST_YARDS`; a grade
    that the yard does not take has no step.
    """
    own: dict[tuple[str, str], list[Sighting]] = {}
    for grade, seen in counted.seen.items():
        stepped = {s.yard for s in seen if s.from_grams and (yard is None or s.yard == yard)}
        for s in seen if stepped else ():
            if s.yard in stepped:
                own.setdefault((grade, s.yard), []).append(s)
    if len({slug for _, slug in own}) > MOST_YARDS:
        return {}
    found: dict[str, list[Step]] = {}
    refused: dict[str, frozenset[str]] = {}
    for (grade, slug), seen in sorted(own.items()):
        if slug not in refused:
            refused[slug] = atlas.refused(slug, asked.on, asked.revision)
        if grade in refused[slug]:
            continue
        tiers = tiers_of({grade: seen}, asked.on, asked.pricing, counted.standing, counted.held)
        priced = ((tier.from_grams, tier.written, tier.quote.likely) for tier in tiers.get(grade, ()))
        found.setdefault(grade, []).extend(steps_of(priced, slug, atlas.yard(slug).name))
    return {grade: tuple(steps) for grade, steps in found.items() if steps}
