"""Prices as members posted them, what was said of them later, and which of them wait."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from pydantic import AwareDatetime

from ._common import Amount, InCurrency, Result, Whole


class HeldPrice(Result):
    """Why a price waits instead of counting: `because` is outlier, far-off or disputed, `says` one sentence.

    `median` is what others are paid for a kilogram in the middle, at so many `yards`, with a `spread` around
    it; `score` is how far off the price is (a modified z-score). A disputed price has none of the three.
    """

    because: str
    median: Amount | None = None
    spread: Amount | None = None
    score: Decimal | None = None
    yards: int = 0
    says: str = ""


class PostedPrice(InCurrency):
    """One price as it was posted: money per mass unit `per`, from the weight `from_weight` on if it says
    one.

    `status` tells how it stands today, or on the day that was asked about: counts, held (then `held` says
    why), overtaken by a newer price of its author, stale (seen too long ago), withdrawn or rejected; recorded
    where it was posted just now and nobody has asked yet what of it waits.
    """

    line: int
    grade: str
    label: str | None = None
    price: Amount
    per: str
    from_weight: str | None = None
    status: str = "counts"
    held: HeldPrice | None = None


class LaterWord(Result):
    """What somebody said later of some lines of a posting, and why.

    `kind` is withdrawal, confirmation, dispute or decision; a decision has a `verdict`, accepted or rejected.
    """

    revision: int
    kind: str
    lines: tuple[int, ...]
    author: str
    verdict: str | None = None
    reason: str
    recorded_at: AwareDatetime


class WordStored(LaterWord, Whole):
    """A later word just stored, and the id of the posting that it is about."""

    posting: str


class Posting(Whole):
    """Prices that someone saw at one yard on one day. `recorded_at` is when the service took it in.

    `words` are what was said of it later. `withheld`: how many of its prices wait and are not shown here,
    because only its author, maintainers and who has confirmed or disputed them see them. A long one comes
    in pages: `next_line` is where these prices go on, None where they are the last.
    """

    id: str
    revision: int
    yard: str
    observed_on: date
    evidence: str
    author: str
    recorded_at: AwareDatetime
    note: str | None = None
    prices: tuple[PostedPrice, ...]
    withheld: int = 0
    next_line: int | None = None
    words: tuple[LaterWord, ...] = ()

    @property
    def held(self) -> tuple[PostedPrice, ...]:
        """Those of the prices shown here that wait."""
        return tuple(price for price in self.prices if price.status == "held")


class Correction(Whole):
    """What was taken back, and the posting that stands in its place; both at one revision."""

    withdrawal: WordStored
    posting: Posting


class HeldPrices(Whole):
    """The prices of a region that wait: postings, newest first, each with only those of its prices."""

    postings: tuple[Posting, ...]
