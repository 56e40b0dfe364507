"""The plan as a tree, as it is answered: each part with what it is, what is done with it, and why."""

from __future__ import annotations

from typing import Any

from gradewright.compositions.describing import concerning_kind, listing
from gradewright.core.concerns import Concerning, of_grades
from gradewright.core.decimals import plain
from gradewright.core.description import Description
from gradewright.core.grading import Contradiction, Graded
from gradewright.core.rulebook import Rule
from gradewright.core.teardown.tree import NONE, Pay, Span, left_between
from gradewright.teardowns.choices import OPEN
from gradewright.teardowns.doubts import BEYOND, UNDOUBTED
from gradewright.teardowns.figures import Purse, kilograms, minutes, minutes_of, weight, weights
from gradewright.teardowns.methods import UP_TO_5, UP_TO_6
from gradewright.teardowns.pricing import Offer, Paid
from gradewright.teardowns.reading import Part
from gradewright.teardowns.unknown import unpriced_inside
from gradewright.teardowns.usual_parts import usual_weight
from gradewright.teardowns.words import (
    NEVER,
    UNTOLD,
    gain,
    licence,
    only_licensed,
    taking_off,
    until,
    why,
)
from gradewright.teardowns.worked import Heeded, Worked, left_grams
from gradewright.valuations.amounts import amount_shown
from gradewright.valuations.lines import outcome_name
from gradewright.valuations.shapes import question

RULES_UNSAID = frozenset({"1", "2", "3"})
"""The methods that did not tell how sure the rule is that grades a part."""


def as_tree(worked: Worked, purse: Purse) -> dict[str, Any]:
    """The plan: the device and, in each part, what is inside of it."""
    made: list[dict[str, Any]] = []
    for offer in worked.pricing.offers:
        node = _node(worked, offer, purse)
        node["parts"] = []
        made.append(node)
        if offer.part.inside is not None:
            made[offer.part.inside]["parts"].append(node)
    return {"plan": made[0]}


def as_list(worked: Worked, purse: Purse) -> dict[str, Any]:
    """The plan of a device that was given as a list: the device, and all of it in the order of the list."""
    nodes = [_node(worked, offer, purse) for offer in worked.pricing.offers]
    inside = [offer.part.inside for offer in worked.pricing.offers]
    parts = [{**node, "within": within} for node, within in zip(nodes, inside, strict=True)]
    return {"plan": {**nodes[0], "parts": []}, "parts": parts}


def span_of(pay: Pay, grams: Span) -> Span:
    """What a weight comes to, from the low price of what weighs least (a charge: most) to the high one."""
    low, likely, high = (
        fixed + each * grams[column if each >= 0 else 2 - column]
        for column, (fixed, each) in enumerate(zip(pay.fixed, pay.each_gram, strict=True))
    )
    return Span(low, likely, high)


def _amounts(pay: Pay, grams: Span, purse: Purse) -> dict[str, str]:
    """The same as it is told: of most parts one weight is known, and nothing is paid whatever they weigh."""
    low, likely, high = grams
    if pay.fixed is not NONE or not (low is likely is high):
        return purse.span(span_of(pay, grams))
    over, under = likely.numerator, likely.denominator
    told = (purse.ratio(each.numerator * over, each.denominator * under) for each in pay.each_gram)
    return dict(zip(("low", "likely", "high"), told, strict=True))


def heeded(part: Part, worked: Worked) -> Heeded:
    """What concerns a part: as was said, by its grade or description, by opening it and what that leaves. Of
    a grade that was only named what lists it is certain, and no more. A device of a kind has what its kind
    has; of what is usually in one, nothing is certain.
    """
    left = None if part.left is None else part.left.grade
    kind = None if part.kind is None else id(part.kind.kind)
    known = part.grade if part.description is None else id(part.description)
    # Many parts are of the same grade, and cautions are long.
    key = (known, left, kind, part.inside is None, part.cautions, part.opening_cautions)
    found = worked.heeds.get(key)
    if found is None:
        found = worked.heeds[key] = _heeded(part, worked)
    return found


