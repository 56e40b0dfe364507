"""As which cheaper grades a lot may be sold: those whose buyers take it as what they buy.

That a grade's price is worked out from another's does not make it that: wood has a share of the price of
residue, relays one of that of motors. So it is written here, step by step, what is clean, thick, short or
rich enough for the next lower grade and only better than that asks for. Common practice, no source. Each
yard has the last word, and each answer says to ask it.

Of a grade that a later rulebook brings nothing is written here. Where it is priced as one of its own family,
times one or more, that one is taken for the next lower grade.

Nothing goes down among what costs to be rid of, into what is sold by name or into another family, and no
kind of whole assembly as another kind. Kept hauls are repeated by this table: one that says otherwise is a
method of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from gradewright.core.rulebook import Grade


class Lower(NamedTuple):
    """One step down: a buyer of `lower` takes `grade` for it, and why."""

    grade: str
    lower: str
    why: str


COSTS = "costs"
"""The family of what costs to be rid of."""
CLEANER = "All that the lower grade asks for; it only may have more on it."
RICHER = "The lower band asks for no more copper than is in it."
SMALLER = "It is the same in pieces of any size."
FEW_PIECES = "A few thick pieces do not spoil thin steel; a whole load of them may be sent back."
BOARD = "A denser board holds all that the buyer of plainer ones is after."

# Of one grade the nearest step first.
LOWER = (
    Lower("copper-bright", "copper-no1", "Bright wire is clean copper that is not even dull."),
    Lower("copper-no1", "copper-no2", CLEANER),
    Lower("copper-no2", "copper-light", "Unalloyed copper, only thicker than the sheet that goes there."),
    Lower("copper-light", "copper-breakage", "Copper with nothing else fixed to it."),
    Lower("wire-80", "wire-70", RICHER),
    Lower("wire-70", "wire-60", RICHER),
    Lower("wire-60", "wire-50", RICHER),
    Lower("wire-50", "wire-40", RICHER),
    Lower("wire-40", "wire-30", RICHER),
    Lower("wire-30", "wire-low", RICHER),
    Lower("wire-data", "wire-40", RICHER),
    Lower("wire-harness", "wire-30", "Connectors left on cost a bunch of wire a band."),
    Lower("wire-ribbon", "wire-30", "Connectors left on cost a ribbon a band."),
    Lower("wire-cord-plug", "wire-30", "A plug left on costs the whole cord a band."),
    Lower("brass-red", "brass-red-big", SMALLER),
    Lower("brass-red", "brass-yellow", "Brass with more copper than the buyer of yellow brass asks for."),
    Lower("brass-red-big", "brass-yellow", "Brass with more copper; yellow brass may be longer."),
    Lower("brass-yellow", "brass-plated", "Brass with no plating on it."),
    Lower("brass-plated", "brass-with-iron", CLEANER),
    Lower("bronze", "brass-with-iron", "That box takes bronze as well, with iron or without."),
    Lower("plug-pins", "plug-ends", "The pins of plugs, without the plastic."),
    Lower("aluminium-extrusion", "aluminium-extrusion-painted", "Profiles without the paint."),
    Lower("aluminium-extrusion", "aluminium-sheet", "Clean bare aluminium of one alloy."),
    Lower("aluminium-extrusion-painted", "aluminium-siding", "Painted aluminium, only thicker than sheet."),
    Lower("aluminium-clips", "aluminium-sheet", "Clean bare aluminium, and new."),
    Lower("aluminium-sheet", "aluminium-siding", "Sheet without the paint."),
    Lower("aluminium-siding", "aluminium-breakage", CLEANER),
    Lower("aluminium-cast", "aluminium-breakage", CLEANER),
    Lower("aluminium-radiators", "aluminium-breakage", CLEANER),
    Lower("heat-sinks-copper-core", "aluminium-breakage", "More than a third of it is aluminium."),
    Lower("aluminium-breakage", "aluminium-irony", "More aluminium than is asked for there."),
    Lower("aluminium-turnings", "aluminium-irony", "Turnings without the iron."),
    Lower("aluminium-copper-radiators", "aluminium-copper-radiators-ends", "The same, its ends cut off."),
    Lower("aluminium-eddy-current", "nonferrous-shred", CLEANER),
    Lower("steel-plate-structural", "steel-heavy", "Thick steel, cut to size; which steel is not asked."),
    Lower("steel-heavy", "steel-heavy-no2", "Steel thicker than is asked for there."),
    Lower("steel-heavy", "steel-unprepared", SMALLER),
    Lower("steel-heavy-no2", "light-iron", FEW_PIECES),
    Lower("steel-busheling", "light-iron", "Thin steel, and clean."),
    Lower("light-iron", "iron-with-foreign", CLEANER),
    Lower("stainless-ferritic", "light-iron", "Thin steel to a magnet; a little of it is not sorted out."),
    Lower("stainless-18-8", "stainless-attached", CLEANER),
    Lower("cast-iron", "cast-iron-to-break", SMALLER),
    Lower("lead-soft", "lead-wheel-weights", "Lead without the clips."),
    Lower("zinc-die-cast", "zinc-attached", CLEANER),
    Lower("boards-phone", "boards-high", BOARD),
    Lower("boards-high", "boards-medium", BOARD),
    Lower("boards-medium", "boards-low", BOARD),
    Lower("memory-gold", "memory-plain", "Modules with better contacts than are asked for."),
    Lower("connectors-gold", "connectors-plain", "Connectors with better contacts than are asked for."),
    Lower("motors-copper", "motors-with-iron", "Motors without the iron that does not belong to them."),
    Lower("motors-shredded", "motors-shredded-mixed", "None of it is wound with what is paid less for."),
    Lower("transformers-copper", "transformers-aluminium", "Transformers wound with the dearer metal."),
    Lower("hard-disks", "hard-disks-no-board", "The same disks, with their boards."),
)


KNOWN = frozenset(slug for step in LOWER for slug in (step.grade, step.lower))
APART = frozenset(
    {
        "aluminium-wire-bare", "brass-cases", "deflection-yokes", "relays", "servers", "steel-bundles",
        "steel-shredded",
    }
)  # fmt: skip
"""Priced as a grade that is paid no more, and yet another thing to the buyers of that."""


def lower_kin(grades: Mapping[str, Grade], grade: str, *, later: bool = True) -> tuple[str, ...]:
    """The grades as which a lot of this one may be sold, step by step, nearest first; of those in the table
    none that the rulebook does not have, has in another family or as sold by name only. Without `later`
    nothing is told of grades that came after the table.
    """
    return tuple(steps_down(grades, grade, later=later))


def steps_down(grades: Mapping[str, Grade], grade: str, *, later: bool = True) -> dict[str, int]:
    """The same, with how many steps down each is."""
    chain, found = [grade], {grade: 0}
    for slug in chain:
        below = [step.lower for step in LOWER if step.grade == slug]
        below += _priced_as(grades, slug) if later else ()
        for lower in below:
            if lower not in found and _may(grades, slug, lower):
                chain.append(lower)
                found[lower] = found[slug] + 1
    del found[grade]
    return found


def _priced_as(grades: Mapping[str, Grade], slug: str) -> tuple[str, ...]:
    """Of a grade that the table does not know, the one below it by the rulebook's own prices."""
    of = grades[slug]
    if slug in KNOWN | APART or of.kin is None or of.kin_factor is None or of.kin_factor < 1:
        return ()
    return () if of.family == COSTS else (of.kin,)


def _may(grades: Mapping[str, Grade], slug: str, lower: str) -> bool:
    """Whether a rulebook, which may come later than the table, leaves a step possible."""
    below = grades.get(lower)
    return below is not None and below.family == grades[slug].family and not below.by_name_only
