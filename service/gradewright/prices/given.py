"""Prices as they are given, one line each, checked against the yard and the rulebook of the day."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypeVar

from gradewright.core.errors import CurrencyError, Fault, GradewrightError, Path, Refused, UnknownGrade
from gradewright.core.house import fold
from gradewright.core.money import currency
from gradewright.core.rulebook import Rulebook
from gradewright.core.units import mass_unit, parse_mass
from gradewright.prices.list_names import Near, NearNames
from gradewright.rulebooks.nearest import NearGrade
from gradewright.rulebooks.service import resolve_grade
from gradewright.yards.service import Atlas, Yard

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class PriceGiven:
    """One price as posted: a grade by any of its names, or the yard's own label for it."""

    price: Decimal
    currency: str
    per: str
    grade: str | None = None
    label: str | None = None
    from_weight: str | None = None


@dataclass(frozen=True, slots=True)
class Checked:
    """A price that can be stored: its grade and unit are known, its currency is the yard's."""

    grade: str
    label: str | None
    price: Decimal
    currency: str
    per: str
    from_weight: str | None


class LineReader:
    """Reads the lines of one posting, and gathers what is wrong with any of them."""

    def __init__(self, atlas: Atlas, yard: Yard, rulebook: Rulebook, on: date) -> None:
        self.faults: list[Fault] = []
        self.kinds: set[type[GradewrightError]] = set()
        self._atlas = atlas
        self._yard = yard
        self._rulebook = rulebook
        self._on = on
        self._refused = atlas.refusals(yard.region, yard.slug, on)
        self._labels = atlas.label_table(yard.region, yard.slug, on)
        self._names = NearNames(self._labels, rulebook)
        self.near: tuple[Near, ...] = ()

    def read(self, price: PriceGiven, at: Path) -> Checked | None:
        """The line, or None where something is wrong with it: every fault of it is then in `faults`."""
        before = len(self.faults)
        self._try(lambda: self._currency(price.currency), at)
        grade = self._try(lambda: self._grade(price), at)
        per = self._try(lambda: mass_unit(price.per).symbol, (*at, "per"))
        from_weight = price.from_weight
        if from_weight is not None:
            self._try(lambda: parse_mass(from_weight), (*at, "from_weight"))
        if grade is None or per is None or len(self.faults) > before:
            return None
        return Checked(grade, price.label, price.price, price.currency, per, from_weight)

    def _try(self, read: Callable[[], T], at: Path) -> T | None:
        try:
            return read()
        except GradewrightError as error:
            # Only what has a name of its own beside "refused" tells the kind of the whole refusal.
            self.kinds.add(type(error) if isinstance(error, UnknownGrade | CurrencyError) else Refused)
            found = error.faults or (Fault(error.detail),)
            self.faults.extend(fault.under(*at) for fault in found)
            return None

    def _currency(self, code: str) -> None:
        pays_in = self._yard.currency
        try:
            currency(code)
        except CurrencyError as error:
            raise Refused(error.detail, faults=tuple(f.under("currency") for f in error.faults)) from error
        if code != pays_in:
            detail = f"{self._yard.slug} pays in {pays_in}; a price in {code} cannot be its."
            raise CurrencyError(detail, faults=(Fault(detail, ("currency",), (pays_in,)),))

    def _grade(self, price: PriceGiven) -> str:
        if price.grade is not None:
            grade, at = resolve_grade(self._rulebook, price.grade, ("grade",)), "grade"
        else:
            grade, at = self._labelled(price.label or ""), "label"
        if grade in self._refused:
            name = self._rulebook.grades[grade].name
            word = self._refused[grade]
            whole = "" if word.is_yard else f", as yards in {word.by} do not"
            detail = (
                f"{self._yard.slug} does not take {name}{whole}, since {word.since.isoformat()}. "
                "If that has changed, tell a maintainer."
            )
            raise Refused(detail, faults=(Fault(detail, (at,)),))
        return grade

    def _stands_for(self, label: str) -> str | None:
        found = self._labels.get(fold(label))
        return found.grade if found is not None else None

    def _begins(self, label: str) -> str:
        """From when on it is a label there, where it is one later: it may be the day that is wrong."""
        since = self._atlas.label_begins(self._yard.slug, label, self._on)
        return "" if since is None else f"; it is one from {since.isoformat()} on"

    def _labelled(self, label: str) -> str:
        grade = self._stands_for(label)
        if grade is None:
            raise self._unknown(label, "write one of its labels in full, or name the grade instead.")
        if grade not in self._rulebook.grades:
            detail = (
                f"{label!r} stands for {grade} at {self._yard.slug}, a grade that rulebook "
                f"{self._rulebook.version} of {self._on} does not have. Name the grade instead."
            )
            raise UnknownGrade(detail, faults=(Fault(detail, ("label",)),))
        return grade

    def _unknown(self, label: str, what_to_do: str) -> UnknownGrade:
        """The error that tells what is near a label which the yard does not have: it is never guessed."""
        self.near = self._names.near(label)
        labels = tuple(near.written for near in self.near if near.kind == "label")
        grades = [NearGrade(near.grade, near.written) for near in self.near if near.kind == "grade"]
        named = self._rulebook.grade_named(label)
        meant = f" It is a name of the grade {named}." if named is not None else ""
        if labels:
            meant += f" Its nearest labels: {', '.join(map(repr, labels))}."
        if grades and named is None:
            meant += f" The nearest grades: {', '.join(map(str, grades))}."
        detail = (
            f"{label!r} is not a label of {self._yard.slug} on {self._on}{self._begins(label)}.{meant} "
            f"It is not guessed: {what_to_do}"
        )
        return UnknownGrade(detail, faults=(Fault(detail, ("label",), labels),))
