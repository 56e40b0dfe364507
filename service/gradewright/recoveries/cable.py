"""The answer for a cable: its share of copper, the bands that allows, and whether stripping pays."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from gradewright.core.concerns import Concerning
from gradewright.core.errors import Fault, GradewrightError, Refused
from gradewright.core.grading import Graded
from gradewright.core.observations import Observed
from gradewright.core.pricelist import PriceList
from gradewright.core.recovery.cable import Build, CopperShare, copper_of_build, copper_of_sample, grams
from gradewright.core.recovery.cable import Sample as Weighed
from gradewright.core.recovery.measured import Range, rounded, rounded_outwards
from gradewright.core.recovery.stripping import Work, minutes_by_length
from gradewright.core.spanning import Spanned, graded_between
from gradewright.core.units import mass_unit
from gradewright.recoveries import cautions
from gradewright.recoveries.given import Cable, Sample, Strip
from gradewright.recoveries.reading import observations
from gradewright.recoveries.shapes import Triple, figures, graded, in_percent, percent
from gradewright.recoveries.stripped import STRAND_PLACES, Case, compared
from gradewright.rulebooks.service import Version
from gradewright.valuations.shapes import house_limit

KNOWN = {"form": "cable", "metal": "copper"}
PLACES = 4  # of a share: hundredths of a per cent
SAMPLE_SAYS = "A sample tells of its own cable only: take one of each kind in the heap."
PLUGS_SAY = "Without plugs and connectors: cut them off before you weigh."


@dataclass(frozen=True, slots=True)
class Found:
    """The members of the answer, and the cautions that go with it."""

    members: dict[str, Any]
    cautions: Concerning


def answer(what: Cable | Sample, version: Version, prices: PriceList | None, method: str) -> Found:
    """The share, its grade, and the comparison where a lot to strip was named.

    Raises Refused with every fault, pointing into the request's member.
    """
    faults: list[Fault] = []
    observed: Observed = {}
    copper: CopperShare | None = None
    try:
        copper = _copper(what)
    except GradewrightError as error:
        faults += error.faults
    try:
        observed = observations(version.rulebook, what.observed, KNOWN, "copper_share")
    except GradewrightError as error:
        faults += error.faults
    work = _work(what.strip, copper, faults) if what.strip is not None else None
    if what.strip is not None and prices is None:
        faults.append(Fault("name a region or a yard: stripping is compared at its prices", ("strip",)))
    if faults or copper is None:
        raise Refused("; ".join(fault.detail for fault in faults), faults=tuple(faults))
    low, likely, high = rounded_outwards(copper.share, PLACES)
    spanned = graded_between(version.grader, observed, "copper_share", low, high)
    shown: dict[str, Any] = {
        "copper": _shown(what, copper, (low, likely, high)),
        "grading": {
            **graded(version.grader, spanned.outcome, prices),
            "bands": _bands(spanned),
            "house_limits": _house(version, what, likely),
        },
        "stripping": None,
        "notes": _notes(what, copper),
    }
    if what.strip is not None and work is not None and prices is not None:
        share = Range(Fraction(low), Fraction(likely), Fraction(high))
        at_likely = version.grader.grade({**observed, "copper_share": likely})
        wire = at_likely.grade if isinstance(at_likely, Graded) else None
        case = Case(version, prices, observed, copper, spanned, share, wire)
        shown["stripping"] = compared(what.strip, work, case, method)
    told = cautions.of_range(version.grader, observed, "copper_share", spanned)
    work_told = cautions.of_work(version.grader, cautions.STRIPPING)
    return Found(shown, cautions.together(work_told, told))


def _copper(what: Cable | Sample) -> CopperShare:
    if isinstance(what, Sample):
        return copper_of_sample(Weighed(what.weight, what.copper, what.scale))
    return copper_of_build(Build(what.conductors, what.weight, what.length, what.scale, what.length_within))


def _work(strip: Strip, copper: CopperShare | None, faults: list[Fault]) -> Work | None:
    try:
        lot = Fraction(grams(strip.lot))
    except GradewrightError as error:
        faults += [fault.under("strip", "lot") for fault in error.faults or (Fault(error.detail),)]
        return None
    if lot <= 0:
        faults.append(Fault("write the weight of the lot, above zero", ("strip", "lot")))
        return None
    try:
        mass_unit(strip.disposal_per)
    except GradewrightError as error:
        faults += [fault.under("strip", "disposal_per") for fault in error.faults or (Fault(error.detail),)]
    if strip.minutes_per_kg is not None:
        return Work(lot, Fraction(strip.minutes_per_kg) * lot / 1000)
    if copper is None:
        return None
    if copper.grams_per_metre is None:
        detail = "a sample does not tell what a metre weighs: give minutes_per_kg"
        faults.append(Fault(detail, ("strip", "minutes_per_metre")))
        return None
    per_metre = Decimal(strip.minutes_per_metre or 0)
    return Work(lot, minutes_by_length(lot, per_metre, copper.grams_per_metre))


def _shown(what: Cable | Sample, copper: CopperShare, share: Triple) -> dict[str, Any]:
    low, likely, high = map(percent, share)
    number = copper.number_share
    return {
        **in_percent(share),
        "attribute": "copper_share",
        "by_copper_number": None if number is None else percent(rounded(number.likely, PLACES)),
        "grams_per_metre": None if copper.grams_per_metre is None else figures(copper.grams_per_metre, 2),
        "strand_mm": None if copper.strand is None else figures(copper.strand, STRAND_PLACES),
        "rests_on": list(copper.rests_on),
        "says": f"Between {low} and {high} of the weight is copper, most likely {likely}.",
    }


def _bands(spanned: Spanned) -> list[dict[str, str | None]]:
    """The grades by share, ascending, neighbours of one grade together."""
    found: list[dict[str, str | None]] = []
    for span in spanned.spans:
        grade = span.outcome.grade if isinstance(span.outcome, Graded) else None
        if found and found[-1]["grade"] == grade:
            found[-1]["to"] = percent(span.high)
        else:
            found.append({"from": percent(span.low), "to": percent(span.high), "grade": grade})
    return found


def _house(version: Version, what: Cable | Sample, likely: Decimal) -> list[dict[str, str]]:
    """The limits of the place on which the likely grade rests."""
    described = version.describe({**(what.observed or {}), **KNOWN, "copper_share": percent(likely)})
    return [house_limit(limit) for limit in described.house]


def _notes(what: Cable | Sample, copper: CopperShare) -> list[str]:
    if isinstance(what, Sample):
        return [SAMPLE_SAYS, PLUGS_SAY]
    notes = [PLUGS_SAY]
    if copper.number_share is not None:
        low, likely, high = map(percent, rounded_outwards(copper.number_share, PLACES))
        notes.insert(
            0,
            "Copper as it weighs: 8.89 kg/km for each mm2. The copper number of cable tables, 9.6, would "
            f"make it {likely}, {low} to {high} by these readings; it is for invoices, and too high: the "
            "range of the copper never goes beyond it.",
        )
    if what.length_within is None:
        notes.append("The length is taken to be right to half a per cent (common practice, no source).")
    return notes
