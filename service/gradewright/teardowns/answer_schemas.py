"""The wire forms of answers to teardowns."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from gradewright.prices.schemas import ShownOut
from gradewright.regions.schemas import RegionCode
from gradewright.valuations.schemas import AmountOut, CandidateOut, Confidence, NextTestOut, PinsOut
from gradewright.web.fields import Day, Out, Slug

How = Literal["all-at-once", "piece-by-piece"]
Choice = Literal["sell-whole", "open", "leave", "stay-on", "stay-inside"]


class PaysOut(Out):
    """At which rates an hour it pays; `up_to` is rounded down, and null where there is no such rate. It
    cannot be told where it pays at no rate as long as what has no price counts as nothing, or where it is
    what is undecided that decides at the rate asked for.
    """

    pays: Literal["at any rate", "below a rate", "at no rate", "cannot be told"]
    up_to: str | None


class WeighsOut(Out):
    """A weight in kilograms, and in both notations for people."""

    kg: str
    shown: str


class PartWeightOut(WeighsOut):
    """The likely weight of all pieces together, and from low to high."""

    low_kg: str
    high_kg: str


class LeftWeightOut(WeighsOut):
    """The likely weight, and from low to high where the method tells that: never less than nothing."""

    low_kg: str | None = None
    high_kg: str | None = None


class ChargeOut(Out):
    """What it costs to be rid of it, for a piece or for a unit of mass."""

    amount: str
    per: str


class LeftOut(Out):
    """What is left over, with what stays on it. `lost_kg`: what ends up nowhere, where its weight was told.
    `amount` is null where nobody knows what is paid for it: `unpriced` says why.
    """

    name: str | None
    weight: LeftWeightOut
    lost_kg: str | None
    grade: Slug | None
    grade_name: str | None
    charge: ChargeOut | None
    amount: str | None
    unpriced: str | None


class OpeningOut(PaysOut):
    """Opening a part, all its pieces: its own minutes and cost, what everything in it comes to at its best,
    in how many minutes in all, and what that is more than the part brings as it is (than nothing, where it is
    unpriced), also by the hour. Whether it pays is said of the part in hand.
    """

    how: How
    minutes: str
    cost: str
    comes_to: str
    in_all_minutes: str
    gain: str
    per_hour: str | None
    leftover: LeftOut


class TakingOffOut(PaysOut):
    """Taking a part off that comes off for itself: its own minutes, and what it brings, with what is done
    with it then, over leaving it on; no gain is told of what must come off.
    """

    minutes: str
    must: bool
    gain: str | None
    in_all_minutes: str
    per_hour: str | None


class UsualWeightOut(Out):
    """What stands in for a weight: what is usual in a kind of device, from so many `records` of so many
    people (`voices`), or only from what was `published`.
    """

    kind: Slug
    name: str
    records: int
    voices: int
    published: bool
    says: str


class PartOut(Out):
    """One part: what it is, what it brings as it is, what the plan does with it and why. Weights, minutes and
    money are of all its `pieces` in the device. `candidates` and `next_test`: where too little is known.
    """

    number: int
    name: str
    count: int
    pieces: int
    weight: PartWeightOut
    outcome: Literal["graded", "named", "undecided", "contradiction", "ungraded", "unknown"]
    grade: Slug | None
    grade_name: str | None
    because: str | None
    candidates: list[CandidateOut]
    next_test: NextTestOut | None
    amount: AmountOut | None
    unpriced: str | None
    choice: Choice
    why: str
    opening: OpeningOut | None
    taking_off: TakingOffOut | None
    cautions: Annotated[
        list[str], Field(description="Ids of the rulebook's cautions, or the caller's words.")
    ]
    possible_cautions: Annotated[
        list[Slug],
        Field(description="Those of `cautions` that depend on what is not known of the part."),
    ]
    usual: Annotated[
        UsualWeightOut | None, Field(description="Only where nobody weighed it: what stands in for that.")
    ] = None
    confidence: Annotated[
        Confidence | None, Field(description="Only where a rule grades it: how sure that is.")
    ] = None
    settled_by: Annotated[
        str | None,
        Field(description="Only where that rule is disputed, and the rulebook says what would settle it."),
    ] = None


class NodeOut(PartOut):
    """One part: what it is, what it brings as it is, what the plan does with it and why. Weights, minutes and
    money are of all its `pieces` in the device. `candidates` and `next_test`: where too little is known.
    """

    parts: list[NodeOut]


class ListedOut(PartOut):
    """The same in a list: `within` is the `number` of the part that it is inside of, null for the device."""

    within: int | None


class TeardownCautionOut(Out):
    """What can hurt someone, or is governed by law; without an id where it was told with the request. Not
    `certain` where it depends on what is not known: until that is known take it to apply.
    """

    id: Slug | None
    name: str
    says: str
    source: str
    certain: bool


class LowHighOut(Out):
    """The ends of a range."""

    low: str
    high: str


class StopOut(Out):
    """What is no longer done from a rate on; what is inside of it goes with it."""

    number: int
    name: str
    what: Literal["open", "take-off"]


class StepOut(Out):
    """The best plan at rates from one to another (null: at all above): what it comes to before the time is
    paid, and its minutes. Rates are rounded down.
    """

    from_rate: str
    to_rate: str | None
    worth: str
    minutes: str
    stops: list[StopOut]


class ThenOut(Out):
    """What is done otherwise in another plan."""

    number: int
    name: str
    does: Literal["sell-whole", "open", "take-off", "leave-on"]


class ChangeOut(Out):
    """A price or a weight at which another plan is as good, everything else being as it is; beyond that it
    is better. Where a price steps at a weight, another plan may be better from there on or just beyond it:
    `says` tells which. Of a price `grade` says which, of a weight `number`; `now` and `becomes` are per one
    of `per`, and weights of all pieces in kilograms. Where a kind was asked for, its usual parts are shares
    of the weight of the device (number 0), and change with it.
    """

    what: Literal["price", "weight"]
    grade: Slug | None
    number: int | None
    name: str
    now: str
    becomes: str
    per: str
    change: str
    then: ThenOut
    says: str


class UnweighedOut(Out):
    """What knowing a weight would be worth on average, and whether that is more than weighing costs."""

    number: int
    name: str
    gain: str
    pays: bool


class WeighingOut(Out):
    """What weighing one part takes and costs, how many weights are not known, and what knowing them would be
    worth, dearest first: low and high are each taken for a quarter of cases, likely for half. Told of those
    that could change the plan, at most fifty.
    """

    minutes: str
    costs: str
    unweighed: int
    parts: list[UnweighedOut]


class TeardownPileOut(Out):
    """All of one grade in the plan; `says` where its weight goes with another price than it is counted at."""

    grade: Slug
    name: str
    weight: WeighsOut
    amount: str
    says: str | None


class TeardownPriceOut(Out):
    """What a grade of the device is counted at in lots of one size; `unpriced` says why there is no price."""

    grade: Slug
    name: str
    price: ShownOut | None
    unpriced: str | None


class TogetherPilesOut(Out):
    """A plan that leaves `gain` more than this one, once what is sold of a grade is one pile: `says` which,
    and `lots` what to ask again with to be answered it (empty where no lots do that).
    """

    gain: str
    lots: dict[Slug, str]
    says: str


class TeardownLicenceOut(Out):
    """Opening the device is work for those who hold a licence: for certain, or where what may apply does. By
    the cautions of these ids; who holds none leaves the device whole.
    """

    certain: bool
    cautions: list[Slug]
    says: str


class UnnamedLimitOut(Out):
    """Where what nobody named "costs" or "brings" more than so much per unit of the place, another plan is
    better.
    """

    what: Literal["costs", "brings"]
    more_than: str
    per: str
    then: ThenOut
    says: str


class UnnamedOut(Out):
    """What is left over that nobody named, which counts as nothing; where the device is not opened, what
    would be left of it.
    """

    weight: WeighsOut
    limits: list[UnnamedLimitOut]


class UsualOut(Out):
    """What is usual for the kind: from how many `records` of how many people (`voices`), or only from what
    was `published`. `apart`: what all parts pay at likely prices, over the devices that were taken apart,
    without the grades that are `unpriced` and without what no record names, as `says` tells; where the weight
    has a range, from the low one to the high one. `minutes`: for all devices that were asked for.
    """

    kind: Slug
    name: str
    weight: PartWeightOut
    records: int
    voices: int
    published: bool
    minutes: AmountOut
    apart: AmountOut | None
    unpriced: list[Slug]
    says: list[str]


class TeardownOut(Out):
    """Whether to take a device apart, and how far.

    `whole`: what it brings as it is. `worth`: what the plan brings before the time is paid, at low weights
    and prices, likely ones, high ones; `by_weights` the same at likely prices, where weights are not known.
    `net`: the likely worth less `labour`, the minutes at the hour's rate. `gain`, `per_hour`: over `whole`
    (over nothing where that is unpriced). `missing`: what counts as nothing, or as the least that it can be,
    also where it stays on, or inside, and another plan might be better if it were known. The `high` end of
    `worth` is that of such a plan too, where what is undecided turns out to be the dearest that it can be.
    `plan`: the device with its parts; where they were given as a list, they stand in `parts` and not in it.
    """

    region: RegionCode
    yard: str | None
    on: Day
    currency: str
    hour_rate: str
    says: str
    heed: str
    cautions: list[TeardownCautionOut]
    complete: bool
    missing: list[str]
    whole: AmountOut | None
    worth: AmountOut
    by_weights: LowHighOut | None
    minutes: str
    labour: str
    net: str
    gain: str
    per_hour: str | None
    plan: NodeOut
    parts: Annotated[
        list[ListedOut],
        Field(
            default_factory=list,
            description="Only where the device was given as a list: all of it, in the same order.",
        ),
    ]
    schedule: list[StepOut]
    changes: Annotated[list[ChangeOut], Field(description="The nearest twenty, nearest first.")]
    changes_in_all: int
    weighing: WeighingOut
    piles: list[TeardownPileOut]
    prices: list[TeardownPriceOut]
    together: Annotated[
        TogetherPilesOut | None,
        Field(
            description="Since method 5: another plan that is better by its piles; null where none was "
            "found. One that takes work which does not pay for itself, only to make a pile heavier, is not "
            "looked for."
        ),
    ] = None
    notes: Annotated[
        list[str], Field(description="What to know of the weights that were given.", default_factory=list)
    ]
    licence: Annotated[
        TeardownLicenceOut | None,
        Field(description="Since method 6: whether opening the device takes a licence; null: it is for all."),
    ] = None
    unnamed: Annotated[
        UnnamedOut | None,
        Field(description="Since method 6: what is left over that nobody named; null where nothing is."),
    ] = None
    typical: UsualOut | None
    priced: Annotated[str, Field(description="Which price of a grade is taken, where larger lots pay more.")]
    pins: PinsOut
