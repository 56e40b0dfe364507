"""A plan in words for people: what is done with a part, why, and what would change it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from gradewright.compositions.describing import LICENSED
from gradewright.core.rulebook import Caution
from gradewright.core.teardown.margins import Does, Margin, Then
from gradewright.core.teardown.rates import UpTo
from gradewright.core.teardown.tree import NOTHING
from gradewright.teardowns.choices import INSIDE, LEAVE, OPEN, SELL, STAY
from gradewright.teardowns.doubts import UNDOUBTED
from gradewright.teardowns.figures import Gained, Purse, kilograms, minutes_of, no_less, no_more, weight
from gradewright.teardowns.methods import UP_TO_5
from gradewright.teardowns.pricing import Offer
from gradewright.teardowns.unknown import (
    counted_as_nothing,
    decides_opening,
    decides_taking,
    unpriced_inside,
    unpriced_on,
)
from gradewright.teardowns.worked import Worked, left_grams

MOST_NAMED = 3
NEVER, UNTOLD = "at no rate", "cannot be told"
HEED = (
    "Read the cautions before anything is opened. Follow local law; where a licence is needed, leave the "
    "work to those who hold one."
)


class Limit(NamedTuple):
    """More than so much by the unit of the place is what something "costs" or "brings" for another plan."""

    what: str
    more_than: str
    then: Then
    says: str


def gain(worked: Worked, number: int) -> Gained | None:
    """What opening a part brings over selling it as it is (over nothing, where nobody pays for that)."""
    nets = worked.plan.nets
    apart, whole = nets.apart[number], nets.whole[number]
    if apart is None:
        return None
    minutes = nets.apart_minutes[number]
    return Gained(apart + minutes * nets.cost - whole, whole, minutes, nets.size, worked.plan.minute)


def taking_off(worked: Worked, number: int) -> Gained | None:
    """What taking a part off brings over leaving it on; None where it is not for choice."""
    sized, nets = worked.tree.sized, worked.plan.nets
    stays, minutes = sized.stays[number], nets.best_minutes[number]
    if stays is None:
        return None
    paid = nets.best[number] + minutes * nets.cost + (sized.carries[number] - stays) * nets.times
    return Gained(paid, 0, minutes + sized.minutes[number], nets.size, worked.plan.minute)


def why(worked: Worked, number: int, purse: Purse) -> str:
    """Why the plan does with a part what it does."""
    done = worked.choices[number]
    name = worked.pricing.offers[number].part.given.name
    sized, opening = worked.tree.sized, gain(worked, number)
    whole = purse.ratio(sized.whole[number], sized.money)
    if done == OPEN and opening is not None:
        paid = purse.comes_to(opening)
        instead = f"{whole} as it is" if worked.tree.nodes[number].whole else "nothing that is known as it is"
        unless = turning_out(worked, decides_opening(worked, number))
        return f"Opened it brings {paid} instead of {instead}: {_more(opening, purse)}{unless}."
    if done == STAY:
        return _staying(worked, number, purse)
    if done == INSIDE:
        inside = worked.tree.nodes[number].inside
        around = "" if inside is None else worked.pricing.offers[inside].part.given.name
        return f"It stays inside of {around}, which the plan does not open."
    told = f"As it is it brings {whole}."
    if done == LEAVE:
        told = f"It counts as nothing: {worked.pricing.offers[number].whole.unpriced}"
        if worked.method not in UP_TO_5 and not told.endswith("."):
            told += "."
    if opening is None:
        return told
    lacking = unpriced_inside(worked, number)
    if lacking or (not number and worked.unshared):
        return f"{told} {_untold(worked, number, lacking)}"
    left, unless = _left(worked, number), turning_out(worked, decides_opening(worked, number))
    less = _less(opening, purse, worked)
    return f"{told} Opening {name} would bring {less}{left}{unless}."


def summary(worked: Worked, purse: Purse) -> str:
    """The plan for the device in a sentence or two."""
    name = worked.pricing.offers[0].part.given.name
    pays = worked.tree.whole(0)
    whole = purse.amount(pays)
    opening = gain(worked, 0)
    known = worked.tree.nodes[0].whole is not None
    currency = purse.currency
    if worked.plan.opened[0] and opening is not None:
        paid = purse.amount(worked.plan.worth.paid)
        instead = f"{whole} whole" if known else "nothing that is known for it whole"
        or_not = turning_out(worked, decides_opening(worked, 0))
        held = _as_long_as(worked)
        told = f"Open {name}{held}: {paid} {currency} instead of {instead}, {_more(opening, purse)}{or_not}."
        lacking = counted_as_nothing(worked, 0)
        without = f"Without a price, and counted as nothing: {named(worked, lacking)}."
        return " ".join([told, *([without] if lacking else []), *_doubted(worked), *_as_long(worked, purse)])
    unless = _unless(worked, purse)
    told = " ".join([f"Sell {name} whole: {whole} {currency}{unless}.", *_doubted(worked)])
    if not known:
        told = f"Nothing is known to be paid for {name}."
    if opening is None:
        return told
    lacking = unpriced_inside(worked, 0)
    if lacking or worked.unshared:
        return f"{told} {_untold(worked, 0, lacking)}"
    if not known:
        told = f"Nothing is known to be paid for {name}, and opening it does not pay{unless}."
    or_not = _left(worked, 0) + turning_out(worked, decides_opening(worked, 0))
    return f"{told} Opening it would bring {_less(opening, purse, worked)}{or_not}."


def as_usual(worked: Worked) -> str:
    """Behind a plan: what nobody weighed, and of which kind of device that is as usual."""
    kinds: dict[str, list[str]] = {}
    for offer in worked.pricing.offers:
        if offer.part.usual is not None:
            kinds.setdefault(offer.part.usual.known.kind.name, []).append(offer.part.given.name)
    return "".join(
        f" Not weighed, but as heavy as is usual in {kind}: {named(worked, names)}."
        for kind, names in kinds.items()
    )


def turning_out(worked: Worked, undecided: Sequence[Offer]) -> str:
    """Behind what is done with a part: unless what decides that turns out to be the dearest that it can."""
    grades = worked.pricing.version.rulebook.grades
    found = [(one.part.given.name, grades[one.at_best].name) for one in undecided if one.at_best]
    if not found:
        return ""
    if len(found) == 1:
        ((name, grade),) = found
        return f", unless {name} turns out to be {grade}"
    every = named(worked, (f"{name} ({grade})" for name, grade in found))
    return f", unless these turn out to be the dearest that they can be: {every}"


def then_done(worked: Worked, then: Then) -> str:
    """What is done otherwise in another plan: "open the drive motor"."""
    name = worked.pricing.offers[then.node].part.given.name
    if then.does is Does.SELL and worked.tree.nodes[then.node].whole is None:
        return f"leave {name} as it is"
    return {
        Does.SELL: f"sell {name} whole",
        Does.OPEN: f"open {name}",
        Does.TAKE: f"take {name} off",
        Does.STAY: f"leave {name} on",
    }[then.does]


def only_licensed(worked: Worked, certain: Iterable[Caution | str], purse: Purse) -> str:
    """Before a plan that opens a device for which that takes a licence: what is done without one. It was told
    behind the plan alone in method 1. Empty where it takes none.
    """
    if worked.method == "1" or not licence(certain, ()):
        return ""
    known = worked.tree.nodes[0].whole is not None
    whole = f"sell it whole: {purse.amount(worked.tree.whole(0))} {purse.currency}"
    return f"Only with a licence; otherwise {whole if known else 'leave it whole'}. "


def licence(certain: Iterable[Caution | str], possible: Iterable[Caution]) -> str:
    """For whom opening a part is, behind what tells to open it; empty where that is for anybody."""
    surely, perhaps = (
        [one.name for one in cautions if not isinstance(one, str) and one.id in LICENSED]
        for cautions in (certain, possible)
    )
    if surely:
        return f" This work is for those who hold the licence: {', '.join(surely)}."
    if perhaps:
        return f" Where this applies the work is for those who hold the licence: {', '.join(perhaps)}."
    return ""


def named(worked: Worked, names: Iterable[str]) -> str:
    """Names in a sentence: the first few of them, and how many more there are. A name may hold commas.

    Method 1 named all.
    """
    every = list(names)
    if worked.method == "1":
        return ", ".join(every)
    told, more = "; ".join(every[:MOST_NAMED]), len(every) - MOST_NAMED
    return f"{told} and {more} more" if more > 0 else told


def heavy(worked: Worked, grams: Fraction) -> str:
    """A weight in a sentence. Method 1 told it to the last digit."""
    return f"{kilograms(grams)} kg" if worked.method == "1" else weight(grams)["shown"]


def until(up_to: UpTo, purse: Purse) -> dict[str, str | None]:
    """Up to which rate an hour something pays."""
    if up_to is None:
        return {"pays": "at any rate", "up_to": None}
    if up_to == 0:
        return {"pays": NEVER, "up_to": None}
    return {"pays": "below a rate", "up_to": purse.up_to(up_to)}


def _untold(worked: Worked, number: int, lacking: Mapping[str, str]) -> str:
    """That nobody can say whether a part is better opened, and for want of which prices."""
    name, whole = worked.pricing.offers[number].part.given.name, worked.pricing.offers[number].whole
    wanting = list(lacking)
    if whole.pay is None:
        wanting.insert(0, f"{name} as it is")
    why = [f"there is no price of {named(worked, wanting)}"] if wanting else []
    if worked.unshared and not number:
        why.append(f"nobody knows how much there is of {named(worked, worked.unshared)}")
    return f"Whether opening {name} pays cannot be told: {', and '.join(why)}."


def _staying(worked: Worked, number: int, purse: Purse) -> str:
    """Why a part stays on."""
    off, lacking = taking_off(worked, number), unpriced_on(worked, number)
    if lacking or off is None:
        wanting = named(worked, lacking)
        return f"It stays on. Whether taking it off pays cannot be told: there is no price of {wanting}."
    unless = turning_out(worked, decides_taking(worked, number))
    return f"It stays on: taking it off would bring {_less(off, purse, worked)}{unless}."


def _doubted(worked: Worked) -> Iterator[str]:
    """Behind a plan: of what that is in hand it counts the least, and where what nobody knows decides."""
    if worked.method in UNDOUBTED:
        return
    cheapest, taking, opening = [], [], []
    for number, offer in enumerate(worked.pricing.offers):
        done, name = worked.choices[number], offer.part.given.name
        if done == SELL and offer.line is not None:
            cheapest.append(name)
        lacks, unsure = worked.doubts.lacks[number], worked.doubts.opening[number]
        if done == STAY and (offer.whole.pay is None or lacks or worked.doubts.taking[number]):
            taking.append(name)
        if number and ((done in {SELL, LEAVE} and lacks) or (done in {SELL, LEAVE, OPEN} and unsure)):
            opening.append(name)  # of the device itself it is told by what it depends on
    if worked.unshared and worked.plan.opened[0]:
        yield f"Counted as nothing, since nobody knows how much there is: {named(worked, worked.unshared)}."
    if cheapest:
        yield f"Counted as the cheapest that is possible: {named(worked, cheapest)}."
    if taking:
        yield f"Whether taking off pays cannot be told: {named(worked, taking)}."
    if opening:
        yield f"Whether opening pays cannot be told: {named(worked, opening)}."


def _unless(worked: Worked, purse: Purse) -> str:
    """Behind a plan that does not open the device: from what on that which is left over would change it."""
    if worked.moves.more is None:
        return ""
    return f", unless what is left of it brings more than {_per_unit(worked, worked.moves.more, purse)}"


def _left(worked: Worked, number: int) -> str:
    """Behind what opening a part would bring: what that does not count."""
    if number not in worked.unnamed:
        return ""
    grams = left_grams(worked, number)
    return f", with {heavy(worked, grams)} left over that nobody named, and that counts as nothing"


def _as_long(worked: Worked, purse: Purse) -> Iterator[str]:
    """Behind a plan that opens the device: what it does not count, and what would change it."""
    opened = [
        number for number in worked.unnamed if worked.plan.reached[number] and worked.plan.opened[number]
    ]
    grams = sum((left_grams(worked, number) for number in opened), NOTHING)
    if grams:
        yield f"Nobody named what is left over, {heavy(worked, grams)}: it counts as nothing."
    for limit in limits(worked, purse):
        yield limit.says


def limits(worked: Worked, purse: Purse) -> Iterator[Limit]:
    """What that which nobody named would have to cost, or to bring, for another plan."""
    less, more = worked.moves
    for does, move in (("costs", less), ("brings", more)):
        if move is not None:
            then = then_done(worked, move.then)
            says = f"Where it {does} more than {_per_unit(worked, move, purse)} it is better to {then}."
            yield Limit(does, _figure(worked, move), move.then, says)


def _figure(worked: Worked, move: Margin) -> str:
    unit, minor = worked.pricing.prices.unit, worked.pricing.minor
    return no_less(abs(move.by) * Fraction(unit.grams) / minor)


def _as_long_as(worked: Worked) -> str:
    """Behind whether to open the device: up to what that holds, where what nobody named decides it, and that
    counts as nothing. It was told behind the plan alone up to method 5.
    """
    less = worked.moves.less
    if worked.method in UP_TO_5 or less is None or less.then.node:
        return ""
    unit, minor = worked.pricing.prices.unit, worked.pricing.minor
    figure = no_more(abs(less.by) * Fraction(unit.grams) / minor)
    costs = f"no more than {figure} {worked.pricing.prices.currency} per {unit.symbol}"
    return f", as long as what nobody named of it costs {costs if Decimal(figure) else 'nothing'}"


def _per_unit(worked: Worked, move: Margin, purse: Purse) -> str:
    """What something brings, or costs, by the unit of the place."""
    return f"{_figure(worked, move)} {purse.currency} per {worked.pricing.prices.unit.symbol}"


def _more(gained: Gained, purse: Purse) -> str:
    hourly = purse.per_hour(gained)
    by_the_hour = "" if hourly is None else f", {hourly} an hour"
    return f"{purse.more(gained)} more for {_minutes(gained)}{by_the_hour}"


def _less(gained: Gained, purse: Purse, worked: Worked) -> str:
    if gained.paid < 0:
        return f"{purse.more(gained, less=True)} less"
    if gained.paid == 0:
        return "no more"
    rate = purse.amount(worked.plan.rate)
    return f"{_more(gained, purse)}, and an hour is worth {rate}"


def _minutes(gained: Gained) -> str:
    told = minutes_of(gained.minutes, gained.minute)
    return f"{told} minute" if told == "1" else f"{told} minutes"
