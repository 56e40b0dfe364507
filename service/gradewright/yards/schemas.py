"""The wire forms of yards."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from pydantic import Field

from gradewright.core.house import in_the_end
from gradewright.core.money import Rounding
from gradewright.regions.schemas import CurrencyCode, RegionCode, UnitName
from gradewright.web.fields import SLUG, Day, In, Name, Out, PositiveDecimal, Slug, TextForm
from gradewright.yards.service import Atlas, Label, Refusal, Yard

YardSlug = Annotated[str, TextForm(SLUG, says="the slug of a yard", example="low-quay")]


class LabelIn(In):
    """A yard's own word for a grade."""

    label: Name
    grade: Slug
    valid_from: Annotated[Day | None, Field(alias="from", description="Default: the day it is posted.")] = (
        None
    )


class YardIn(In):
    """A new yard with its terms."""

    slug: YardSlug
    name: Name
    region: RegionCode
    currency: CurrencyCode
    unit: UnitName
    rounding: Rounding = Rounding.HALF_EVEN
    cash_increment: PositiveDecimal | None = None
    labels: Annotated[tuple[LabelIn, ...], Field(max_length=500)] = ()
    refuses: Annotated[tuple[Slug, ...], Field(max_length=500)] = ()

    def yard(self, today: date) -> Yard:
        """The yard that is meant; labels without a day, and refusals, count from `today`."""
        return Yard(
            slug=self.slug,
            name=self.name,
            region=self.region,
            currency=self.currency,
            unit=self.unit,
            rounding=self.rounding,
            cash_increment=self.cash_increment,
            labels=tuple(Label(said.label, said.grade, said.valid_from or today) for said in self.labels),
            refusals=tuple(Refusal(grade, today) for grade in self.refuses),
        )


class LabelOut(Out):
    """A yard's own word for a grade, and the day from which it stands for it."""

    label: str
    grade: Slug
    valid_from: Annotated[Day, Field(alias="from")]


class YardOut(Out):
    """A yard with its terms, and what it has said of labels and grades and not lifted again.

    The days on which each holds are told by its house rules.
    """

    slug: YardSlug
    name: str
    region: RegionCode
    currency: str
    unit: str
    rounding: Rounding
    cash_increment: PositiveDecimal | None
    labels: list[LabelOut]
    refuses: list[Slug]

    @classmethod
    def of(cls, yard: Yard) -> YardOut:
        """The wire form."""
        return cls(**_fields(yard))


class NotTakenOut(Out):
    """A grade that is not taken at a yard, by whose word and since when; `own`: the yard's."""

    grade: Slug
    own: bool
    by: str
    since: Annotated[Day, Field(alias="from")]


class YardSeen(YardOut):
    """A yard with what is not taken there today, whoever said so; `refuses` is what it has said itself."""

    not_taken: list[NotTakenOut]

    @classmethod
    def seen(cls, atlas: Atlas, yard: Yard, on: date) -> YardSeen:
        """The wire form, with the refusals that are in force there on a day."""
        refusals = atlas.refusals(yard.region, yard.slug, on)
        told = [
            NotTakenOut.model_validate(
                {"grade": grade, "own": word.is_yard, "by": word.by, "from": word.since}
            )
            for grade, word in sorted(refusals.items())
        ]
        return cls(**_fields(yard), not_taken=told)


class YardMade(YardOut):
    """A yard just made, with the revision that made it."""

    revision: int

    @classmethod
    def made(cls, yard: Yard) -> YardMade:
        """The wire form."""
        return cls(**_fields(yard), revision=yard.revision)


class YardList(Out):
    """Yards, by slug."""

    yards: list[YardSeen]


class YardQuery(In):
    """Which yards."""

    region: Annotated[
        RegionCode | None, Field(description="Only yards in this region or in one below it.")
    ] = None


def _fields(yard: Yard) -> dict[str, Any]:
    out_of_use = {key for key, said in in_the_end(yard.labels).items() if said.lifted}
    labels = [
        LabelOut.model_validate({"label": said.label, "grade": said.grade, "from": said.valid_from})
        for said in sorted(yard.labels, key=lambda said: (said.valid_from, said.label))
        if said.key not in out_of_use and not said.lifted
    ]
    return {
        "slug": yard.slug,
        "name": yard.name,
        "region": yard.region,
        "currency": yard.currency,
        "unit": yard.unit,
        "rounding": yard.rounding,
        "cash_increment": yard.cash_increment,
        "labels": labels,
        "refuses": sorted(grade for grade, said in in_the_end(yard.refusals).items() if not said.lifted),
    }
