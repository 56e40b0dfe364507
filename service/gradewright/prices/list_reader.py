"""Reads the lines of a whole list: what a line does not say stands in the yard's terms."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from gradewright.core.errors import Fault, GradewrightError, Refused, UnknownGrade
from gradewright.core.rulebook import Rulebook
from gradewright.prices.given import Checked, LineReader, PriceGiven
from gradewright.prices.list_changes import Key, key_of
from gradewright.prices.list_names import Near
from gradewright.yards.service import Atlas, Yard

NOTHING = Decimal(0)
MOST_STEPS = 100
"""From-weights of one grade: every step is worked out for a price list, from all that are below it."""


@dataclass(frozen=True, slots=True)
class ListLine:
    """One line of a list as it was sent; what could not be read of it is None, and told in `faults`."""

    number: int
    price: Decimal | None
    label: str | None = None
    grade: str | None = None
    currency: str | None = None
    per: str | None = None
    from_weight: str | None = None
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True)
class LineRead:
    """What a line says, or what is wrong with it, `unknown` where that is its grade or label.

    `named`: the grade that it is about, where that can be told of a faulty line.
    """

    checked: Checked | None
    faults: tuple[Fault, ...] = ()
    unknown: bool = False
    named: str | None = None
    near: tuple[Near, ...] = ()


class ListReader(LineReader):
    """Reads one line after the other; the same grade twice for the same from-weight is a fault too."""

    def __init__(self, atlas: Atlas, yard: Yard, rulebook: Rulebook, on: date) -> None:
        super().__init__(atlas, yard, rulebook, on)
        self._seen: dict[Key, int] = {}
        self._steps: Counter[str] = Counter()
        self._named: str | None = None

    def line(self, line: ListLine) -> LineRead:
        """The line, with every fault of it."""
        self.faults, self.near, self._named = [], (), None
        before = set(self.kinds)
        self.kinds = set()
        terms = self._yard
        checked = self.read(
            PriceGiven(
                NOTHING if line.price is None else line.price,
                line.currency or terms.currency,
                line.per or terms.unit,
                line.grade,
                line.label,
                line.from_weight,
            ),
            (),
        )
        if checked is not None and not line.faults:
            self._once(checked, line.number)
        unknown = UnknownGrade in self.kinds
        self.kinds |= before | ({Refused} if line.faults else set())
        faults = (*line.faults, *(replace(fault, line=line.number) for fault in self.faults))
        return LineRead(None if faults else checked, faults, unknown, self._named, self.near)

    def refusal(self, faults: Sequence[Fault]) -> GradewrightError:
        """The error that tells all faults of the list; of a kind of its own where there is only one kind."""
        kind = next(iter(self.kinds)) if len(self.kinds) == 1 else Refused
        first = faults[0]
        column = f", {first.at[0]}" if first.at else ""
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        detail = f"line {first.line}{column}: {first.detail} Nothing was stored.{more}"
        return kind(detail, faults=tuple(faults))

    def _once(self, price: Checked, number: int) -> None:
        first = self._seen.setdefault(key_of(price), number)
        if first != number:
            detail = f"{price.grade} has a price already, in line {first}: keep the one that was seen."
            self._refuse(Fault(detail))
            return
        self._steps[price.grade] += 1
        if self._steps[price.grade] > MOST_STEPS:
            detail = f"A list has at most {MOST_STEPS} prices of a grade, and {price.grade} has more."
            self._refuse(Fault(detail, ("from_weight",)))

    def _refuse(self, fault: Fault) -> None:
        self.faults.append(fault)
        self.kinds.add(Refused)

    def _grade(self, price: PriceGiven) -> str:
        if price.grade is None and price.label is None:
            return ""  # what was wrong with its name is told already
        grade = self._named = super()._grade(price)
        if price.grade is not None and price.label is not None:
            self._agree(price.label, grade)
        return grade

    def _agree(self, label: str, grade: str) -> None:
        """Where a line names both, the yard's label must not stand for something else."""
        labelled = self._stands_for(label)
        if labelled not in (None, grade):
            detail = f"{label!r} stands for {labelled} at {self._yard.slug} on {self._on}, not for {grade}."
            raise Refused(detail, faults=(Fault(detail, ("label",)),))

    def _labelled(self, label: str) -> str:
        if self._stands_for(label) is not None:
            return super()._labelled(label)
        raise self._unknown(label, "write one of its labels, or name the grade in the column grade.")
