"""The wire forms of whole lists: how they are asked for, their lines, what they would change."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError

from gradewright.core.decimals import plain
from gradewright.core.errors import Fault
from gradewright.prices.list_changes import CHANGES, Change, Claim
from gradewright.prices.list_names import Near
from gradewright.prices.list_reader import ListLine
from gradewright.prices.lists import Comparison, YardList
from gradewright.prices.posting_schemas import Evidence, HeldOut, Note, Price
from gradewright.prices.postings import Given, Posting
from gradewright.prices.schemas import Weight
from gradewright.regions.schemas import CurrencyText, UnitText
from gradewright.web.fields import Day, In, KnownAt, Name, Out, Slug, YesNo
from gradewright.web.tables import Row
from gradewright.yards.schemas import YardSlug


class ListUploadQuery(In):
    """When the list was seen, and how."""

    observed_on: Annotated[Day, Field(description="The day on which the list was seen.")]
    evidence: Annotated[Evidence, Field(description="How it was seen.")]
    note: Annotated[Note | None, Field(description="A word about it.")] = None
    dry_run: Annotated[
        YesNo | None, Field(description="true: nothing is stored; told is what would be, line by line.")
    ] = None

    def given(self, yard: str) -> Given:
        """The posting without its prices."""
        return Given(yard, self.observed_on, self.evidence, (), self.note)


class ListQuery(In):
    """The list of which day, as known when, in which form."""

    on: Annotated[Day | None, Field(description="Of this day; default today.")] = None
    known_at: Annotated[KnownAt | None, Field(description="As known then; default now.")] = None
    format: Annotated[
        Literal["csv", "jsonl"] | None, Field(description="CSV or JSON Lines; default by Accept, else CSV.")
    ] = None


class ListLineIn(In):
    """One line of a list, cell by cell."""

    label: Name | None = None
    grade: Name | None = None
    price: Price
    currency: CurrencyText | None = None
    per: UnitText | None = None
    from_weight: Weight | None = None


def line_of(row: Row) -> ListLine:
    """What the service takes; a cell that cannot be read is left out of it and told as a fault."""
    faults = list(row.faults)
    cells: dict[str, Any] = dict(row.cells)
    try:
        read: Any = ListLineIn.model_validate(cells)
    except ValidationError as error:
        wrong = error.errors(include_url=False, include_input=False)
        faults += [
            row.fault(entry, numbers=("price",))
            for entry in wrong
            if entry["type"] != "missing" or row.lacks(str(entry["loc"][0]))
        ]
        for entry in wrong:
            cells.pop(str(entry["loc"][0]), None)
        read = ListLineIn.model_validate({"price": Decimal(0), **cells})
    if row.lacks("label", "grade"):
        faults.append(
            Fault("What was priced is missing: write the yard's label, or the grade.", line=row.line)
        )
    return ListLine(
        row.line,
        read.price,
        read.label,
        read.grade,
        read.currency,
        read.per,
        read.from_weight,
        tuple(faults),
    )


class NearOut(Out):
    """What may have been meant: a label of the yard, or a grade by the name of it that is most alike."""

    kind: Literal["label", "grade"]
    written: str
    grade: Slug

    @classmethod
    def of(cls, near: Near) -> NearOut:
        """The wire form."""
        return cls(kind=near.kind, written=near.written, grade=near.grade)  # type: ignore[arg-type]


class LineFault(Out):
    """One thing wrong with a line, and in which column."""

    column: str | None
    detail: str
    suggestions: list[str]

    @classmethod
    def of(cls, fault: Fault) -> LineFault:
        """The wire form."""
        column = str(fault.at[0]) if fault.at else None
        return cls(column=column, detail=fault.detail, suggestions=list(fault.suggestions))


class PriceBefore(Out):
    """The price that stood there before, as posted, and where it stands in the ledger."""

    label: str | None
    price: Price
    currency: str
    per: str
    from_weight: str | None
    observed_on: Day
    posting: str
    line: int

    @classmethod
    def of(cls, claim: Claim) -> PriceBefore:
        """The wire form."""
        return cls(
            label=claim.label,
            price=claim.price,
            currency=claim.currency,
            per=claim.per,
            from_weight=claim.from_weight,
            observed_on=claim.observed_on,
            posting=claim.posting,
            line=claim.line,
        )


class ListChange(Out):
    """A line of the list, by its number in the file, and what it changes; `gone`: none has it any more.

    `by`: the difference in the currency for the line's own unit, at most six places; `percent`: of before.
    `held`: why the price waits, once stored, instead of counting; null: nothing holds it today,
    or on its own day where it does not count today.
    """

    line: int | None
    change: Literal["new", "raised", "lowered", "same", "gone", "refused", "unknown"]
    label: str | None
    grade: str | None
    price: Price | None
    currency: str | None
    per: str | None
    from_weight: str | None
    by: str | None
    percent: str | None
    before: PriceBefore | None
    faults: list[LineFault]
    near: list[NearOut]
    held: HeldOut | None

    @classmethod
    def of(cls, change: Change) -> ListChange:
        """The wire form."""
        now, before = change.checked, change.before
        told: Any = now or (change if change.faults else before)
        return cls(
            line=change.number,
            change=change.kind,  # type: ignore[arg-type]
            label=told.label,
            grade=told.grade,
            price=now.price if now else None,
            currency=now.currency if now else None,
            per=now.per if now else None,
            from_weight=now.from_weight if now else before.from_weight if before else None,
            by=None if change.by is None else plain(change.by),
            percent=None if change.percent is None else plain(change.percent),
            before=None if before is None else PriceBefore.of(before),
            faults=[LineFault.of(fault) for fault in change.faults],
            near=[NearOut.of(near) for near in change.near],
            held=HeldOut.of(change.held, now.price, now.currency, now.per) if change.held and now else None,
        )


class ListCounts(Out):
    """How many lines there are of each kind."""

    new: int
    raised: int
    lowered: int
    same: int
    gone: int
    refused: int
    unknown: int


class ListCompared(Out):
    """A list against the newest prices of its yard, as known at the revision `compared_with`.

    `posting` and `revision` are there once it is stored; none of it is where `can_be_stored` is false.
    `held`: how many of its prices wait.
    """

    yard: YardSlug
    observed_on: Day
    evidence: Evidence
    note: str | None
    rulebook: str
    dry_run: bool
    can_be_stored: bool
    posting: str | None
    revision: int | None
    compared_with: int
    counts: ListCounts
    held: int
    lines: list[ListChange]

    @classmethod
    def of(cls, given: Given, found: Comparison, stored: Posting | None) -> ListCompared:
        """The wire form; `stored`: None for a dry run."""
        counted = Counter(change.kind for change in found.changes)
        return cls(
            yard=given.yard,
            observed_on=given.observed_on,
            evidence=given.evidence,  # type: ignore[arg-type]
            note=given.note,
            rulebook=found.rulebook,
            dry_run=stored is None,
            can_be_stored=found.refusal is None,
            posting=stored.row.id if stored else None,
            revision=stored.row.revision if stored else None,
            compared_with=found.revision,
            counts=ListCounts(**{kind: counted[kind] for kind in CHANGES}),
            held=sum(change.held is not None for change in found.changes),
            lines=[ListChange.of(change) for change in found.changes],
        )


def exported(found: YardList) -> Iterator[dict[str, str]]:
    """The lines of a list as they are uploaded, column by column; none for what they do not say."""
    for claim in found.claims:
        cells = {
            "label": claim.label,
            "grade": claim.grade,
            "price": plain(claim.price),
            "currency": claim.currency,
            "per": claim.per,
            "from_weight": claim.from_weight,
        }
        yield {column: cell for column, cell in cells.items() if cell is not None}
