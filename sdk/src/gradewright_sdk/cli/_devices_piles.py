"""Whether what comes out of all devices of a list is paid better where it is sold as one pile."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from gradewright_sdk._money import Money

if TYPE_CHECKING:
    from gradewright_sdk._models import Teardown

MOST_TRIES = 4
Asking = Callable[[Mapping[str, str]], Sequence["Teardown"]]
"""The devices asked again, with lots by grade."""


@dataclass(frozen=True, slots=True)
class OnePile:
    """So much more is left where all devices' piles go together; `lots`: what to ask again with for that."""

    gain: Money
    lots: Mapping[str, str]

    @property
    def says(self) -> str:
        """That, in a sentence."""
        lots = " ".join(f'--lot "{grade}={lot}"' for grade, lot in self.lots.items())
        return (
            f"Each device is priced by itself. What comes out of all of them, sold together, leaves "
            f"{self.gain.amount:f} more; to have that counted: {lots}"
        )


def one_pile(found: Sequence[Teardown], named: Iterable[str], asking: Asking) -> OnePile | None:
    """What is left more; None where it is no more. `named`: grades of which a lot was told already, which is
    all there is of them. Nothing is asked where no two devices have a grade in common, or where a lot was
    told by another name of its grade, which may be one of those in common.

    They are asked with what their plans come to together. Where a plan with that brings less of a grade after
    all, they are asked with what it does bring, until no lot is heavier than what there is for it.
    """
    among = Counter(pile.grade for one in found for pile in one.piles)
    named = set(named)
    if not named <= {*among, *(price.grade for one in found for price in one.prices)}:
        return None
    common = {grade for grade, devices in among.items() if devices > 1 and grade not in named}
    lots = {grade: kg for grade, kg in _piles(found).items() if grade in common and kg}
    for _ in range(MOST_TRIES if lots else 0):
        again = asking({grade: f"{kg:f} kg" for grade, kg in lots.items()})
        there = _piles(again)
        less = {grade: there.get(grade, Decimal(0)) for grade, kg in lots.items()}
        less = {grade: kg for grade, kg in less.items() if kg < lots[grade]}
        if not less:
            return _told(found, again, lots)
        lots = {grade: kg for grade, kg in {**lots, **less}.items() if kg}
        if not lots:
            break
    return None


def _told(found: Sequence[Teardown], again: Sequence[Teardown], lots: Iterable[str]) -> OnePile | None:
    currency = found[0].currency
    now, then = (Money.total((one.net for one in each), currency) for each in (found, again))
    before, after = _tiers(found), _tiers(again)
    better = {grade: after[grade] for grade in lots if grade in after and before.get(grade) != after[grade]}
    return OnePile(then - now, better) if better and then > now else None


def _piles(found: Sequence[Teardown]) -> dict[str, Decimal]:
    """What all of them have in the plans, by grade."""
    there: dict[str, Decimal] = {}
    for pile in (pile for one in found for pile in one.piles):
        there[pile.grade] = there.get(pile.grade, Decimal(0)) + pile.weight.kg
    return there


def _tiers(found: Sequence[Teardown]) -> dict[str, str]:
    """From which weight on the prices are that all devices are counted at: of grades where that is one."""
    told: dict[str, set[str | None]] = {}
    for one in found:
        for counted in one.prices:
            if counted.price is not None:
                told.setdefault(counted.grade, set()).add(counted.price.from_weight)
    only = {grade: next(iter(lots)) for grade, lots in told.items() if len(lots) == 1}
    return {grade: lot for grade, lot in only.items() if lot is not None}
