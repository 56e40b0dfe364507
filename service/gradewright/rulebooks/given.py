"""Values in the words and units of a rulebook: a bound as it is given there, else a round value beside it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from datetime import date, timedelta
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction

from gradewright.core.decimals import plain
from gradewright.core.errors import GradewrightError
from gradewright.core.observations import DOMAIN, Attribute, Kind, Value
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.solving import ENDS, Parts, Written, as_written, every_when

Given = Mapping[tuple[str, Value], str]
"""How documents write the value of an attribute that a bound names: 12 in, and not 304.8 mm."""
UNIT = re.compile(r"[0-9./ -]+ ?(?P<unit>[A-Za-z%][A-Za-z0-9/%]*)")
STEPS = [Fraction(by) * Fraction(10) ** -places for places in range(-3, 7) for by in (5, 2, 1)]
"""Round values are multiples of one of these, of the widest that has one inside."""
UNIT_OF = {Kind.LENGTH: "mm", Kind.SHARE: "%", Kind.AREA: "cm2", Kind.DENSITY: "g/cm3"}
NO_SCALE = ("AWG", "B&S")  # two of a wire gauge are not twice one
A_YEAR = 2000  # of a day or year of which nothing is asked


def as_given(*books: Rulebook) -> Given:
    """The bounds of all conditions as they are written; of two ways that of the later version."""
    attributes = {name: attribute for book in books for name, attribute in book.attributes.items()}
    # What an order of measures makes of a single value has no unit: nobody would write it so.
    written = dict.fromkeys(
        (condition.attribute, bound.value, bound.given)
        for book in books
        for when in every_when(book)
        for condition in when
        for end in ENDS
        if (bound := getattr(condition, end)) is not None
    )
    return {(name, value): given for name, value, given in written if _is_read(attributes[name], given)}


def _is_read(attribute: Attribute, given: str) -> bool:
    """Whether a value may be written so."""
    try:
        attribute.read(given)
    except GradewrightError:
        return False
    return True


class Writing:
    """Writes parts as people would: of the values that no clause tells apart, the one that reads best."""

    def __init__(self, parts: Parts, *books: Rulebook) -> None:
        self._parts = parts
        self.given = as_given(*books)

    def part(self, part: Mapping[str, Value]) -> dict[str, Written]:
        """A description as an example in a document writes it."""
        return {name: self.value(name, value) for name, value in part.items()}

    def value(self, name: str, value: Value) -> Written:
        """One value, or one in the same cell that reads better."""
        attribute, cell = self._parts.attributes[name], self._parts.cell(name, value)
        for text in (*self._as_given(name, value), *self._rounder(attribute, value)):
            with suppress(GradewrightError):  # what cannot be read so is no way to write it
                if self._parts.cell(name, attribute.read(text)) == cell:
                    return text
        return as_written(self._parts.attributes, {name: value})[name]

    def _as_given(self, name: str, value: Value) -> Iterator[Written]:
        given = self.given.get((name, value))
        if given is not None and not isinstance(value, int):
            yield given

    def _rounder(self, attribute: Attribute, value: Value) -> Iterator[Written]:
        cuts = self._parts.axes[attribute.name].cuts
        if isinstance(value, (bool, str)) or value in cuts:
            return
        below, above = beside(cuts, value)
        if isinstance(value, Decimal):
            yield from self._measures(attribute, below, above)
        elif isinstance(value, date):
            yield from (day.isoformat() for day in _days(below, above))
        elif isinstance(above, int):
            yield above - 1
        elif below is None:
            yield A_YEAR

    def _measures(self, attribute: Attribute, below: Value | None, above: Value | None) -> Iterator[str]:
        """Multiples of round steps inside, in the unit in which a bound beside it is given."""
        unit = self._unit(attribute, above, below)
        first, last = _inside(attribute, unit, below, above)
        for step in STEPS:
            number = round((first + last) / 2 / step) * step
            if first < number < last:
                yield f"{_decimal(number)} {unit}"

    def apart(self, name: str, value: Value, count: int) -> list[str]:
        """So many measures in the cell of one, the smallest first: as round as can be."""
        attribute = self._parts.attributes[name]
        below, above = beside(self._parts.axes[name].cuts, value)
        unit = self._unit(attribute, above, below)
        first, last = _inside(attribute, unit, below, above, count)
        for step in STEPS:
            least = first // step + 1
            if (least + count - 1) * step < last:
                return [f"{_decimal((least + n) * step)} {unit}" for n in range(count)]
        width = (last - first) / (count + 1)
        return [f"{_decimal(first + n * width)} {unit}" for n in range(1, count + 1)]

    def _unit(self, attribute: Attribute, *bounds: Value | None) -> str:
        for bound in bounds:
            found = UNIT.fullmatch(self.given.get((attribute.name, bound), "")) if bound is not None else None
            if found and found["unit"] not in NO_SCALE:
                return found["unit"]
        return UNIT_OF[attribute.kind]


def beside(cuts: Iterable[Value], value: Value) -> tuple[Value | None, Value | None]:
    """The cut points before and behind a value."""
    # One kind of value per attribute, so the comparisons are between equals: what mypy cannot see.
    below = max((cut for cut in cuts if cut < value), default=None)  # type: ignore[operator]
    above = min((cut for cut in cuts if cut > value), default=None)  # type: ignore[operator]
    return below, above


def _inside(
    attribute: Attribute, unit: str, below: Value | None, above: Value | None, count: int = 1
) -> tuple[Fraction, Fraction]:
    """Between what round values are looked for, in a unit; behind the last cut point there is room for so
    many."""
    lowest, _, highest = DOMAIN[attribute.kind]
    one = _size(attribute, unit)
    first = Fraction(below if isinstance(below, Decimal) else lowest) / one
    end = above if isinstance(above, Decimal) else highest
    return first, Fraction(end) / one if end is not None else max(2 * first, first + count)


def _size(attribute: Attribute, unit: str) -> Fraction:
    """What a unit counts for in the one that is reckoned in."""
    hundred = attribute.read(f"100 {unit}")  # a share may be no more, and of small units one too little
    if not isinstance(hundred, Decimal):
        raise AssertionError(f"{attribute.name} is no measure")
    return Fraction(hundred) / 100


def _decimal(number: Fraction) -> str:
    with localcontext(prec=40, rounding=ROUND_HALF_EVEN):
        return plain((Decimal(number.numerator) / Decimal(number.denominator)).normalize())


def _days(below: Value | None, above: Value | None) -> Iterator[date]:
    """First days of a year, and else the day beside a bound."""
    if isinstance(above, date):
        yield from (date(year, 1, 1) for year in (above.year - 1, above.year) if year >= date.min.year)
        yield above - timedelta(days=1)
    elif isinstance(below, date):
        yield date(below.year + 1, 1, 1)
        yield below + timedelta(days=1)
    else:
        yield date(A_YEAR, 1, 1)
