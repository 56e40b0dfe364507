"""Teardowns: whether to sell a device whole or to take it apart, and how far."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal

from pydantic import field_validator

from ._common import Amount, InCurrency, Result, Spread
from ._gradings import NextTest
from ._kept import Kept
from ._recoveries import PaidEnds
from ._rulebooks import Caution
from ._valuations import PartPrice, ValuedCandidate


class TeardownCaution(Caution):
    """A caution of a part or of work on it; `id` is empty where it was told with the request."""

    @field_validator("id", mode="before")
    @classmethod
    def _without_an_id(cls, value: object) -> object:
        return "" if value is None else value


class TeardownWeight(Result):
    """A weight in kilograms, and in both notations for people; of parts, and of what is left over, also from
    low to high.
    """

    kg: Decimal
    shown: str
    low_kg: Decimal | None = None
    high_kg: Decimal | None = None


class TeardownCharge(Result):
    """What it costs to be rid of something, for a piece or for a unit of mass."""

    amount: Amount
    per: str


class TeardownLeft(Result):
    """What is left over of an opened part, with what stays on it. `lost_kg` ends up nowhere; `amount` is None
    where nobody knows what is paid for it, which `unpriced` explains.
    """

    name: str | None = None
    weight: TeardownWeight
    lost_kg: Decimal | None = None
    grade: str | None = None
    grade_name: str | None = None
    charge: TeardownCharge | None = None
    amount: Amount | None = None
    unpriced: str | None = None


class TeardownOpening(Result):
    """Opening a part: what that comes to at its best, in how many minutes with all that is done inside, and
    what it brings over the part as it is, also by the hour.

    `pays` is "at any rate", "below a rate" or "at no rate" an hour; `up_to` is that rate, rounded down. It is
    "cannot be told" where what comes out has no price, or where what is undecided decides it.
    """

    how: str
    minutes: Decimal
    cost: Amount
    comes_to: Amount
    in_all_minutes: Decimal
    gain: Amount
    per_hour: Amount | None = None
    pays: str
    up_to: Amount | None = None
    leftover: TeardownLeft


class TakingOff(Result):
    """Taking off a part that comes off for itself: what that brings over leaving it on (None where it `must`
    come off), and up to which rate an hour it pays.
    """

    minutes: Decimal
    must: bool
    gain: Amount | None = None
    in_all_minutes: Decimal
    per_hour: Amount | None = None
    pays: str
    up_to: Amount | None = None


class UsualWeight(Result):
    """What stands in for a weight that nobody took: what is usual in a `kind` of device, from so many
    `records` of so many people (`voices`), or only from what was `published`.
    """

    kind: str
    name: str
    records: int
    voices: int
    published: bool
    says: str


class TeardownNode(Result):
    """A part of a device: what it is, what it brings as it is, what the plan does with it and why.

    `choice` is "sell-whole", "open", "leave" (nobody is known to pay for it), "stay-on" or "stay-inside".
    Weights, minutes and money are of all its `pieces`. `within`: in a list, the number of the one around it.
    `usual`: what stands in for its weight, where nobody weighed it. `confidence`: how sure the rule is that
    grades it, if one does; where that is disputed, `settled_by` is what would settle it.
    """

    number: int
    name: str
    count: int
    pieces: int
    weight: TeardownWeight
    outcome: str
    grade: str | None = None
    grade_name: str | None = None
    because: str | None = None
    confidence: str | None = None
    settled_by: str | None = None
    candidates: tuple[ValuedCandidate, ...] = ()
    next_test: NextTest | None = None
    amount: Spread | None = None
    unpriced: str | None = None
    choice: str
    why: str
    opening: TeardownOpening | None = None
    taking_off: TakingOff | None = None
    cautions: tuple[str, ...] = ()
    possible_cautions: tuple[str, ...] = ()
    usual: UsualWeight | None = None
    parts: tuple[TeardownNode, ...] = ()
    within: int | None = None

    def walk(self) -> Iterator[TeardownNode]:
        """The part and everything in it, each before what is inside of it."""
        yield self
        for part in self.parts:
            yield from part.walk()


class TeardownStop(Result):
    """What is no longer done from a rate on: `what` is "open" or "take-off"."""

    number: int
    name: str
    what: str


class TeardownStep(Result):
    """The best plan at rates from one to another (None: at all above), before the time is paid."""

    from_rate: Amount
    to_rate: Amount | None = None
    worth: Amount
    minutes: Decimal
    stops: tuple[TeardownStop, ...] = ()


class TeardownThen(Result):
    """What is done otherwise: `does` is "sell-whole", "open", "take-off" or "leave-on"."""

    number: int
    name: str
    does: str


class TeardownChange(Result):
    """A price or a weight at which another plan is as good; beyond it that is better. `now` and `becomes` are
    per one of `per`.
    """

    what: str
    grade: str | None = None
    number: int | None = None
    name: str
    now: Decimal
    becomes: Decimal
    per: str
    change: str
    then: TeardownThen
    says: str


class UnweighedPart(Result):
    """What knowing a weight would be worth on average, and whether that is more than weighing costs."""

    number: int
    name: str
    gain: Amount
    pays: bool


class Weighing(Result):
    """What weighing one part takes and costs, and of which it would pay; `unweighed` are not known in all."""

    minutes: Decimal
    costs: Amount
    unweighed: int
    parts: tuple[UnweighedPart, ...] = ()


class TeardownPile(Result):
    """All of one grade in the plan."""

    grade: str
    name: str
    weight: TeardownWeight
    amount: Amount
    says: str | None = None


class TeardownPrice(Result):
    """What a grade of the device is counted at, in lots from its from-weight on."""

    grade: str
    name: str
    price: PartPrice | None = None
    unpriced: str | None = None


class TeardownTogether(Result):
    """Another plan that leaves `gain` more once all that is sold of a grade is one pile: `says` which one,
    and `lots` what to ask again with to be answered it (empty where no lots do that).
    """

    gain: Amount
    lots: Mapping[str, str]
    says: str


class TeardownLicence(Result):
    """That what is opened is work for those who hold a licence: for certain, or where what may apply does
    (`certain` is False). `cautions`: the ids of those that say so. Who holds none leaves the device whole.
    """

    certain: bool
    cautions: tuple[str, ...]
    says: str


class UnnamedLimit(Result):
    """What another plan is better from: where what nobody named "costs" or "brings" more than so much, in the
    place's own unit.
    """

    what: str
    more_than: Amount
    per: str
    then: TeardownThen
    says: str


class TeardownUnnamed(Result):
    """What is left over that nobody named, counted as nothing; `limits`: what would change the plan."""

    weight: TeardownWeight
    limits: tuple[UnnamedLimit, ...] = ()


class UsualMinutes(Result):
    """Low, likely and high of the minutes for all devices that were asked for."""

    low: Decimal
    likely: Decimal
    high: Decimal


class UsualDevice(Result):
    """What is usual for a kind of device, and what that rests on; `says` first tells it in a sentence."""

    kind: str
    name: str
    weight: TeardownWeight
    records: int
    voices: int
    published: bool
    minutes: UsualMinutes
    apart: Spread | None = None
    unpriced: tuple[str, ...] = ()
    says: tuple[str, ...] = ()


class Teardown(Kept, InCurrency):
    """The whole answer. `worth` is what the plan brings before the time is paid, `net` what is left of the
    likely worth after `labour`; `by_weights` how far it ranges with the weights alone. `complete` is False
    where something in the plan counts as nothing, or as the least that it can be: `missing` says what.

    `together`: another plan that is better by its piles; `notes`: what to know of weights that were given.
    `licence`: where opening the device is not for everybody; `unnamed`: what is left over that nobody named.
    `plan` is the device with its parts; where it was given as a list, all of it is in `parts` and `plan` has
    none. `id` is set when it was kept (or fetched by its id); it is not part of the body.
    """

    region: str | None = None
    yard: str | None = None
    on: date
    hour_rate: Amount
    says: str
    heed: str
    cautions: tuple[TeardownCaution, ...] = ()
    complete: bool
    missing: tuple[str, ...] = ()
    whole: Spread | None = None
    worth: Spread
    by_weights: PaidEnds | None = None
    minutes: Decimal
    labour: Amount
    net: Amount
    gain: Amount
    per_hour: Amount | None = None
    plan: TeardownNode
    parts: tuple[TeardownNode, ...] = ()
    schedule: tuple[TeardownStep, ...] = ()
    changes: tuple[TeardownChange, ...] = ()
    changes_in_all: int = 0
    weighing: Weighing | None = None
    piles: tuple[TeardownPile, ...] = ()
    prices: tuple[TeardownPrice, ...] = ()
    priced: str = ""
    together: TeardownTogether | None = None
    notes: tuple[str, ...] = ()
    typical: UsualDevice | None = None
    licence: TeardownLicence | None = None
    unnamed: TeardownUnnamed | None = None
