"""The wire forms of later words about postings."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from gradewright.prices.later import SaidLater, Saying
from gradewright.prices.models import PostingRow
from gradewright.prices.posting_schemas import (
    LONGEST_NOTE,
    MOST_PRICES,
    Evidence,
    Note,
    PostingOut,
    PriceIn,
    WordOut,
)
from gradewright.prices.postings import Given
from gradewright.prices.said import DECISION, WITHDRAWAL
from gradewright.regions.schemas import RegionCode
from gradewright.web.fields import Day, In, KnownAt, Out, TextForm

MOST_LINES = 10_000
Reason = Annotated[
    str,
    TextForm(
        r"^[^\x00-\x08\x0b-\x1f\x7f]*[^\x00-\x20\x7f\s][^\x00-\x08\x0b-\x1f\x7f]*$",
        says=f"text of at most {LONGEST_NOTE} characters, not all of it blank",
        example="read the wrong line of the board",
        longest=LONGEST_NOTE,
    ),
]
Line = Annotated[int, Field(ge=1, le=MOST_LINES)]


class WordIn(In):
    """A later word: why, and about which lines; without lines, about all that still stand."""

    reason: Reason
    lines: Annotated[list[Line] | None, Field(min_length=1, max_length=MOST_LINES)] = None

    def saying(self, kind: str) -> Saying:
        """What the service takes."""
        return Saying(kind, self.reason, None if self.lines is None else tuple(self.lines))


class DecisionIn(WordIn):
    """What a maintainer decides: an accepted price counts whatever others say, a rejected one never does."""

    verdict: Literal["accepted", "rejected"]

    def decision(self) -> Saying:
        """What the service takes."""
        lines = None if self.lines is None else tuple(self.lines)
        return Saying(DECISION, self.reason, lines, self.verdict)


class CorrectionIn(WordIn):
    """Prices in place of some lines, or of all: what is not said again is as it was posted."""

    observed_on: Day | None = None
    evidence: Evidence | None = None
    note: Note | None = None
    prices: Annotated[list[PriceIn], Field(min_length=1, max_length=MOST_PRICES)]

    def given(self, before: PostingRow) -> Given:
        """What is posted in its place."""
        return Given(
            yard=before.yard,
            observed_on=self.observed_on or before.observed_on,
            evidence=self.evidence or before.evidence,
            prices=[price.given() for price in self.prices],
            note=self.note if self.note is not None else before.note,
        )

    def withdrawal(self) -> Saying:
        """The withdrawal that comes with it."""
        return self.saying(WITHDRAWAL)


class WordMade(WordOut):
    """A stored word, and the posting that it is about."""

    posting: str

    @classmethod
    def made(cls, said: SaidLater) -> WordMade:
        """The wire form."""
        first = said.words[0]
        word = WordOut.of(first, [word.about for word in said.words], said.recorded_at)
        return cls(**word.model_dump(), posting=first.posting)


class CorrectionOut(Out):
    """What was taken back, and what stands in its place: one revision."""

    withdrawal: WordMade
    posting: PostingOut


class HeldQuery(In):
    """Of which region, on which day, as known when."""

    region: RegionCode
    on: Annotated[Day | None, Field(description="What waits on this day; default today (UTC).")] = None
    known_at: Annotated[KnownAt | None, Field(description="As known then; default now.")] = None


class HeldList(Out):
    """Postings with prices that wait, newest first, each with only those."""

    postings: list[PostingOut]
