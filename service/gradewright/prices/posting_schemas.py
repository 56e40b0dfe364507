"""The wire forms of postings."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from gradewright.core.decimals import plain
from gradewright.prices.given import PriceGiven
from gradewright.prices.postings import Given, Posting
from gradewright.prices.schemas import Weight
from gradewright.regions.schemas import CurrencyText, RegionCode, UnitText
from gradewright.web.fields import Day, In, Instant, Name, Out, Slug, TextForm, whole_number
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
        prices = [
            PriceGiven(p.price, p.currency, p.per, p.grade, p.label, p.from_weight) for p in self.prices
        ]
        return Given(self.yard, self.observed_on, self.evidence, prices, self.note)


class EntryOut(Out):
    """One stored price, as posted."""

    line: int
    grade: Slug
    label: str | None
    price: Price
    currency: str
    per: str
    from_weight: str | None


class PostingOut(Out):
    """A stored posting."""

    id: str
    revision: int
    yard: YardSlug
    observed_on: Day
    evidence: Evidence
    author: str
    recorded_at: Instant
    note: str | None
    prices: list[EntryOut]

    @classmethod
    def of(cls, posting: Posting) -> PostingOut:
        """The wire form."""
        row = posting.row
        return cls.model_validate(
            {
                "id": row.id,
                "revision": row.revision,
                "yard": row.yard,
                "observed_on": row.observed_on,
                "evidence": row.evidence,
                "author": row.author,
                "recorded_at": row.recorded_at,
                "note": row.note,
                "prices": [
                    {name: getattr(entry, name) for name in EntryOut.model_fields}
                    for entry in posting.entries
                ],
            }
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
