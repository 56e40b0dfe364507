"""The cautions of recovery: the rulebook's own where it has them, and never none."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from gradewright.core.concerns import Concerning
from gradewright.core.errors import ObservationError
from gradewright.core.grading import Contradiction, Graded, Grader
from gradewright.core.observations import Observed, read_observations
from gradewright.core.rulebook import Caution
from gradewright.core.spanning import Spanned

BURNING = Caution(
    id="no-burning",
    name="Do not burn insulation",
    says="Smoke from burning insulation is poisonous, burning cable for its metal is an offence in many "
    "places, and burnt wire sells for less or not at all. Strip it, or sell it as it is. Follow local law.",
    source="UK Clean Air Act 1993, section 33 (section number not verified); ReMA circular for burnt wire",
)
ACIDS = Caution(
    id="no-acids",
    name="No acids at home",
    says="Winning gold or silver with acids gives off fumes that kill and leaves waste nobody may pour away. "
    "Leave it to licensed refiners and sell the sorted parts. Follow local law.",
    source="common practice",
)
OWN = {caution.id: caution for caution in (BURNING, ACIDS)}
NOTHING = Concerning(())
STRIPPING = ("no-burning", "eyes-and-hands")
REFINING = ("no-acids",)

LIKE: Mapping[str, Mapping[str, Any]] = {
    "computer-boards": {"assembly": "board"},
    "laptop-boards": {"assembly": "board"},
    "television-boards": {"assembly": "board"},
    "player-boards": {"assembly": "board"},
    "printer-boards": {"assembly": "board"},
    "phones": {"assembly": "whole-device", "device_kind": "phone"},
    "desktop-computers": {"assembly": "whole-device", "device_kind": "desktop-computer"},
    "lighting-capacitors": {"assembly": "capacitor", "capacitor_type": "multilayer"},
}
"""How a rulebook describes the kinds of thing that publications are about."""


def of_work(grader: Grader, ids: Iterable[str]) -> Concerning:
    """The cautions of these ids, in the rulebook's words; in our own where a version has none."""
    known = grader.rulebook.cautions
    found = (known.get(name) or OWN.get(name) for name in ids)
    return Concerning(tuple(caution for caution in found if caution is not None))


def of_range(grader: Grader, observed: Observed, name: str, spanned: Spanned) -> Concerning:
    """The cautions of a part of which one measure is a range: certain are those of all of the range."""
    can_be = [span for span in spanned.spans if not isinstance(span.outcome, Contradiction)]
    told = [_concerning(grader, {**observed, name: span.inside}) for span in can_be]
    return together(*told, everywhere=True)


def of_kind(grader: Grader, like: str | None) -> Concerning:
    """The cautions of a kind of thing, as far as the version can describe it."""
    try:
        observed = read_observations(grader.rulebook.attributes, LIKE.get(like or "", {}))
    except ObservationError:  # an older version without the words: the work's own cautions stay
        return NOTHING
    return _concerning(grader, observed) if observed else NOTHING


def together(*each: Concerning, everywhere: bool = False) -> Concerning:
    """All of them, each once; `everywhere`: certain are those that are so in each, else in any."""
    certain = [caution.id for told in each for caution in told.certain]
    if everywhere:
        certain = [name for name in certain if certain.count(name) == len(each)]
    found = {caution.id: caution for told in each for caution in (*told.certain, *told.possible)}
    sure = tuple(found[name] for name in dict.fromkeys(certain))
    return Concerning(sure, tuple(caution for name, caution in found.items() if name not in certain))


def _concerning(grader: Grader, observed: Observed) -> Concerning:
    outcome = grader.grade(observed)
    grade = outcome.grade if isinstance(outcome, Graded) else None
    return grader.concerning(grader.read(observed), grade)
