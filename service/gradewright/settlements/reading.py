"""A ticket as given, read against the yard and the rulebook: every fault is told at once, with its place."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import TypeVar

from gradewright.core.decimals import EXACT, plain
from gradewright.core.errors import Fault, GradewrightError, Path, Refused, UnknownGrade
from gradewright.core.house import Label, fold
from gradewright.core.money import minor_per_unit
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Rulebook
from gradewright.core.ticket import Charge, Ticket, TicketLine
from gradewright.core.units import mass_unit, parse_mass
from gradewright.rulebooks.service import resolve_grade
from gradewright.settlements.given import LineGiven, TicketGiven
from gradewright.yards.service import Yard

T = TypeVar("T")
ZERO = Decimal(0)
HEAVIEST = Decimal(10) ** 12  # grams: a million tonnes, beyond any yard's day


class Faults:
    """What is wrong with a request, gathered."""

    def __init__(self) -> None:
        self.found: list[Fault] = []
        self._kinds: set[type[GradewrightError]] = set()

    def add(self, detail: str, *at: str | int, suggestions: tuple[str, ...] = ()) -> None:
        """One more fault."""
        self._kinds.add(Refused)
        self.found.append(Fault(detail, at, suggestions))

    def take(self, read: Callable[[], T], *at: str | int) -> T | None:
        """What `read` gives; None where it refuses, and then its faults are here."""
        try:
            return read()
        except GradewrightError as error:
            self._kinds.add(UnknownGrade if isinstance(error, UnknownGrade) else Refused)
            self.found += [fault.under(*at) for fault in error.faults or (Fault(error.detail),)]
            return None

    def refuse(self) -> None:
        """Raises `UnknownGrade` or `Refused` where anything was found."""
        if self.found:
            more = f" (and {len(self.found) - 1} more)" if len(self.found) > 1 else ""
            kind = UnknownGrade if self._kinds == {UnknownGrade} else Refused
            raise kind(self.found[0].detail + more, faults=tuple(self.found))


def weight(text: str, *, least: Decimal = Decimal("1E-6")) -> Decimal:
    """A weight in grams; `least`: what it has to be. Raises `UnitError`, `Refused`."""
    grams = parse_mass(text).grams
    if not least <= grams <= HEAVIEST:
        bound = "at most a million tonnes" if grams > HEAVIEST else "above zero"
        detail = f"{text!r} is no weight that a scale shows: write one {bound}, such as '12.4 lb'."
        raise Refused(detail, faults=(Fault(detail),))
    return grams


def minor(amount: Decimal, currency: str) -> int:
    """An amount in minor units. Raises `Refused` for one that cannot be paid."""
    units = EXACT.multiply(amount, Decimal(minor_per_unit(currency)))
    if units != units.to_integral_value():
        places = len(str(minor_per_unit(currency))) - 1
        detail = f"{plain(amount)} cannot be paid: an amount in {currency} has at most {places} decimals."
        raise Refused(detail, faults=(Fault(detail),))
    return int(units)


class TicketReader:
    """Reads the lines of one ticket. `labels`: those of the yard on the day, by their folded text."""

    def __init__(self, yard: Yard, rulebook: Rulebook, labels: Mapping[str, Label], faults: Faults) -> None:
        self._yard = yard
        self._rulebook = rulebook
        self._labels = labels
        self._faults = faults

    def read(self, given: TicketGiven) -> Ticket:
        """The ticket; what was faulty is left out of it, and told in `faults`."""
        take, currency = self._faults.take, self._yard.currency
        lines = [self._line(line, ("ticket", "lines", number)) for number, line in enumerate(given.lines)]
        charges = []
        for number, charge in enumerate(given.charges):
            at = ("ticket", "charges", number, "amount")
            charges.append(Charge(charge.label, take(lambda: minor(charge.amount, currency), *at) or 0))  # noqa: B023 - called at once
        total = take(lambda: minor(given.total, currency), "ticket", "total")
        cash = None
        if (paid := given.cash) is not None:
            cash = take(lambda: minor(paid, currency), "ticket", "cash")
        read = tuple(line for line in lines if line is not None)
        return Ticket(currency, read, total or 0, tuple(charges), cash)

    def labelled(self, label: str) -> str | None:
        """The grade that a label stands for at the yard; None for none, or one that the version has not."""
        found = self._labels.get(fold(label))
        return found.grade if found is not None and found.grade in self._rulebook.grades else None

    def _line(self, line: LineGiven, at: Path) -> TicketLine | None:
        take = self._faults.take
        net = take(lambda: weight(line.net), *at, "net")
        gross = self._other(line.gross, *at, "gross")
        tare = self._other(line.tare, *at, "tare")
        deduction = self._other(line.deduction, *at, "deduction")
        per = take(lambda: mass_unit(line.per or self._yard.unit), *at, "per")
        amount = take(lambda: minor(line.amount, self._yard.currency), *at, "amount")
        grade = take(lambda: self._grade(line), *at)
        if line.tare is not None and line.gross is None:
            self._faults.add("A tare says nothing without the gross weight: give that too.", *at, "tare")
        if net is None or per is None or amount is None:
            return None
        rate = Rate(line.price, per.grams)
        found = TicketLine(line.label, net, rate, amount, grade, gross, tare or ZERO, deduction or ZERO)
        if found.right_net <= 0:
            self._faults.add(
                "Nothing is left of the gross weight after what is taken off: look at the tare again.",
                *at,
                "gross",
            )
        return found

    def _other(self, text: str | None, *at: str | int) -> Decimal | None:
        return None if text is None else self._faults.take(lambda: weight(text, least=ZERO), *at)

    def _grade(self, line: LineGiven) -> str | None:
        """What a line was accepted as: by its label, or as it is said. None where neither tells."""
        labelled = self.labelled(line.label)
        if line.grade is None:
            return labelled
        grade = resolve_grade(self._rulebook, line.grade, ("grade",))
        if labelled is not None and labelled != grade:
            detail = (
                f"{line.label!r} stands for {labelled} at {self._yard.slug} on that day, not for {grade}. "
                "Leave the grade out; to say which bin it was, write it under matches."
            )
            raise Refused(detail, faults=(Fault(detail, ("grade",), (labelled,)),))
        return grade
