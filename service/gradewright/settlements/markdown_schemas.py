"""The wire forms of how a yard marks down."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from gradewright.core.markdowns import Markdowns, Much, Often, Told
from gradewright.core.units import trimmed
from gradewright.web.fields import Out, Slug
from gradewright.yards.schemas import YardSlug


class OftenOut(Out):
    """On how many of how many tickets it was marked down: the share, with Wilson's interval of 95 %."""

    tickets: int
    of: int
    share: str
    low: str
    high: str

    @classmethod
    def of_core(cls, often: Often) -> OftenOut:
        """The wire form."""
        share, low, high = (_percent(each) for each in (often.share, often.low, often.high))
        return cls(tickets=often.count, of=often.of, share=share, low=low, high=high)


class MuchOut(Out):
    """The median of what was taken off the price; its interval, of 95 %, from six on."""

    median: str
    low: str | None
    high: str | None

    @classmethod
    def of_core(cls, much: Much) -> MuchOut:
        """The wire form."""
        low, high = (None if each is None else _percent(each) for each in (much.low, much.high))
        return cls(median=_percent(much.median), low=low, high=high)


class MarkedDownOut(Out):
    """How often, and by how much where at least three sellers were marked down. `unclear`: so many tickets do
    not tell, and are in no other figure.
    """

    often: OftenOut
    much: MuchOut | None
    unclear: int


class GradeMarkedDownOut(MarkedDownOut):
    """The same of one grade, as it was brought."""

    grade: Slug


class MarkdownsOut(Out):
    """How often and by how much a yard accepts less than was brought, from its sellers' tickets.

    Tickets come in by lots of three sellers and more, and no figure is of fewer, so that none is given away.
    `overall` is null where a grade is left out.
    """

    yard: YardSlug
    tickets: int
    overall: MarkedDownOut | None
    grades: list[GradeMarkedDownOut]
    says: str

    @classmethod
    def of(cls, yard: str, found: Markdowns) -> MarkdownsOut:
        """The wire form."""
        says = (
            f"From {found.tickets} tickets of at least three sellers. Those that do not tell how a grade was "
            "accepted are counted apart, as unclear. Grades with fewer than three sellers are left out; "
            "newer tickets wait until there are three sellers."
            if found.tickets
            else "Too few are settled here to tell without giving a seller away: it takes three sellers."
        )
        return cls(
            yard=yard,
            tickets=found.tickets,
            overall=None if found.overall is None else MarkedDownOut(**_told(found.overall)),
            grades=[GradeMarkedDownOut(grade=told.grade or "", **_told(told)) for told in found.grades],
            says=says,
        )


def _told(told: Told) -> dict[str, Any]:
    much = None if told.much is None else MuchOut.of_core(told.much)
    return {"often": OftenOut.of_core(told.often), "much": much, "unclear": told.unclear}


def _percent(share: Decimal) -> str:
    """A share in whole percent."""
    return f"{trimmed(share.scaleb(2))} %"
