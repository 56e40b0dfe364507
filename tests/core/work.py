"""Work on parts, looked at so plainly that it is plainly right: every sequence, one after the other."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from random import Random

from tests.core.rulebooks import attribute, points, rulebook

from gradewright.core.observations import Kind, Value
from gradewright.core.pricelist import Level, PriceList, tiers_of
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Condition, Grade, Preparation, Rulebook, Shed, When
from gradewright.core.sightings import Sighting
from gradewright.core.units import MASS_UNITS

DAY = date(2026, 5, 4)
GRADES = ("g0", "g1", "g2", "g3")
KILOGRAM = Decimal(1000)
Part = Mapping[str, Value]
GradeOf = Callable[[Part], str | None]


@dataclass(frozen=True)
class Done:
    """One sequence, done: the part's grade, and the shares of its weight that are kept and shed, by grade."""

    steps: tuple[Preparation, ...]
    grade: str | None
    kept: Fraction
    shed: Mapping[str, Fraction]
    minutes: Fraction

    @property
    def ids(self) -> tuple[str, ...]:
        return tuple(step.id for step in self.steps)


def met(when: When, part: Part) -> bool:
    """Whether a clause is known to hold."""
    return all(c.attribute in part and c.holds(part[c.attribute]) for c in when)


def still_told(book: Rulebook, grade_of: GradeOf, part: Part) -> Part:
    """What is known of a part, without what can be told of no part that is known by the rest."""
    only = {name for entry in book.told_of for name in entry.attributes}
    rest = {name: value for name, value in part.items() if name not in only}
    others = {
        each.name: points(each)
        for each in book.attributes.values()
        if each.kind in (Kind.CHOICE, Kind.YES_NO)
    }
    if grade_of(rest) == "!":
        return part
    return {
        name: value
        for name, value in part.items()
        if name not in only or any(grade_of({**rest, name: v}) != "!" for v in (value, *others.get(name, ())))
    }


def sequences(
    book: Rulebook, part: Part, grade_of: GradeOf, *, pieces: int, grams: Fraction
) -> Iterator[Done]:
    """Every sequence that never comes back to a description; `grade_of` gives "!" for what cannot be."""

    def onward(here: Part, been: Sequence[Part], so_far: Done) -> Iterator[Done]:
        if grade_of(here) == "!":
            return
        for preparation in book.preparations.values():
            if not met(preparation.when, here) or any(met(when, here) for when in preparation.unless):
                continue
            comes_off = [(each.grade, so_far.kept * Fraction(each.of(here))) for each in preparation.sheds]
            kept = so_far.kept - sum(off for _, off in comes_off)
            if kept <= 0:
                continue
            after = {**here, **preparation.changes}
            after = {name: value for name, value in after.items() if value is not None}
            after = dict(still_told(book, grade_of, after))
            if after in been:
                continue
            shed = dict(so_far.shed)
            for grade, off in comes_off:
                if grade is not None and off:
                    shed[grade] = shed.get(grade, Fraction(0)) + off
            often = pieces if preparation.per == "piece" else so_far.kept * grams / 1000
            minutes = so_far.minutes + Fraction(preparation.minutes) * often
            steps = (*so_far.steps, preparation)
            done = Done(steps, grade_of(after), kept, shed, minutes)
            yield done
            yield from onward(after, [*been, after], done)

    yield from onward(part, [part], Done((), grade_of(part), Fraction(1), {}, Fraction(0)))


@dataclass(frozen=True)
class Paid:
    """A sequence with what it adds, in minor units."""

    done: Done
    gain: int

    def beats(self, other: Paid) -> bool:
        """Whether it adds as much in as little time, and is not just the same."""
        mine, others = (self.done.minutes, -self.gain), (other.done.minutes, -other.gain)
        if mine == others:
            return (len(self.done.ids), self.done.ids) < (len(other.done.ids), other.done.ids)
        return mine[0] <= others[0] and mine[1] <= others[1]


def best(
    found: Sequence[Done], before: str, prices: PriceList, beside: Mapping[str, Decimal], grams: Decimal
) -> list[Paid]:
    """Those that pay and that no other beats, best per hour first; `beside` is what else is in the list."""

    def amount(grade: str, weight: Fraction) -> Fraction | None:
        exact = Decimal(weight.numerator) / Decimal(weight.denominator)
        price = prices.price(grade, beside.get(grade, Decimal(0)) + exact)
        if price is None:
            return None
        return Fraction(price.likely.price) * 100 / Fraction(price.likely.per_grams) * weight

    now = amount(before, Fraction(grams))
    assert now is not None
    paying = []
    for done in found:
        if done.grade is None or done.grade == "!" or (done.grade == before and not done.shed):
            continue
        piles = dict(done.shed)
        piles[done.grade] = piles.get(done.grade, Fraction(0)) + done.kept
        amounts = {grade: amount(grade, share * Fraction(grams)) for grade, share in piles.items()}
        if amounts[done.grade] is None:
            continue
        gain = round(sum(each for each in amounts.values() if each is not None) - now)
        if gain > 0:
            paying.append(Paid(done, gain))
    front = [each for each in paying if not any(other.beats(each) for other in paying)]
    return sorted(front, key=_best_first)


