"""Regions, yards and their house rules."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from pydantic import Field

from ._common import Result, Whole


class Region(Whole):
    """Where prices are compared. `unit` is the mass unit usual there. `revision` only just after it was
    made.
    """

    code: str
    name: str
    parent: str | None = None
    currency: str
    unit: str
    revision: int | None = None


class Label(Result):
    """A yard's own word for a grade, from a day on."""

    label: str
    grade: str
    from_: date | None = Field(default=None, alias="from")


class HouseRule(Result):
    """One word of a yard or region, `place`, about a limit, a label or a grade that is not taken.

    `kind` is limit (see `limit` and `value`), label (`label` and `grade`) or refusal (`grade`). It holds from
    a day on, until a later word; one that is `lifted` ends what was said before.
    """

    kind: str
    place: str
    from_: date = Field(alias="from")
    limit: str | None = None
    value: str | None = None
    says: str | None = None
    label: str | None = None
    grade: str | None = None
    lifted: bool = False
    reason: str | None = None
    author: str | None = None
    revision: int


class HouseRules(Whole):
    """What holds in a place `on` a day as known at a revision, by its own word or that of a region around
    it, and all that the place itself ever said.
    """

    region: str
    yard: str | None = None
    on: date
    known_at: int
    in_force: tuple[HouseRule, ...]
    history: tuple[HouseRule, ...]


class HouseRulesAdded(Whole):
    """What was added to the house rules of a place; `notes` say what to know about it."""

    region: str
    yard: str | None = None
    revision: int
    rules: tuple[HouseRule, ...]
    notes: tuple[str, ...] = ()


class NotTaken(Result):
    """A grade that is not taken at a yard, `by` whose word, since when; `own`: the yard's."""

    grade: str
    own: bool
    by: str
    from_: date | None = Field(default=None, alias="from")


class Yard(Whole):
    """A buyer with a scale. `refuses` are the grades that it has said not to take; `not_taken` all that
    are not taken there today, by its region's word too. `cash_increment`: what cash is rounded to.
    """

    slug: str
    name: str
    region: str
    currency: str
    unit: str
    rounding: str | None = None
    cash_increment: Decimal | None = None
    labels: tuple[Label, ...] = ()
    refuses: tuple[str, ...] = ()
    not_taken: tuple[NotTaken, ...] = ()
    revision: int | None = None


class Readiness(Whole):
    """What the service has: the ledger's newest revision and the rulebook versions loaded."""

    status: str
    revision: int
    rulebooks: tuple[str, ...] = ()
