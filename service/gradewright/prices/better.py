"""What a place pays better from a weight on, by the own prices of its yards."""

from __future__ import annotations

from collections.abc import Mapping

from gradewright.core.better import FromWeight, Offer, Step, steps_of
from gradewright.core.pricelist import tiers_of
from gradewright.core.sightings import Sighting
from gradewright.prices.counting import Asked, Counted
from gradewright.yards.service import Atlas

MOST_YARDS = 60
"""Where more yards than these pay for what is paid by weight nobody goes through them for a pile: a country
is no place to point into, and to work all of them out would take seconds."""


def better_of(
    counted: Counted, asked: Asked, atlas: Atlas, yard: str | None = None
) -> Mapping[str, tuple[Step, ...]]:
    """By grade the steps of all yards that were asked for together, or of one of them.

    Only grades of which a yard says a from-weight are looked at, and none where that is more than
    `MOST_YARDS` yards to go through. A yard that does not take a grade offers nothing for it.
    """
    own: dict[tuple[str, str], list[Sighting]] = {}
    for grade, seen in counted.seen.items():
        here = [s for s in seen if yard is None or s.yard == yard]
        for s in here if any(s.from_grams for s in here) else ():
            own.setdefault((grade, s.yard), []).append(s)
    if len({slug for _, slug in own}) > MOST_YARDS:
        return {}
    offers: dict[str, list[Offer]] = {}
    refused: dict[str, frozenset[str]] = {}
    for (grade, slug), seen in sorted(own.items()):
        if slug not in refused:
            refused[slug] = atlas.refused(slug, asked.on, asked.revision)
        if grade in refused[slug]:
            continue
        tiers = tiers_of({grade: seen}, asked.on, asked.pricing, counted.standing, counted.held, counted.said)
        priced = [
            FromWeight(tier.from_grams, tier.written, tier.quote.likely) for tier in tiers.get(grade, ())
        ]
        offers.setdefault(grade, []).append(Offer(slug, atlas.yard(slug).name, priced))
    found = {grade: steps_of(by_yard) for grade, by_yard in offers.items()}
    return {grade: steps for grade, steps in found.items() if steps}