def _best_first(each: Paid) -> tuple[bool, Fraction, int]:
    hourly = Fraction(each.gain) / each.done.minutes if each.done.minutes else Fraction(0)
    return each.done.minutes > 0, -hourly, -each.gain


def price_list(book: Rulebook, posted: Mapping[str, Mapping[str | None, str]]) -> PriceList:
    """Prices in dollars a kilogram, by grade and from-weight (None: for any lot)."""
    seen: dict[str, list[Sighting]] = {}
    for grade, tiers in posted.items():
        for written, price in tiers.items():
            grams = Decimal(written.split()[0]) * KILOGRAM if written else Decimal(0)
            rate = Rate(Decimal(price), KILOGRAM)
            sighting = Sighting(1, 1, "low-quay", "wren", DAY, "sign", rate, grams, written)
            seen.setdefault(grade, []).append(sighting)
    level = Level("region", "XO-KEL", "Kelder Bay", tiers_of(seen, DAY, book.pricing))
    return PriceList(book, [level], on=DAY, currency="USD", unit=MASS_UNITS["kg"])


PRICES = ("-0.40", "0.01", "0.50", "1.00", "1.00", "2.00", "7.77", "12.3456")
SHARES = ("0", "0.05", "0.3", "0.9", "1")
FROM = (None, "1 kg", "2 kg")


def posted(chance: Random, grades: Sequence[str]) -> dict[str, dict[str | None, str]]:
    """Prices for most of the grades, some of them from a weight on."""
    found: dict[str, dict[str | None, str]] = {}
    for grade in grades:
        tiers = chance.choice([0, 1, 1, 1, 1, 2, 3])
        if tiers:
            found[grade] = {written: chance.choice(PRICES) for written in chance.sample(FROM, tiers)}
    return found


def worked(chance: Random) -> tuple[Rulebook, dict[str, Value]]:
    """A random rulebook whose preparations follow one another, and a part of which most is known."""
    attributes = [attribute(f"a{n}", Kind.YES_NO) for n in range(chance.randint(2, 4))]
    attributes.append(attribute("form", Kind.CHOICE, ("red", "white", "grey")))
    # No rule asks for it: it only says how much comes off.
    measured = attribute("measured", Kind.SHARE)

    def when(most: int) -> When:
        some = chance.sample(attributes, chance.randint(1, most))
        return tuple(Condition(a.name, (chance.choice(points(a)),)) for a in some)

    rules = [(when(3), chance.choice(GRADES)) for _ in range(chance.randint(2, 8))]
    # What no other rule takes is of the last grade, so that most parts have one.
    rules.append(((), GRADES[-1]))
    made = {}
    # Not in the order of their names, which decides between two that come to the same.
    for number in chance.sample(range(6), chance.randint(3, 6)):
        changed = chance.sample(attributes, chance.randint(1, 2))
        made[f"p{number}"] = Preparation(
            id=f"p{number}",
            name=f"Work {number}",
            when=when(chance.choice([1, 1, 1, 2])),
            changes={a.name: chance.choice([None, *points(a), *points(a)]) for a in changed},
            minutes=Decimal(chance.choice(["0", "1", "2.5", "30"])),
            per=chance.choice(["piece", "kg"]),
            how="-",
            sheds=tuple(shed(chance) for _ in range(chance.choice([0, 1, 1, 1, 2]))),
            unless=tuple(when(2) for _ in range(chance.choice([0, 0, 0, 0, 1]))),
        )
    impossible = [when(2) for _ in range(chance.randint(0, 1))]
    grades = {grade: Grade(grade, grade, "any", "-") for grade in GRADES}
    book = replace(rulebook([*attributes, measured], rules, impossible), preparations=made, grades=grades)
    known = chance.sample(attributes, len(attributes) - chance.choice([0, 0, 1]))
    part = {a.name: chance.choice(points(a)) for a in known}
    return book, part if chance.random() < 0.5 else {**part, "measured": Decimal(chance.choice(SHARES))}


def shed(chance: Random) -> Shed:
    """What comes off in random work: less than half, so that two leave something."""
    grade, share = chance.choice([None, *GRADES]), Decimal(chance.choice(["0", "0", "0.1", "0.25", "0.4"]))
    return chance.choice([Shed(grade, share), Shed(grade, share, "measured", chance.random() < 0.5)])
