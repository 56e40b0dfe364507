"""The wire forms of house rules."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from gradewright.core.house import HouseRules, Label, OwnLimit, Refusal, Speaker
from gradewright.web.fields import Day, In, KnownAt, Name, Out, Slug, TextForm
from gradewright.yards.atlas import House
from gradewright.yards.house_rules import InForce, Said, Saying

LimitName = Annotated[
    str,
    TextForm(
        r"^[a-z][a-z0-9_]*$", says="the name of a limit of the rulebook", example="heavy_steel_thickness"
    ),
]
Sentence = Annotated[
    str,
    TextForm(
        r"^[^\x00-\x20\x7f]([^\x00-\x1f\x7f]*[^\x00-\x20\x7f])?$",
        says="text on one line, at most 300 characters, without spaces around it",
        example="Sign at the gate.",
        longest=300,
    ),
]
Kind = Literal["limit", "label", "refusal"]


class OwnLimitIn(In):
    """A value for a limit of the rulebook."""

    limit: LimitName
    value: Annotated[
        Name | None,
        Field(description='With its unit, such as "1/8 in"; null lifts the place\'s own value again.'),
    ]
    says: Annotated[
        Name | None,
        Field(description='The same in the place\'s words, such as "heavy steel begins at 1/8 in".'),
    ] = None


class OwnLabelIn(In):
    """The place's own word for a grade."""

    label: Name
    grade: Annotated[Slug | None, Field(description="null: the label is no longer used there.")]


class HouseRulesIn(In):
    """What a place says from a day on. A later word replaces or lifts an earlier one; nothing is changed."""

    valid_from: Annotated[Day | None, Field(alias="from", description="Default: today (UTC).")] = None
    reason: Annotated[Sentence, Field(description="Why, and who says so: shown with the rules.")]
    limits: Annotated[tuple[OwnLimitIn, ...], Field(max_length=100)] = ()
    labels: Annotated[tuple[OwnLabelIn, ...], Field(max_length=500)] = ()
    refuses: Annotated[
        tuple[Slug, ...], Field(max_length=500, description="Grades that are not taken there.")
    ] = ()
    takes: Annotated[
        tuple[Slug, ...],
        Field(max_length=500, description="Grades that are taken again, whoever refused them."),
    ] = ()

    @model_validator(mode="after")
    def _something(self) -> HouseRulesIn:
        if not (self.limits or self.labels or self.refuses or self.takes):
            raise PydanticCustomError("one_of", "say something: give limits, labels, refuses or takes")
        return self

    def saying(self, today: date) -> Saying:
        """What is meant; without a day, from `today` on."""
        day = self.valid_from or today
        return Saying(
            valid_from=day,
            reason=self.reason,
            limits=tuple(OwnLimit(said.limit, said.value, day, said.says) for said in self.limits),
            labels=tuple((said.label, said.grade) for said in self.labels),
            refuses=self.refuses,
            takes=self.takes,
        )


class HouseRuleOut(Out):
    """One word of one place: about a limit, a label or a grade. `lifted`: it ends what was said before."""

    kind: Kind
    place: str
    limit: str | None
    value: str | None
    says: str | None
    label: str | None
    grade: str | None
    lifted: bool
    valid_from: Annotated[Day, Field(alias="from")]
    reason: str | None
    author: str | None
    revision: int


class HouseRulesOut(Out):
    """What holds in a place on a day, by whose word; and all that the place itself has said, in order."""

    region: str
    yard: str | None
    on: Day
    known_at: int
    in_force: list[HouseRuleOut]
    history: list[HouseRuleOut]

    @classmethod
    def of(cls, house: House, on: date, found: InForce) -> HouseRulesOut:
        """The wire form."""
        holding: list[tuple[Speaker, OwnLimit | Label | Refusal]] = [
            *found.limits,
            *found.labels,
            *found.refusals,
        ]
        return cls(
            region=house.region,
            yard=house.yard,
            on=on,
            known_at=found.revision,
            in_force=[_rule(speaker.code, word) for speaker, word in holding],
            history=_history(found.own.code, found.own.rules),
        )


class HouseRulesMade(Out):
    """What was added, with the revision that added it, and what to know about it."""

    region: str
    yard: str | None
    revision: int
    rules: list[HouseRuleOut]
    notes: list[str]

    @classmethod
    def of(cls, house: House, said: Said) -> HouseRulesMade:
        """The wire form."""
        rules = [
            rule.model_copy(update={"revision": said.revision}) for rule in _history(house.code, said.rules)
        ]
        return cls(
            region=house.region,
            yard=house.yard,
            revision=said.revision,
            rules=rules,
            notes=list(said.notes),
        )


class HouseRulesQuery(In):
    """Which day, as known when."""

    on: Annotated[Day | None, Field(description="What holds on this day; default today (UTC).")] = None
    known_at: Annotated[KnownAt | None, Field(description="As known then; default now.")] = None


def _history(place: str, rules: HouseRules) -> list[HouseRuleOut]:
    words: list[OwnLimit | Label | Refusal] = [*rules.limits, *rules.labels, *rules.refusals]
    words.sort(key=lambda word: (word.revision, word.valid_from))
    return [_rule(place, word) for word in words]


def _rule(place: str, word: OwnLimit | Label | Refusal) -> HouseRuleOut:
    told: dict[str, Any] = dict.fromkeys(("limit", "value", "says", "label", "grade"))
    if isinstance(word, OwnLimit):
        told.update(kind="limit", limit=word.name, value=word.given, says=word.says)
    elif isinstance(word, Label):
        told.update(kind="label", label=word.label, grade=word.grade)
    else:
        told.update(kind="refusal", grade=word.grade)
    by = {"from": word.valid_from, "reason": word.reason, "author": word.author, "revision": word.revision}
    return HouseRuleOut.model_validate({**told, "place": place, "lifted": word.lifted, **by})
