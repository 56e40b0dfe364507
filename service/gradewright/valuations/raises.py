"""The work that would raise a part, as canonical JSON: by method 1 single preparations, later sequences.

What does not depend on the part's weight is encoded once for each sequence.
"""

from __future__ import annotations

from decimal import Decimal
from math import lcm
from typing import Any, NamedTuple

import msgspec

from gradewright.core.decimals import ROUNDING, trimmed
from gradewright.core.money import TO_WHOLE, Rounding
from gradewright.core.raising import Raised
from gradewright.core.rates import Ratio
from gradewright.core.routes import Route
from gradewright.core.rulebook import Preparation, Rulebook
from gradewright.core.valued import Raises
from gradewright.core.worthwhile import Worthwhile
from gradewright.valuations.amounts import Cents, spelled

HUNDREDTHS = Decimal("0.01")  # of a minute
GRAMS_A_KILOGRAM = 1000
MILLIGRAMS = 1_000_000  # in a kilogram
FORMS_KEPT = 5_000
BEST = {
    (True, True): '["by the hour","in all"]',
    (True, False): '["by the hour"]',
    (False, True): '["in all"]',
    (False, False): "[]",
}
_encode = msgspec.json.Encoder(order="sorted").encode
_half_even = TO_WHOLE[Rounding.HALF_EVEN]


class RouteForm(NamedTuple):
    """The text of a sequence between what depends on the weight; of each pile and each step likewise."""

    to_gain: str
    to_kept: str
    to_per_hour: str
    to_shed: str
    kept_and_lost: tuple[int, int, int]
    shed: list[tuple[str, int, int]]
    steps: list[tuple[str, str]]


class WorkText:
    """Encodes the work on parts, and keeps the forms that it has made."""

    def __init__(self) -> None:
        self._forms: dict[Route, RouteForm] = {}

    def encode(self, raises: Raises, book: Rulebook, cents: Cents) -> str:
        """The work on one part, best first, as a list."""
        return "[" + ",".join([self._one(each, book, cents) for each in raises]) + "]"

    def _one(self, each: Raised | Worthwhile, book: Rulebook, cents: Cents) -> str:
        if isinstance(each, Raised):
            return _encode(_raised(each, book, cents)).decode()
        form = self._forms.get(each.route)
        if form is None:
            if len(self._forms) >= FORMS_KEPT:
                self._forms.clear()
            form = self._forms[each.route] = _form(each.route, book)
        return _filled(form, each, cents)


def _filled(form: RouteForm, found: Worthwhile, cents: Cents) -> str:
    mass, parts = found.lump.ratio
    parts *= GRAMS_A_KILOGRAM
    kept, lost, under = form.kept_and_lost
    under *= parts
    shed = [
        f'{{"amount":{_money(amount, cents)},{grade}"weight_kg":"{_kilograms(share * mass, whole * parts)}"}}'
        for amount, (grade, share, whole) in zip(found.shed(), form.shed, strict=True)
    ]
    minutes = _minutes(found.minutes)
    if len(form.steps) == 1:
        steps = minutes.join(form.steps[0])
    else:
        each = zip(form.steps, found.minutes_of(), strict=True)
        steps = ",".join([_minutes(time).join(around) for around, time in each])
    lost_kg = _kilograms(lost * mass, under) if lost else "0"
    best = BEST[found.best_by_the_hour, found.best_in_all]
    about = "" if found.about is None else f'"about_pieces":{found.about},'
    return (
        f'{{{about}"best":{best}{form.to_gain}{spelled(found.gain, cents)}'
        f'{form.to_kept}{_kilograms(kept * mass, under)}","lost_kg":"{lost_kg}",'
        f'"minutes":"{minutes}{form.to_per_hour}{_money(found.per_hour, cents)}'
        f'{form.to_shed}{",".join(shed)}],"steps":[{steps}]}}'
    )


def _form(route: Route, book: Rulebook) -> RouteForm:
    only = route.steps[0] if len(route.steps) == 1 else None
    under = lcm(route.kept.denominator, route.lost.denominator)
    cautions = list(dict.fromkeys(name for step in route.steps for name in step.cautions))
    named = {"grade": route.grade, "grade_name": book.grades[route.grade].name}
    how = only.how if only is not None else None
    shed = [
        (_members(grade=grade, grade_name=book.grades[grade].name), share.numerator, share.denominator)
        for grade, share in route.shed
    ]
    steps = [
        (
            f'{{{_members(cautions=step.cautions, how=step.how)}"minutes":"',
            f'",{_members(name=step.name, preparation=step.id)[:-1]}}}',
        )
        for step in route.steps
    ]
    return RouteForm(
        to_gain=f',{_members(cautions=cautions)}"gain":"',
        to_kept=f'",{_members(**named, how=how)}"kept_kg":"',
        to_per_hour=f'",{_members(name=in_words(route.steps))}"per_hour":',
        to_shed=f',{_members(preparation=only.id if only is not None else None)}"shed":[',
        kept_and_lost=(int(route.kept * under), int(route.lost * under), under),
        shed=shed,
        steps=steps,
    )


def _members(**values: Any) -> str:
    """Members as they stand within an object, with a comma behind them."""
    return _encode(values)[1:-1].decode() + ","


def in_words(steps: tuple[Preparation, ...]) -> str:
    """The steps in one phrase: "Cut the plug off, then strip the cord"."""
    first, *others = (step.name for step in steps)
    return ", then ".join((first, *(_within(name) for name in others)))


def _within(name: str) -> str:
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def _money(amount: int | None, cents: Cents) -> str:
    return "null" if amount is None else f'"{spelled(amount, cents)}"'


def _minutes(minutes: Ratio) -> str:
    hundredths = _half_even(minutes[0] * 100, minutes[1])
    whole, rest = divmod(hundredths, 100)
    return f"{whole}.{rest:02d}".rstrip("0") if rest else str(whole)


def _kilograms(over: int, under: int) -> str:
    """A weight to the milligram."""
    whole, rest = divmod(_half_even(over * MILLIGRAMS, under), MILLIGRAMS)
    return f"{whole}.{rest:06d}".rstrip("0") if rest else str(whole)


def _raised(raised: Raised, book: Rulebook, cents: Cents) -> dict[str, Any]:
    """By method 1."""
    preparation, grade = raised.step.preparation, raised.step.grade
    return {
        "preparation": preparation.id,
        "name": preparation.name,
        "how": preparation.how,
        "minutes": trimmed(raised.minutes.quantize(HUNDREDTHS, context=ROUNDING)),
        "grade": grade,
        "grade_name": book.grades[grade].name,
        "gain": spelled(raised.gain, cents),
        "per_hour": None if raised.per_hour is None else spelled(raised.per_hour, cents),
        "cautions": preparation.cautions,
    }