def _heeded(part: Part, worked: Worked) -> Heeded:
    grader = worked.pricing.version.grader
    left = of_grades(grader, [None if part.left is None else part.left.grade])
    if worked.kind is not None:
        of_grade = listing({part.grade} if part.grade is not None else set(), grader.rulebook)
        known = worked.kind if part.inside is None else Concerning((), of_grade)
    elif part.description is None:
        known = of_grades(grader, [part.grade])
    else:
        known = part.description.concerning
    if part.kind is not None:
        of_kind = concerning_kind(
            *part.kind,
            worked.pricing.version,
            as_any=worked.method in UP_TO_5,
            by_grade=worked.method in UP_TO_6,
        )
        known = Concerning((*known.certain, *of_kind.certain), (*known.possible, *of_kind.possible))
    certain = dict.fromkeys((*part.cautions, *known.certain, *part.opening_cautions, *left.certain))
    possible = dict.fromkeys((*known.possible, *left.possible))
    perhaps = [one for one in possible if one not in certain]
    ids = [one if isinstance(one, str) else one.id for one in (*certain, *perhaps)]
    return Heeded(tuple(certain), tuple(perhaps), ids, [one.id for one in perhaps])


def for_whom(worked: Worked, part: Part) -> str:
    """Behind what the plan opens: who may do that work, where it takes a licence."""
    if worked.choices[part.number] != OPEN:
        return ""
    heed = heeded(part, worked)
    return licence(heed.certain, heed.possible)


def only_for_some(worked: Worked, part: Part, purse: Purse) -> str:
    """Before a plan that opens the device: that it takes a licence, and what is done without one."""
    if worked.choices[part.number] != OPEN:
        return ""
    return only_licensed(worked, heeded(part, worked).certain, purse)


def _node(worked: Worked, offer: Offer, purse: Purse) -> dict[str, Any]:
    part, given, line = offer.part, offer.part.given, offer.line
    grades = worked.pricing.version.rulebook.grades
    described = part.description
    outcome = None if described is None else described.outcome
    because, rule = None, None
    if described is not None and isinstance(outcome, Graded):
        rule = outcome.rule
        because = described.because(outcome.rule.because)
    elif described is not None and isinstance(outcome, Contradiction):
        because = described.because(" ".join(entry.because for entry in outcome.impossible))
    candidates = () if line is None else line.candidates
    unknown = part.grade is None and described is None
    heed = heeded(part, worked)
    return {
        "number": part.number,
        "name": given.name,
        "count": given.count,
        "pieces": part.pieces,
        "weight": weights(part.grams),
        "outcome": "unknown" if unknown else outcome_name(outcome),
        "grade": part.grade,
        "grade_name": None if part.grade is None else grades[part.grade].name,
        "because": because,
        **({} if rule is None or worked.method in RULES_UNSAID else _how_sure(described, rule)),
        "candidates": [
            {
                "grade": one.grade,
                "name": grades[one.grade].name,
                "amount": None if one.amount is None else amount_shown(one.amount, purse.cents),
            }
            for one in candidates
        ],
        "next_test": None if line is None else question(line.next_test),
        **_paid(offer.whole, part.grams, purse),
        "choice": worked.choices[part.number],
        "why": why(worked, part.number, purse) + for_whom(worked, part),
        "opening": _opening(worked, offer, purse),
        "taking_off": _taking_off(worked, part, purse),
        "cautions": heed.ids,
        "possible_cautions": heed.possible_ids,
        **({} if part.usual is None else {"usual": usual_weight(part.usual)}),
    }


def _how_sure(described: Description | None, rule: Rule) -> dict[str, str]:
    settles = {} if rule.settled_by is None else {"settled_by": rule.settled_by}
    return {"confidence": rule.confidence if described is None else described.how_sure(rule), **settles}


def _paid(paid: Paid, grams: Span, purse: Purse) -> dict[str, Any]:
    return {
        "amount": None if paid.pay is None else _amounts(paid.pay, grams, purse),
        "unpriced": paid.unpriced,
    }


