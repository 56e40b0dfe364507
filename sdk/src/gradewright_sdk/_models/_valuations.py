"""Valuations: graded and priced parts, totals, and the pins that make them repeatable."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from gradewright_sdk._base import Answer

from ._common import Amount, InCurrency, Result, Spread
from ._gradings import HouseLimit, NextTest
from ._kept import Kept, read_kept
from ._prices import Basis
from ._rulebooks import Caution


class Weight(Result):
    """A weight as it was given, exactly in kilograms, and in both notations for people."""

    given: str
    kg: Decimal
    shown: str


class PartPrice(Result):
    """The price that a part was valued at: money per mass unit `per`, in the tier from `from_weight` on, if
    any.
    """

    low: Amount
    likely: Amount
    high: Amount
    per: str
    from_weight: str | None = None
    basis: Basis


class ValuedCandidate(Result):
    """A grade that the part may turn out to be, and what it would then be worth."""

    grade: str
    name: str
    amount: Spread | None = None


class RaiseStep(Result):
    """One preparation of a sequence, and how long it takes."""

    preparation: str
    name: str
    how: str = ""
    minutes: Decimal
    cautions: tuple[str, ...] = ()


class Shed(Result):
    """What work takes off a part for a pile of its own; `amount` is None where that has no price."""

    grade: str
    grade_name: str
    weight_kg: Decimal
    amount: Amount | None = None


class Raise(Result):
    """Work that would raise the part's worth: what it is, how long it takes, what it adds, and per hour.

    `steps` are done one after the other; where there is one only, `preparation` and `how` are its. `kept_kg`
    is what is left of the part, of the grade named; `shed` goes to other piles, and `lost_kg` to none. `best`
    says what no other work on the part does better: "by the hour", "in all". `about_pieces`: of how many
    pieces the minutes are, where the part weighs what no one of them does. Valuations of method 1 have single
    preparations only, and no steps.
    """

    about_pieces: int | None = None
    preparation: str | None = None
    name: str
    how: str | None = None
    steps: tuple[RaiseStep, ...] = ()
    minutes: Decimal
    grade: str | None = None
    grade_name: str | None = None
    gain: Amount
    per_hour: Amount | None = None
    kept_kg: Decimal | None = None
    shed: tuple[Shed, ...] = ()
    lost_kg: Decimal | None = None
    best: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


class Alike(Result):
    """Why finding out more is not worth it: the cheapest and the dearest grade, and what lies between.

    Without an hourly rate a `share` of the price, `within` what counts as alike; with one what knowing `adds`
    for this part on average, and at most (`spread`), against what its `minutes` cost. Valuations of method 3
    have the minutes of the next test alone, and no `adds`.
    """

    cheapest: str
    dearest: str
    share: str | None = None
    within: str | None = None
    spread: Amount | None = None
    minutes: Decimal | None = None
    costs: Amount | None = None
    adds: Amount | None = None


class ValuedPart(Result):
    """One part of the valuation.

    `outcome` is graded, named (the grade was given), undecided, contradiction or ungraded. `amount` is None
    where there is no price or no single grade; `unpriced` then says why and what would settle it. `cautions`
    are ids; those of them that are not certain, as they depend on what is not known of the part, are
    `possible_cautions` as well. `house_limits` are those of the place on which the grade rests. Where the
    rule is disputed, `settled_by` is what would settle it. `not_worth` says of an undecided part that finding
    out more is not worth it; `in_doubt` are ids of cautions, where only for their sake it is.
    """

    name: str
    count: int = 1
    weight: Weight
    outcome: str
    grade: str | None = None
    grade_name: str | None = None
    rule: str | None = None
    because: str | None = None
    source: str | None = None
    confidence: str | None = None
    settled_by: str | None = None
    candidates: tuple[ValuedCandidate, ...] = ()
    next_test: NextTest | None = None
    not_worth: Alike | None = None
    in_doubt: tuple[str, ...] = ()
    price: PartPrice | None = None
    amount: Spread | None = None
    unpriced: str | None = None
    raises: tuple[Raise, ...] = ()
    cautions: tuple[str, ...] = ()
    possible_cautions: tuple[str, ...] = ()
    house_limits: tuple[HouseLimit, ...] = ()


class Pile(Result):
    """All parts of one grade together. `lines` counts the parts."""

    grade: str
    name: str
    weight_kg: Decimal
    lines: int
    amount: Spread | None = None


class Totals(Result):
    """The sums over the priced parts, and how many were priced and not.

    `cash` is the likely total in the steps that the yard pays in cash; None if it has none.
    """

    low: Amount
    likely: Amount
    high: Amount
    cash: Amount | None = None
    priced: int
    unpriced: int


class ShortOf(Result):
    """What a pile is short of, exactly in kilograms, and in both notations for people."""

    kg: Decimal
    shown: str


class Pointer(Result):
    """What would pay beside the valuation, in words in `says`; `gain` is what it adds.

    `kind` take-apart: the part of that number pays more apart, by the `devices` that people opened, in so
    many `minutes`; with the gain in an hour, the grades without a price, and `cautions`; where it weighs what
    no one of them does, `about_pieces` says as how many it counts; `licence`: opening it is for those alone
    who hold one. `kind` hold: the pile of `grade` is
    `short` of the weight from which `yard` pays better.
    """

    kind: str
    says: str
    gain: Amount
    part: int | None = None
    device: str | None = None
    devices: int | None = None
    minutes: Decimal | None = None
    about_pieces: int | None = None
    up_to_per_hour: Amount | None = None
    licence: bool = False
    unpriced: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    grade: str | None = None
    yard: str | None = None
    from_weight: str | None = None
    short: ShortOf | None = None


class Valuation(Kept, InCurrency):
    """The whole valuation. `complete` is False where a part has no amount: the totals then lack it.

    `id` is set when the valuation was kept (or fetched by its id); it is not part of the body.
    """

    region: str | None = None
    yard: str | None = None
    on: date
    hour_rate: Amount | None = None
    complete: bool
    parts: tuple[ValuedPart, ...]
    piles: tuple[Pile, ...] = ()
    totals: Totals
    missing: tuple[str, ...] = ()
    pointers: tuple[Pointer, ...] = ()
    cautions: tuple[Caution, ...] = ()


def read_valuation(answer: Answer) -> Valuation:
    """A valuation with its bytes and, where the service says one, its id."""
    return read_kept(Valuation, answer, "valuation-id")
