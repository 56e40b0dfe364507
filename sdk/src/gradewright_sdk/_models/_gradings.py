"""Gradings: which grade, why, or what to look at next."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from pydantic import AliasChoices, Field

from ._common import Amount, ReadsCurrency, Result, Whole
from ._prices import Basis
from ._rulebooks import Caution


class UnitPrice(ReadsCurrency):
    """Money per mass unit `per`, in the tier from `from_weight` on, if any, and what it rests on."""

    low: Amount
    likely: Amount
    high: Amount
    per: str
    from_weight: str | None = None
    basis: Basis | None = None


class Candidate(Result):
    """A grade that the part may turn out to be, with its local price if a place was given."""

    grade: str
    name: str
    price: UnitPrice | None = None


class NextTest(Result):
    """What to look at next: the question, how to find out, how many minutes it takes, what can go wrong."""

    attribute: str
    asks: str
    kind: str
    choices: dict[str, str] | None = None
    test: str | None = None
    minutes: Decimal | None = None
    beware: str | None = None


class NotWorth(Result):
    """That finding out more is not worth it: all candidates pay nearly the same, or, with an `hour_rate`, it
    adds less than it costs.

    `lowest` and `highest` are the likely prices of the `cheapest` and the `dearest` grade, per one of the
    unit `per`; `share` is the `spread` against the dearest as text, such as "2.5 %", and `within` what was
    asked for. With an `hour_rate` there is what knowing the grade `adds` to that `weight` on average, and
    what its `minutes` cost, instead of `within`.
    """

    cheapest: str
    dearest: str
    lowest: Amount
    highest: Amount
    spread: Amount
    per: str
    share: str
    within: str | None = None
    weight: str | None = None
    adds: Amount | None = None
    minutes: Decimal | None = None
    costs: Amount | None = None


class HouseLimit(Result):
    """A limit of the place that decided: its own `value` since a day, `instead_of` the rulebook's.

    `says` is a sentence for people.
    """

    limit: str
    value: str
    instead_of: str
    place: str
    from_: date = Field(alias="from")
    says: str


class TraceStep(Result):
    """One rule and whether it holds, and why; None means that it depends on what is not known yet."""

    rule: str
    grade: str
    holds: bool | None = None
    why: str | None = Field(default=None, validation_alias=AliasChoices("why", "because_not"))


class Grading(Whole, ReadsCurrency):
    """The answer for one part.

    `outcome` is graded, undecided (see `candidates` and `next_test`), contradiction (`because` says what
    cannot be) or ungraded (no rule is for such a part). `says` is one sentence for people. Where the rule is
    disputed, `settled_by` is what would settle it. Where finding out more is not worth it, `not_worth` says
    why and there is no next test; but where a danger depends on it there is one, for the cautions `in_doubt`.
    `cautions` has those that are certain first, then those that may apply (`certain` is False).
    """

    rulebook: str
    outcome: str
    grade: str | None = None
    name: str | None = None
    rule: str | None = None
    because: str | None = None
    source: str | None = None
    confidence: str | None = None
    settled_by: str | None = None
    currency: str | None = None
    price: UnitPrice | None = None
    may_be_ungraded: bool = False
    says: str = ""
    candidates: tuple[Candidate, ...] = ()
    next_test: NextTest | None = None
    not_worth: NotWorth | None = None
    in_doubt: tuple[Caution, ...] = ()
    house_limits: tuple[HouseLimit, ...] = ()
    trace: tuple[TraceStep, ...] = ()
    cautions: tuple[Caution, ...] = ()
