"""What a valuation is made of and what it answers: parts, lines, piles, totals."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from gradewright.core.alike import Alike, TooLittle
from gradewright.core.concerns import Concerning
from gradewright.core.description import Description
from gradewright.core.money import Rounding
from gradewright.core.observations import Attribute
from gradewright.core.pricelist import Price
from gradewright.core.raising import Raised
from gradewright.core.rates import Amount, Ratio
from gradewright.core.rulebook import Caution
from gradewright.core.worthwhile import Worthwhile

Raises = tuple[Raised, ...] | tuple[Worthwhile, ...]
"""The work that would raise a part, best first, in the way of the method."""


class Part(NamedTuple):
    """A piece, or several alike, of `grams` together; its grade was named, or comes with its description.

    `ratio` is the same mass as whole numbers; `grade` is None where too little is known for one. `each`: the
    weight of one piece was told.
    """

    name: str
    pieces: int
    grams: Decimal
    ratio: Ratio
    grade: str | None
    description: Description | None = None
    each: bool = False


class Candidate(NamedTuple):
    """A grade that the part can still turn out to be, and what it would come to."""

    grade: str
    amount: Amount | None


class Onward(NamedTuple):
    """How it goes on with a part that is undecided: by a test, or not, as the grades pay nearly the same.

    `in_doubt`: the cautions for whose sake alone it goes on.
    """

    test: Attribute | None
    not_worth: Alike | TooLittle | None = None
    in_doubt: tuple[Caution, ...] = ()


class Line(NamedTuple):
    """One part, answered. Exactly one of `amount` and `unpriced` is there; the rest as in `Onward`."""

    part: Part
    price: Price | None
    amount: Amount | None
    unpriced: str | None
    raises: Raises
    candidates: tuple[Candidate, ...]
    next_test: Attribute | None
    not_worth: Alike | TooLittle | None = None
    in_doubt: tuple[Caution, ...] = ()


@dataclass(slots=True)
class Pile:
    """All parts of one grade together. One price holds for all of them: that of the pile's weight."""

    grade: str
    grams: Decimal
    price: Price | None = None
    lines: int = 0
    low: int = 0
    likely: int = 0
    high: int = 0

    @property
    def amount(self) -> Amount | None:
        """The sum of the rounded lines; None where the grade has no price."""
        return None if self.price is None else Amount(self.low, self.likely, self.high)


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums of the priced lines; `cash` is the likely total in the steps that a yard pays in cash."""

    amount: Amount
    cash: Decimal | None
    priced: int
    unpriced: int


@dataclass(frozen=True, slots=True)
class Terms:
    """How a yard pays: the rounding of each line, and the step of a total paid in cash, if it has one."""

    rounding: Rounding = Rounding.HALF_EVEN
    cash_increment: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Valuation:
    """The whole answer."""

    currency: str
    lines: tuple[Line, ...]
    piles: tuple[Pile, ...]
    totals: Totals
    cautions: Concerning

    @property
    def complete(self) -> bool:
        """Whether every line has a price."""
        return not self.totals.unpriced
