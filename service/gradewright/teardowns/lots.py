"""How heavy a lot the parts of a device are sold in: of that the price depends."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.decimals import ROUNDING
from gradewright.core.pricelist import Price
from gradewright.core.teardown.tree import NOTHING
from gradewright.teardowns.reading import Part

MILLIGRAMS = Decimal("0.001")
NO_LOT = Decimal(0)


@dataclass(frozen=True, slots=True)
class Lots:
    """`floors`: by grade how heavy a lot is at the least. `own`: each place of a grade is a lot as heavy as
    it is, where that is more; else all places of a grade are in the one lot of `floors`.
    """

    floors: Mapping[str, Decimal]
    own: bool

    def of(self, grade: str, grams: Decimal) -> Decimal:
        """The lot of a place that weighs so much."""
        floor = self.floors.get(grade, NO_LOT)
        return max(floor, grams) if self.own else floor

    def price_name(self, grade: str, price: Price) -> str:
        """What a price is known by where prices move: one grade may have several."""
        written = price.shown.from_weight
        return f"{grade} {written}" if self.own and written is not None else grade


def left_grams(parts: Sequence[Part], *, less_parts: bool = True) -> list[Fraction]:
    """By number what is left over of each part, as was weighed, else once all that is in it is off: not
    `less_parts`, as heavy as all of it.
    """
    found = [part.grams.likely for part in parts]
    for part in parts if less_parts else ():
        if part.inside is not None:
            found[part.inside] -= part.grams.likely
    for part in parts:
        if part.left is not None and part.left.grams is not None:
            found[part.number] = part.left.grams.likely
    return found


def heaviest(parts: Sequence[Part], *, less_parts: bool) -> dict[str, Decimal]:
    """By grade the heaviest single place, as which all of it was one lot up to method 4."""
    found: dict[str, Fraction] = {}
    left = left_grams(parts, less_parts=less_parts)
    for part in parts:
        places = [(part.grade, part.grams.likely)]
        if part.left is not None:
            places.append((part.left.grade, left[part.number]))
        for grade, grams in places:
            if grade is not None:
                found[grade] = max(found.get(grade, NOTHING), grams)
    return {grade: in_milligrams(grams) for grade, grams in found.items()}


def in_milligrams(grams: Fraction) -> Decimal:
    """A weight as a decimal: exact where it has an end, else to the milligram."""
    over, under = grams.numerator, grams.denominator
    found = ROUNDING.divide(Decimal(over), Decimal(under))
    has_an_end = pow(10, under.bit_length(), under) == 0
    if has_an_end and under.bit_length() + over.bit_length() // 3 < ROUNDING.prec - 1:  # the digits it has
        return found
    return found if Fraction(found) == grams else found.quantize(MILLIGRAMS, context=ROUNDING)