def _opening(worked: Worked, offer: Offer, purse: Purse) -> dict[str, Any] | None:
    part, opens = offer.part, offer.part.given.opens
    gained, number = gain(worked, part.number), part.number
    node = worked.tree.nodes[number].opening
    if opens is None or gained is None or node is None:
        return None
    return {
        "how": opens.how,
        "minutes": minutes(node.minutes),
        "cost": purse.amount(node.cost),
        "comes_to": purse.comes_to(gained),
        "in_all_minutes": minutes_of(gained.minutes, gained.minute),
        "gain": purse.more(gained),
        "per_hour": purse.per_hour(gained),
        **_pays(worked, number, purse),
        "leftover": _leftover(worked, offer, purse),
    }


def _pays(worked: Worked, number: int, purse: Purse) -> dict[str, str | None]:
    """Up to which rate it pays to open a part: where that is none, only if all that comes out has a price
    and what is left over was named. Nothing is told where what is undecided decides it.
    """
    found = until(worked.rates.opening[number], purse)
    if worked.method in UNDOUBTED:
        untold = found["pays"] == NEVER and (number in worked.unnamed or unpriced_inside(worked, number))
    else:
        lacks = bool(worked.doubts.lacks[number] or (not number and worked.unshared))
        untold = bool(found["pays"] == NEVER and (number in worked.unnamed or lacks))
        untold = untold or worked.doubts.opening[number]
        if worked.method not in UP_TO_6 and not worked.plan.opened[number]:
            # Nobody knows what it is held against, nor all that comes out.
            untold = untold or (lacks and worked.pricing.offers[number].whole.pay is None)
    return {"pays": UNTOLD, "up_to": None} if untold else found


def _pays_off(worked: Worked, number: int, purse: Purse) -> dict[str, str | None]:
    """Up to which rate it pays to take a part off, likewise."""
    found = until(worked.rates.taking[number], purse)
    unpriced = worked.pricing.offers[number].whole.pay is None or worked.doubts.lacks[number]
    untold = (found["pays"] == NEVER and unpriced) or worked.doubts.taking[number]
    return {"pays": UNTOLD, "up_to": None} if untold and worked.method not in UNDOUBTED else found


def _leftover(worked: Worked, offer: Offer, purse: Purse) -> dict[str, Any]:
    part, paid = offer.part, offer.left or Paid(None)
    given = None if part.left is None else part.left.given
    grade = None if part.left is None else part.left.grade
    grams = left_grams(worked, part.number)
    if worked.method in BEYOND:
        weighs = weight(grams)
    else:
        weighs = weights(left_between(worked.tree, worked.plan, part.number, grams))
    lost = None
    if part.left is not None and part.left.grams is not None:
        inner = (worked.tree.nodes[one].grams.likely for one in worked.tree.parts[part.number])
        lost = kilograms(part.grams.likely - sum(inner, part.left.grams.likely))
    charge = None
    if given is not None and given.charge is not None:
        charge = {"amount": plain(given.charge), "per": given.per or "piece"}
    return {
        "name": None if given is None else given.name,
        "weight": weighs,
        "lost_kg": lost,
        "grade": grade,
        "grade_name": None if grade is None else worked.pricing.version.rulebook.grades[grade].name,
        "charge": charge,
        "amount": None if paid.pay is None else purse.amount(paid.pay.of(grams)),
        "unpriced": paid.unpriced if grams else None,
    }


def _taking_off(worked: Worked, part: Part, purse: Purse) -> dict[str, Any] | None:
    """How a part comes off that is taken off for itself."""
    if part.given.minutes is None:
        return None
    sized, gained = worked.tree.sized, taking_off(worked, part.number)
    off, in_all = sized.minutes[part.number], worked.plan.nets.best_minutes[part.number]
    return {
        "minutes": minutes_of(off, sized.minute),
        "must": part.given.must_come_off,
        "gain": None if gained is None else purse.ratio(gained.paid, gained.size),
        "in_all_minutes": minutes_of(in_all + off, sized.minute),
        "per_hour": None if gained is None else purse.per_hour(gained),
        **_pays_off(worked, part.number, purse),
    }
