"""Settlements: a scale ticket held against what was expected; and how a yard marks down."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from pydantic import PrivateAttr

from gradewright_sdk._base import Answer

from ._common import Amount, InCurrency, Result, Spread, Whole
from ._kept import Kept, read_kept
from ._rulebooks import Caution


class TicketWeight(Result):
    """A weight, exactly in kilograms, and in both notations for people."""

    kg: Decimal
    shown: str


class SettlementEffects(Result):
    """Parts of a difference, which they add up to: above zero is more money than was expected.

    `grade_or_price`: where a line's grade, or that grade's price, is not known. `missing`: bins that are not
    on the ticket; `unexpected`: lines that stand for no bin; `unpriced`: bins that had no price.
    `arithmetic`: what the ticket says less what it should say by its own figures.
    """

    weight: Amount
    deductions: Amount
    grade: Amount
    price: Amount
    grade_or_price: Amount
    missing: Amount
    unexpected: Amount
    unpriced: Amount
    rounding: Amount
    arithmetic: Amount


class SettledAgainst(Result):
    """What a ticket was held against: a kept valuation with its pins, or bins at prices of its day. `region`
    and `yard`: for where it was valued; `says`, where that or its day is another than the ticket's.
    """

    valuation: str | None = None
    on: date | None = None
    rulebook: str | None = None
    revision: int | None = None
    sha256: str | None = None
    region: str | None = None
    yard: str | None = None
    says: str | None = None


class SettledBinName(Result):
    """A bin by its grade, or a part without one by its name."""

    bin: str | None = None
    part: str | None = None

    @property
    def name(self) -> str:
        """The one of both that there is."""
        return self.bin or self.part or ""


class ExpectedPrice(Result):
    """The likely price that a bin was expected to have, per one of the unit."""

    likely: Amount
    per: str
    from_weight: str | None = None
    says: str = ""


class SettledBin(SettledBinName):
    """What was expected to be sold as one; `unpriced` says why there is no price."""

    weight: TicketWeight
    price: ExpectedPrice | None = None
    amount: Spread | None = None
    unpriced: str | None = None


class TicketLine(Result):
    """A line of the ticket. `matched_by` is grade or hand, None where it stands for no bin."""

    line: int
    label: str
    grade: str | None = None
    grade_name: str | None = None
    net: TicketWeight
    price: Amount
    per: str
    amount: Amount
    matched_by: str | None = None
    not_postable: str | None = None


class TicketCharge(Result):
    """A fee that was taken off."""

    label: str
    amount: Amount


class SettledGroup(Result):
    """Bins and lines that belong together, and what became of the one in the other."""

    bins: tuple[SettledBinName, ...] = ()
    lines: tuple[int, ...] = ()
    expected: Amount
    paid: Amount
    difference: Amount
    effects: SettlementEffects
    says: str


class TicketFlaw(Result):
    """Where the ticket does not add up, about net (kilograms), amount, total or cash (money), as text."""

    about: str
    line: int | None = None
    stated: str
    right: str
    says: str


class MatchMeant(SettledBinName):
    """What may be given in `matches`, as it stands."""

    line: int

    @property
    def match(self) -> dict[str, object]:
        """The same as it is sent: the line, and its bin or part."""
        return {"line": self.line, **({"part": self.part} if self.bin is None else {"bin": self.bin})}


class UnclearTicketLine(Result):
    """A line that stands for no bin: why, and what it may be, each by itself: bins that are short and may
    have been marked down to it, then those on no line that come nearest to its weight. `meant_together`:
    bins that may be on it together.
    """

    line: int
    because: str
    meant: tuple[MatchMeant, ...] = ()
    meant_together: tuple[MatchMeant, ...] = ()


class TicketUnmatched(Result):
    """What is on one side only."""

    bins: tuple[SettledBinName, ...] = ()
    lines: tuple[UnclearTicketLine, ...] = ()


class BinMarkedDown(Result):
    """So much of a bin was accepted as a cheaper grade, on lines of a bin of that, or that stand for the bin
    by hand. Of lines that stand for several bins it can be from `least` to `most`, and `weight` is as if
    these were off alike; both are None where it cannot be anything else. Where `least` is nothing, maybe
    none was.
    """

    bin: str
    accepted_as: str
    lines: tuple[int, ...]
    weight: TicketWeight
    least: TicketWeight | None = None
    most: TicketWeight | None = None
    says: str


class MayBeMarkedDown(Result):
    """Lines that weigh more than the bin of their grade, while bins of dearer ones are short, and the weights
    do not tell how much of these was accepted as that. What may be given in `matches`: `meant` if so,
    `not_so` if not.
    """

    bins: tuple[str, ...]
    accepted_as: str
    lines: tuple[int, ...]
    because: str
    meant: tuple[MatchMeant, ...] = ()
    not_so: tuple[MatchMeant, ...] = ()


class Settlement(Kept, InCurrency):
    """A ticket held against what was expected: `difference` is `paid` less what was likely, and `effects`
    add up to it. `adds_up`: whether the ticket is right by its own figures. `complete`: whether every line
    and bin is matched, every bin had a price, and nothing may be marked down of which the weights do not
    tell.

    `posting` is the id under which its prices were posted, `withdrawn_at` when it was taken back, if it was,
    `looks_like` another settlement of yours whose ticket looks like this one; they are not part of the body.
    """

    yard: str
    region: str
    on: date
    number: str | None = None
    against: SettledAgainst
    bins: tuple[SettledBin, ...]
    lines: tuple[TicketLine, ...]
    charges: tuple[TicketCharge, ...] = ()
    total: Amount
    cash: Amount | None = None
    paid: Amount
    expected: Spread
    difference: Amount
    effects: SettlementEffects
    says: str
    groups: tuple[SettledGroup, ...]
    flaws: tuple[TicketFlaw, ...] = ()
    adds_up: bool
    complete: bool
    unmatched: TicketUnmatched
    marked_down: tuple[BinMarkedDown, ...] = ()
    may_be_marked_down: tuple[MayBeMarkedDown, ...] = ()
    cautions: tuple[Caution, ...] = ()

    _posting: str | None = PrivateAttr(default=None)
    _withdrawn_at: datetime | None = PrivateAttr(default=None)
    _looks_like: str | None = PrivateAttr(default=None)

    @property
    def posting(self) -> str | None:
        """The id of the posting of its prices; None where they were not posted."""
        return self._posting

    @property
    def withdrawn_at(self) -> datetime | None:
        """When it was taken back; None where it stands."""
        return self._withdrawn_at

    @property
    def looks_like(self) -> str | None:
        """The id of another settlement of yours that stands, of the same yard, day and lines; None where
        there is none. The two count as one: if they are one ticket, take one of them back.
        """
        return self._looks_like


class SettlementWithdrawn(Whole):
    """That a settlement was taken back, and the lines of its posting that went with it."""

    settlement: str
    author: str
    reason: str
    recorded_at: datetime
    posting: str | None = None
    lines: tuple[int, ...] = ()


class MarkedOften(Result):
    """On how many of how many tickets it was marked down; the share and its interval of 95 %, as text."""

    tickets: int
    of: int
    share: str
    low: str
    high: str


class MarkedBy(Result):
    """The median of what was taken off, and its interval of 95 % where there are enough, as text."""

    median: str
    low: str | None = None
    high: str | None = None


class MarkedDown(Result):
    """How often, and by how much where at least three sellers were marked down. `unclear`: so many tickets do
    not tell, and are in no other figure.
    """

    often: MarkedOften
    much: MarkedBy | None = None
    unclear: int = 0


class GradeMarkedDown(MarkedDown):
    """The same of one grade, as it was brought."""

    grade: str


class Markdowns(Whole):
    """How often and by how much a yard accepts less than was brought; never of fewer than three sellers.

    `overall` is None where a grade is left out, or all are.
    """

    yard: str
    tickets: int
    overall: MarkedDown | None = None
    grades: tuple[GradeMarkedDown, ...] = ()
    says: str


def read_settlement(answer: Answer) -> Settlement:
    """A settlement with its bytes, and what the service tells beside them."""
    settlement = read_kept(Settlement, answer, "settlement-id")
    settlement._posting = answer.headers.get("posting-id")
    settlement._looks_like = answer.headers.get("looks-like")
    at = answer.headers.get("withdrawn-at")
    settlement._withdrawn_at = None if at is None else datetime.fromisoformat(at)
    return settlement
