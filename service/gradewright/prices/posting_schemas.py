"""The wire forms of postings."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from gradewright.accounts.service import Account, Role
from gradewright.core.decimals import plain
from gradewright.core.spoken import Held
from gradewright.prices.given import PriceGiven
from gradewright.prices.held_words import why_it_waits
from gradewright.prices.models import WordRow
from gradewright.prices.postings import Given
from gradewright.prices.schemas import Weight
from gradewright.prices.views import Seen, View
from gradewright.regions.schemas import CurrencyText, RegionCode, UnitText
from gradewright.web.fields import Day, In, Instant, KnownAt, Name, Out, Slug, TextForm, whole_number
from gradewright.web.pagination import CursorText
from gradewright.yards.schemas import YardSlug

Evidence = Literal["ticket", "written-list", "sign", "told"]

MOST_PRICES = 500
LONGEST_NOTE = 500

Price = Annotated[
    Decimal,
    TextForm(
        r"^-?(0|[1-9][0-9]{0,8})(\.[0-9]{1,6})?$",
        read=Decimal,
        write=plain,
        says="a price as a string of plain digits; a charge has a minus sign",
        example="3.35",
    ),
]
Note = Annotated[
    str,
    TextForm(
        r"^[^\x00-\x08\x0b-\x1f\x7f]+$",
        says=f"text of at most {LONGEST_NOTE} characters",
        example="read off the board at the gate",
        longest=LONGEST_NOTE,
    ),
]


class PriceIn(In):
    """One price, of a grade (by slug, name or alias) or of a label of the yard.

    What its words mean (grade, currency, unit) is told by the service, all faults together.
    """

    grade: Name | None = None
    label: Name | None = None
    price: Price
    currency: CurrencyText
    per: UnitText
    from_weight: Weight | None = None

    def given(self) -> PriceGiven:
        """What the service takes."""
        return PriceGiven(self.price, self.currency, self.per, self.grade, self.label, self.from_weight)

    @model_validator(mode="after")
    def _one_name(self) -> PriceIn:
        if (self.grade is None) == (self.label is None):
            raise PydanticCustomError(
                "one_of", "give either a grade or a label, so that it is clear what was priced"
            )
        return self


class PostingIn(In):
    """Prices seen at one yard on one day."""

    yard: YardSlug
    observed_on: Day
    evidence: Evidence
    note: Note | None = None
    prices: Annotated[list[PriceIn], Field(min_length=1, max_length=MOST_PRICES)]

    def given(self) -> Given:
        """What the service takes."""
        prices = [price.given() for price in self.prices]
        return Given(self.yard, self.observed_on, self.evidence, prices, self.note)


class HeldOut(Out):
    """Why a price waits: what others are paid, per kilogram, and how far off this is (a modified z-score).

    `spread` and `score` null beside a `median`: others speak of few yards, and it is the nearest that they
    are paid.
    """

    because: Literal["outlier", "far-off", "disputed"]
    median: str | None
    spread: str | None
    score: str | None
    yards: int
    says: str

    @classmethod
    def of(cls, held: Held, price: Decimal, currency: str, per: str) -> HeldOut:
        """The wire form. What it says is in the unit of the `price` that waits, and rounded for people."""
        figures = (
            None if figure is None else plain(figure) for figure in (held.median, held.spread, held.score)
        )
        median, spread, score = figures
        return cls(
            because=held.because,  # type: ignore[arg-type]
            median=median,
            spread=spread,
            score=score,
            yards=held.yards,
            says=why_it_waits(held, price, currency, per),
        )


class EntryOut(Out):
    """One stored price, as posted, and whether anything speaks against it."""

    line: int
    grade: Slug
    label: str | None
    price: Price
    currency: str
    per: str
    from_weight: str | None
    status: Annotated[
        Literal["recorded", "counts", "held", "overtaken", "stale", "withdrawn", "rejected"],
        Field(
            description="How it stands today, or on the day that was asked about. recorded: it was posted "
            "just now and nothing was judged yet: read the posting to see what of it waits. counts: nothing "
            "speaks against it. held: it waits. overtaken: a newer price of its author stands in its place, "
            "for all lots that would be paid it. stale: it was seen too long ago to count; how it stood on "
            "an earlier day is told with `on`. What was seen on a later day, as a yard may be a day ahead, "
            "is told as of that."
        ),
    ]
    held: HeldOut | None

    @classmethod
    def of(cls, seen: Seen) -> EntryOut:
        """The wire form."""
        row = seen.row
        return cls(
            line=row.line,
            grade=row.grade,
            label=row.label,
            price=row.price,
            currency=row.currency,
            per=row.per,
            from_weight=row.from_weight,
            status=seen.status,  # type: ignore[arg-type]
            held=None if seen.held is None else HeldOut.of(seen.held, row.price, row.currency, row.per),
        )


class WordOut(Out):
    """A later word about some lines of a posting."""

    revision: int
    kind: Literal["withdrawal", "confirmation", "dispute", "decision"]
    lines: list[int]
    author: str
    verdict: Literal["accepted", "rejected"] | None
    reason: str
    recorded_at: Instant

    @classmethod
    def of(cls, word: WordRow, lines: Sequence[int], recorded_at: datetime) -> WordOut:
        """The wire form."""
        return cls(
            revision=word.revision,
            kind=word.kind,  # type: ignore[arg-type]
            lines=list(lines),
            author=word.author,
            verdict=word.verdict,  # type: ignore[arg-type]
            reason=word.reason,
            recorded_at=recorded_at,
        )


class PostingOut(Out):
    """A stored posting as it stands: `words` are what was said of it later.

    `withheld`: how many of its prices wait, and are shown only to its author, to maintainers and to who has
    confirmed or disputed them.
    `next_line`: where it goes on, if these are not all of its prices.
    """

    id: str
    revision: int
    yard: YardSlug
    observed_on: Day
    evidence: Evidence
    author: str
    recorded_at: Instant
    note: str | None
    prices: list[EntryOut]
    withheld: int
    next_line: int | None
    words: list[WordOut]

    @classmethod
    def of(cls, view: View, reader: Account | None) -> PostingOut:
        """The wire form, as a reader may see it."""
        maintains = reader is not None and reader.may(Role.MAINTAINER)
        row, shown = view.row, view.for_reader(reader.handle if reader else None, maintains=maintains)
        return cls(
            id=row.id,
            revision=row.revision,
            yard=row.yard,
            observed_on=row.observed_on,
            evidence=row.evidence,  # type: ignore[arg-type]
            author=row.author,
            recorded_at=row.recorded_at,
            note=row.note,
            prices=[EntryOut.of(seen) for seen in shown.prices],
            withheld=len(view.prices) - len(shown.prices),
            next_line=view.next_line,
            words=[WordOut.of(said.word, said.lines, said.recorded_at) for said in view.words],
        )


class PostingList(Out):
    """Postings, newest first; `next` is the cursor of the page after this one."""

    postings: list[PostingOut]
    next: str | None


class PostingQuery(In):
    """Which postings."""

    yard: YardSlug | None = None
    region: RegionCode | None = None
    limit: whole_number(1, 200) = 50  # type: ignore[valid-type]
    cursor: CursorText | None = None


class OnePostingQuery(In):
    """Of which day, as known when, from which line on."""

    on: Annotated[Day | None, Field(description="As it stands on this day; default today (UTC).")] = None
    known_at: Annotated[KnownAt | None, Field(description="As known then; default now.")] = None
    from_line: Annotated[
        whole_number(1, 10_000),  # type: ignore[valid-type]
        Field(description="Its prices from this line on, 500 at most."),
    ] = 1
