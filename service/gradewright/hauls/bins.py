"""Bins as given, or as the piles of a kept valuation, read against one rulebook: all faults at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

from gradewright.core.decimals import EXACT, trimmed
from gradewright.core.errors import Fault, GradewrightError, Path, Refused, UnknownGrade
from gradewright.core.haul.plan import Lot
from gradewright.core.units import show_mass
from gradewright.hauls.given import BinGiven
from gradewright.hauls.lower_kin import lower_kin
from gradewright.rulebooks.service import Version, resolve_grade
from gradewright.valuations.weights import KILOGRAM, weigh

MOST_LOTS = 40
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Bin:
    """A bin: `grades` has those as which it may be sold, its own first; `named` those of them that were asked
    for, as often as they were.
    """

    name: str
    grades: tuple[str, ...]
    grams: Decimal
    given: str
    lots: int = 1
    named: tuple[str, ...] = ()

    @property
    def grade(self) -> str:
        """What it is."""
        return self.grades[0]

    def lot(self, number: int) -> Lot:
        """One of its equal lots."""
        return Lot(number, Fraction(self.grams) / self.lots, self.grades)


def read_bins(given: Sequence[BinGiven], version: Version, *, lower: bool, later: bool) -> list[Bin]:
    """The bins of a request; `later` as in `lower_kin`. Raises `UnknownGrade` or `Refused` with every fault,
    each where it stands.
    """
    faults: list[Fault] = []
    kinds: set[type[GradewrightError]] = set()

    def tried(at: Path, work: Callable[[], T]) -> T | None:
        try:
            return work()
        except GradewrightError as error:
            kinds.add(type(error))
            found = error.faults or (Fault(error.detail),)
            faults.extend(Fault(fault.detail, at, fault.suggestions) for fault in found)
            return None

    bins = []
    for number, each in enumerate(given):
        at = ("bins", number)
        weight = tried((*at, "weight"), lambda each=each: weigh(each.weight, 1))  # type: ignore[misc]
        grade = tried((*at, "grade"), lambda each=each: resolve_grade(version.rulebook, each.grade, ()))  # type: ignore[misc]
        named = [
            tried((*at, "lower_to", place), lambda slug=slug: resolve_grade(version.rulebook, slug, ()))  # type: ignore[misc]
            for place, slug in enumerate(each.lower_to or ())
        ]
        if weight is None or grade is None:
            continue
        others = [slug for slug in named if slug is not None]
        if each.lower_to is None:
            others = list(lower_kin(version.rulebook.grades, grade, later=later)) if lower else []
        asked = tuple(others) if each.lower_to is not None else ()
        grades = tuple(dict.fromkeys((grade, *others)))
        bins.append(Bin(each.name, grades, weight.grams, weight.given, each.lots, asked))
    if sum(each.lots for each in given) > MOST_LOTS:
        detail = f"The bins come to more than {MOST_LOTS} lots. Put alike ones together, or ask in two hauls."
        faults.append(Fault(detail, ("bins",)))
        kinds.add(Refused)
    if faults:
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        kind = UnknownGrade if kinds == {UnknownGrade} else Refused
        raise kind(faults[0].detail + more, faults=tuple(faults))
    return bins


def bins_of(valuation: Mapping[str, Any], version: Version, *, lower: bool, later: bool) -> list[Bin]:
    """The piles of a valuation's answer as bins, by the names of their grades; `later` as in `lower_kin`."""
    bins, faults = [], []
    for pile in valuation["piles"]:
        slug = pile["grade"]
        if slug not in version.rulebook.grades:
            detail = f"{slug} of the valuation is not a grade of rulebook {version.rulebook.version}."
            faults.append(Fault(f"{detail} Ask by {valuation['pins']['rulebook']}.", ("rulebook",)))
            continue
        grades = (slug, *(lower_kin(version.rulebook.grades, slug, later=later) if lower else ()))
        grams = EXACT.multiply(Decimal(pile["weight_kg"]), KILOGRAM)
        bins.append(Bin(pile["name"], grades, grams, f"{pile['weight_kg']} kg"))
    if not faults and len(bins) > MOST_LOTS:
        detail = f"The valuation has {len(bins)} piles; a haul takes {MOST_LOTS}. Give the heaviest as bins."
        faults.append(Fault(detail, ("valuation",)))
    if not faults and not bins:
        detail = "No part of the valuation has a grade, so there is nothing to haul. Settle the parts first."
        faults.append(Fault(detail, ("valuation",)))
    if faults:
        raise Refused(faults[0].detail, faults=tuple(faults))
    return bins


def shown_weight(grams: Fraction) -> dict[str, str]:
    """A weight for an answer: in kilograms, to the milligram where it has more digits, and for people."""
    exact = grams.denominator == 1 or _ends(grams.denominator)
    micro = Decimal(round(grams * 1000))
    decimal = (
        EXACT.divide(Decimal(grams.numerator), Decimal(grams.denominator)) if exact else micro.scaleb(-3)
    )
    return {"weight_kg": trimmed(decimal.scaleb(-3, EXACT)), "shown": show_mass(decimal)}


def _ends(denominator: int) -> bool:
    """Whether a fraction of it can be written out in decimals."""
    for prime in (2, 5):
        while denominator % prime == 0:
            denominator //= prime
    return denominator == 1
