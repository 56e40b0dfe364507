"""Valuations: graded and priced parts, totals, and the pins that make them repeatable."""

from __future__ import annotations

from base64 import b64decode
from datetime import date
from decimal import Decimal
from hashlib import sha256

from pydantic import PrivateAttr

from gradewright_sdk._base import Answer
from gradewright_sdk._problems import unexpected

from ._common import Amount, InCurrency, Result, Spread, Whole, read_whole
from ._gradings import HouseLimit, NextTest
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
    says what no other work on the part does better: "by the hour", "in all". Valuations of method 1 have
    single preparations only, and no steps.
    """

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
    """That all candidates pay nearly the same: the cheapest and the dearest, and what lies between."""

    cheapest: str
    dearest: str
    share: str
    within: str


class ValuedPart(Result):
    """One part of the valuation.

    `outcome` is graded, named (the grade was given), undecided, contradiction or ungraded. `amount` is None
    where there is no price or no single grade; `unpriced` then says why and what would settle it. `cautions`
    are ids. `house_limits` are those of the place on which the grade rests. Where the rule is disputed,
    `settled_by` is what would settle it. `not_worth` says of an undecided part that finding out more is not
    worth it; `in_doubt` are ids of cautions, where only for their sake it is.
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


class Pins(Result):
    """What the valuation rests on. With the same rulebook, revision and method the same request answers the
    same.
    """

    rulebook: str
    revision: int
    method: str
    sha256: str | None = None


class Valuation(Whole, InCurrency):
    """The whole valuation. `complete` is False where a part has no amount: the totals then lack it.

    `id` is set when the valuation was kept (or fetched by its id); it is not part of the body.
    """

    region: str | None = None
    yard: str | None = None
    on: date
    complete: bool
    parts: tuple[ValuedPart, ...]
    piles: tuple[Pile, ...] = ()
    totals: Totals
    missing: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    pins: Pins

    _id: str | None = PrivateAttr(default=None)
    _ledger: tuple[int, bytes] | None = PrivateAttr(default=None)

    @property
    def id(self) -> str | None:
        """What to fetch or replay it by; None if it was not kept."""
        return self._id

    @property
    def ledger(self) -> tuple[int, bytes] | None:
        """How many entries the ledger had that it was worked out from, and the root of the tree over them:
        `client.ledger.consistency` shows that they are the beginning of today's. None if it was not kept.
        """
        return self._ledger

    @property
    def intact(self) -> bool:
        """Whether `raw` has the SHA-256 that the pins name: that of the bytes without that one member."""
        named = self.pins.sha256
        if named is None:
            return False
        # Quotes within any text are escaped in JSON, so this can only be the member itself.
        member = f',"sha256":"{named}"'.encode()
        return self.raw.count(member) == 1 and sha256(self.raw.replace(member, b"")).hexdigest() == named


def read_valuation(answer: Answer) -> Valuation:
    """A valuation with its bytes and, where the service says one, its id."""
    valuation = read_whole(Valuation, answer)
    valuation._id = answer.headers.get("valuation-id")
    size, root = answer.headers.get("ledger-size"), answer.headers.get("ledger-root")
    if size is not None and root is not None:
        try:
            valuation._ledger = int(size), b64decode(root, validate=True)
        except ValueError as error:
            raise unexpected(answer, "its Ledger-Size or Ledger-Root cannot be read") from error
    return valuation
