"""A device of a kind that nobody has opened yet, as what is usual for the kind has it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import partial
from typing import Any

from gradewright.compositions.kept import DeviceKind
from gradewright.core.composition import Spread, Typical, TypicalPart
from gradewright.core.decimals import EXACT, trimmed
from gradewright.core.rulebook import Rulebook
from gradewright.core.teardown.tree import NOTHING, Pay, Span, Tiers, in_a_lot
from gradewright.core.unusual import Recorded
from gradewright.teardowns.faults import Faults
from gradewright.teardowns.figures import Purse, minutes, rounded, weight, weights
from gradewright.teardowns.given import KindGiven, LeftGiven, NodeGiven, OpeningGiven, SpanGiven
from gradewright.teardowns.methods import UP_TO_5
from gradewright.teardowns.unlike import by_others, how_many, unlike
from gradewright.teardowns.weights import read_weight, times
from gradewright.teardowns.words import heavy, named
from gradewright.teardowns.worked import SCALES_DIFFER, Worked, left_grams

AT_ONCE = "all-at-once"
UNNAMED = "what no record names"
GRAM_PLACES = 9


@dataclass(frozen=True, slots=True)
class Usual:
    """What is usual for a device of a kind, from so many grams to so many, of all of them together where
    there are several; `minutes`: to take one apart. `unlike`: where one weighs otherwise than any other.
    """

    given: KindGiven
    kind: DeviceKind
    typical: Typical
    grams: Span
    minutes: Spread
    unlike: Recorded | None = None

    @property
    def count(self) -> int:
        """How many devices there are."""
        return self.given.count or 1


def usual(
    given: KindGiven,
    kind: DeviceKind,
    typical: Typical | None,
    *,
    any_weight: bool = False,
    by_far: bool = False,
    near: bool = True,
) -> Usual:
    """What is usual for the kind. Raises `Refused` with all that the records do not tell, or that is wrong
    with the weight; `any_weight`: a device may be of any weight, as it could once; `by_far`, `near`: see
    `unlike`.
    """
    faults = Faults()
    grams = read_weight(given.weight, ("weight",), faults)
    each = grams.likely / (given.count or 1)
    far = None if any_weight or not grams.high else unlike(typical, each, by_far=by_far, near=near)
    if far is not None and given.count is None:
        faults.wrong(how_many(kind, each, far), ("weight",))
    minutes = None if typical is None else typical.minutes
    if given.minutes is not None:
        minutes = Spread(*[Fraction(given.minutes)] * 3)
    if typical is None:
        detail = (
            f"Nobody has recorded yet what comes out of {kind.name}. Describe the parts of yours; a member "
            "can record one that was taken apart."
        )
        faults.wrong(detail, ("kind",))
    elif typical.rest is None:
        detail = (
            f"No record of {kind.name} tells the whole weight, so that its parts cannot be told of another "
            "one. Describe the parts of yours; a member can record one that was weighed before."
        )
        faults.wrong(detail, ("kind",))
    if typical is not None and minutes is None:
        detail = (
            f"No record of {kind.name} tells how long it takes to take one apart. Give the minutes that you "
            "need; a member who has done it can record them."
        )
        faults.wrong(detail, ("minutes",))
    faults.check()
    assert typical is not None  # noqa: S101 - else it is told above
    assert minutes is not None  # noqa: S101 - so is this
    return Usual(given, kind, typical, grams, minutes, far)


def as_device(found: Usual, rulebook: Rulebook) -> NodeGiven:
    """The device with its usual parts, which come out all at once; a grade that the version does not know is
    of no grade.
    """
    left = replace(found.given.leftover or LeftGiven(), name=UNNAMED)
    opens = OpeningGiven(AT_ONCE, rounded(found.minutes.likely, 2), leftover=left)
    each = times(found.grams, Fraction(1, found.count))
    parts = [_part(part, each, rulebook) for part in found.typical.parts]
    usual_grade = found.kind.grade if found.kind.grade in rulebook.grades else None
    return NodeGiven(
        found.kind.name,
        found.count,
        weight=found.given.weight,
        grade=usual_grade if found.given.grade is None else found.given.grade,
        opens=opens,
        parts=tuple(part for part in parts if part is not None),
    )


def unshared_of(found: Usual, rulebook: Rulebook) -> dict[str, str]:
    """What comes out of the kind in a share that nobody knows, by name, and why it counts as nothing."""
    why = (
        "only those records have it that do not tell the whole weight, so that how much of it is in another "
        "is not known. Look at yours, or record one that was weighed before."
    )
    grades = rulebook.grades
    slugs = (part.grade for part in found.typical.unshared)
    return {grades[slug].name if slug in grades else slug: why for slug in slugs}


def told(found: Usual, worked: Worked, purse: Purse) -> dict[str, Any]:
    """What is usual, as it is answered: over the devices that were taken apart, not over sums of extremes."""
    grams, (prices, unpriced) = found.grams, _prices(found, worked)
    apart = _apart(found, worked, prices)
    spread = None if apart is None else purse.span(apart)
    lasts = found.minutes.times(Fraction(found.count))
    time = {name: minutes(getattr(lasts, name)) for name in ("low", "likely", "high")}
    return {
        "kind": found.kind.slug,
        "name": found.kind.name,
        "weight": weights(grams),
        "records": found.typical.records,
        "voices": found.typical.voices,
        "published": found.typical.published,
        "minutes": time,
        "apart": spread,
        "unpriced": unpriced,
        "says": [
            _summary(found, worked, purse, spread, time),
            *_rests_on(found),
            *_nothing(worked, unpriced),
            *_counted(worked, purse),
            *found.typical.says,
        ],
    }


_Paid = tuple[Pay, Tiers]
"""What is paid for a grade here, and in other lots than it is in."""


def _prices(found: Usual, worked: Worked) -> tuple[dict[str, _Paid], list[str]]:
    """What is paid for what comes out, by grade; and which grades of that have no price."""
    pricing = worked.pricing
    known: dict[str, _Paid] = {}
    unpriced: list[str] = []
    counted = {offer.part.grade: offer for offer in pricing.offers[1:]}
    for part in found.typical.parts:
        pay: Pay | None = None
        tiers: Tiers = ()
        if part.grade in counted:
            offer = counted[part.grade]
            pay, tiers = offer.whole.pay, offer.tiers
        elif part.grade in pricing.version.rulebook.grades:
            pay, tiers = pricing.of(part.grade).pay, pricing.tiers(part.grade)
        if pay is None:
            unpriced.append(part.grade)
        else:
            known[part.grade] = pay, tiers
    return known, unpriced


def _apart(found: Usual, worked: Worked, prices: Mapping[str, _Paid]) -> Span | None:
    """What it pays apart, over the devices that were taken apart, each grade as heavy as it is in such."""
    offer, each = worked.pricing.offers[0], found.grams
    rest = None if offer.left is None else offer.left.pay
    if not prices and rest is None:
        return None

    def comes_to(grams: Fraction, shares: Mapping[str, Fraction]) -> Fraction:
        sold: list[tuple[Fraction, Pay, Tiers]] = [
            (share * grams, *prices[grade]) for grade, share in shares.items() if grade in prices
        ]
        if rest is not None:
            over = max(1 - sum(shares.values(), NOTHING), NOTHING) * grams
            sold.append((over, Pay(rest.each_gram), offer.left_tiers))
        paid = ((weighs, in_a_lot(tiers, pay, weighs)) for weighs, pay, tiers in sold)
        return sum((pay.of(weighs) for weighs, pay in paid if pay is not None), NOTHING)

    light, likely, full = (found.typical.spread(partial(comes_to, grams)) for grams in each)
    if light is None or likely is None or full is None:
        return None
    whatever = NOTHING if rest is None else rest.fixed.likely
    spreads = light, likely, full
    low, high = min(one.low for one in spreads), max(one.high for one in spreads)
    return Span(low + whatever, likely.likely + whatever, high + whatever)


def _rests_on(found: Usual) -> Iterator[str]:
    if found.unlike is not None:
        yield by_others(found.kind, found.grams.likely / found.count, found.unlike)


def _summary(
    found: Usual, worked: Worked, purse: Purse, apart: dict[str, str] | None, time: dict[str, str]
) -> str:
    """What it pays whole and apart."""
    weighs, pay = weights(found.grams), worked.pricing.offers[0].whole.pay
    heavy = weighs["shown"]
    if found.grams.low != found.grams.high:
        heavy = f"{weighs['low_kg']} to {weighs['high_kg']} kg, likely {heavy}"
    pays = "nobody is known to buy it whole"
    if pay is not None:
        pays = f"whole it pays {purse.amount(pay.of(found.grams.likely))}"
        if found.grams.low != found.grams.high:
            root = worked.tree.nodes[0]
            paid = [(grams, in_a_lot(root.tiers, root.whole, grams)) for grams in found.grams]
            ends = [one.of(grams) if one else NOTHING for grams, one in paid]
            pays = f"whole it pays {purse.amount(min(ends))} to {purse.amount(max(ends))}"
    before = worked.method in UP_TO_5
    comes = ", what it pays apart cannot be told" if before else ", and what it pays apart cannot be told"
    if apart is not None:
        comes = f", apart {apart['low']} to {apart['high']} {purse.currency} at likely prices"
    lasts = time["low"] if time["low"] == time["high"] else f"{time['low']} to {time['high']}"
    together = "" if before else " together"
    of = f"{found.kind.name} of {heavy}"
    if found.count > 1:
        of = f"{found.count} x {found.kind.name}, {heavy}{together}"
    if found.count > 1:
        pays, comes = pays.replace(" it pays", " they pay"), comes.replace(" it pays", " they pay")
        pays = pays if before else pays.replace("buy it whole", "buy them whole")
    takes = f". That takes {lasts} minutes." if apart is None and not before else f", for {lasts} minutes."
    return f"{of}: {pays}{comes}{takes}"


def _nothing(worked: Worked, unpriced: Sequence[str]) -> Iterator[str]:
    """What counts as nothing where it is apart."""
    grades, left = worked.pricing.version.rulebook.grades, left_grams(worked, 0)
    names = [grades[slug].name if slug in grades else slug for slug in unpriced]
    if names and len(names) == len(worked.tree.parts[0]):
        yield f"Nothing that comes out of it has a price: {named(worked, names)}."
    elif names:
        yield f"In what it pays apart there is no price of {named(worked, names)}: counted as nothing."
    priced = worked.pricing.offers[0].left
    if worked.method not in UP_TO_5 and left <= worked.pricing.offers[0].part.grams.likely * SCALES_DIFFER:
        left = NOTHING
    if left and (priced is None or priced.pay is None):
        yield f"In what it pays apart {heavy(worked, left)} that no record names count as nothing."


def _counted(worked: Worked, purse: Purse) -> Iterator[str]:
    """What becomes of what no record names, where that was said."""
    left, grams = worked.pricing.offers[0].left, left_grams(worked, 0)
    if grams and left is not None and left.pay is not None:
        pays = purse.amount(left.pay.of(grams))
        yield (
            f"In what it pays apart {pays} {purse.currency} are counted for {weight(grams)['shown']} that no "
            "record names."
        )


def _part(part: TypicalPart, grams: Span, rulebook: Rulebook) -> NodeGiven | None:
    """A part with its range; None where there is nothing of it."""
    if part.share is None or not part.share.high:
        return None
    shares = (part.share.low, part.share.likely, part.share.high)
    ends = (share * weighs for share, weighs in zip(shares, grams, strict=True))
    weight = SpanGiven(*(f"{_down(end)} g" for end in ends))
    grade = rulebook.grades.get(part.grade)
    if grade is None:
        return NodeGiven(part.grade, weight=weight)
    return NodeGiven(grade.name, weight=weight, grade=grade.slug)


def _down(grams: Fraction) -> str:
    """Grams in digits, never more than there are: the parts of a whole do not outweigh it."""
    scaled = grams * 10**GRAM_PLACES
    return trimmed(Decimal(scaled.numerator // scaled.denominator).scaleb(-GRAM_PLACES, EXACT))
