"""The wire forms of answers about what comes out of devices."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Annotated

import msgspec
from pydantic import Field

from gradewright.compositions.kept import Compositions, DeviceKind, Kept
from gradewright.core.composition import Spread, Typical, TypicalPart
from gradewright.core.concerns import Concerning
from gradewright.core.decimals import ROUNDING, plain, trimmed
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.fields import ConcernOut, Observed, RulebookVersion
from gradewright.web.fields import Day, Out, Slug

SHARE, KILOGRAMS, MINUTES, PIECES = (Decimal(step) for step in ("0.0001", "0.001", "0.1", "0.1"))
THOUSAND = Fraction(1000)


class SpreadOut(Out):
    """Low, likely and high."""

    low: str
    likely: str
    high: str

    @classmethod
    def of(cls, spread: Spread | None, step: Decimal) -> SpreadOut | None:
        """The wire form, rounded half to even; exact inside."""
        if spread is None:
            return None
        low, likely, high = (rounded(each, step) for each in (spread.low, spread.likely, spread.high))
        return cls(low=low, likely=likely, high=high)


class KindOut(Out):
    """A kind of device: how many records of how many people count, and what it weighs."""

    kind: Slug
    name: str
    grade: Annotated[str | None, Field(description="In which it is usually sold whole.")]
    records: int
    voices: int
    published: Annotated[bool, Field(description="From publications alone: nobody has recorded one here.")]
    weight_kg: SpreadOut | None
    minutes: SpreadOut | None

    @classmethod
    def of(cls, kind: DeviceKind, typical: Typical | None) -> KindOut:
        """The wire form."""
        return cls(
            kind=kind.slug,
            name=kind.name,
            grade=kind.grade,
            records=typical.records if typical else 0,
            voices=typical.voices if typical else 0,
            published=typical.published if typical else False,
            weight_kg=_kilograms(typical.grams) if typical else None,
            minutes=SpreadOut.of(typical.minutes, MINUTES) if typical else None,
        )


class KindList(Out):
    """All kinds, by slug."""

    known_at: int
    kinds: list[KindOut]

    @classmethod
    def of(cls, known: Compositions, revision: int) -> KindList:
        """The wire form."""
        told = [KindOut.of(kind, known.typical(kind.slug, None, revision)) for kind in known.kinds(revision)]
        return cls(known_at=revision, kinds=told)


class TypicalPartOut(Out):
    """What is typical of one grade: its share of the whole, its weight, and in how many records it is.

    `weight_kg`: of a device of the weight that was asked for, or as recorded; `pieces` where those are told.
    """

    grade: Slug
    name: Annotated[str | None, Field(description="None where the rulebook in force has no such grade.")]
    share: SpreadOut | None
    weight_kg: SpreadOut | None
    pieces: SpreadOut | None
    found: int

    @classmethod
    def of(cls, part: TypicalPart, rulebook: Rulebook, grams: Fraction | None) -> TypicalPartOut:
        """The wire form. `grams`: of the device in question."""
        grade = rulebook.grades.get(part.grade)
        return cls(
            grade=part.grade,
            name=grade.name if grade else None,
            share=SpreadOut.of(part.share, SHARE),
            weight_kg=_kilograms(scaled(part, grams)),
            pieces=SpreadOut.of(part.count, PIECES),
            found=part.found,
        )


class RestOut(Out):
    """What nobody named: its share and weight."""

    share: SpreadOut | None
    weight_kg: SpreadOut | None


class SharesRestOnOut(Out):
    """What shares are of: the records that tell the weight of the whole device, and of how many people
    (`voices`) these are. Others count for weights alone. `says` has it in words.
    """

    records: int
    voices: int
    says: str

    @classmethod
    def of(cls, found: Typical) -> SharesRestOnOut:
        """The wire form."""
        records, voices = found.shares_of
        whose = ("publication", "publications") if found.published else ("person", "people")
        if not records:
            says = "No record tells the weight of the whole device: there are no shares."
        elif records == found.records:
            each = "Each record tells" if records > 1 else "The one record tells"
            says = f"{each} the weight of the whole device: shares are of all."
        else:
            by = f"{voices} {whose[voices != 1]}"
            tell = "tells" if records == 1 else "tell"
            says = (
                f"Of {found.records} records {records}, of {by}, {tell} the weight of the whole device: "
                "shares are of these alone."
            )
        return cls(records=records, voices=voices, says=says)


class CompositionOut(KindOut):
    """What a kind of device usually consists of, as its records say together.

    Low and high are quartiles, or the extremes where records are few, as `says` tells. The likely shares and
    the likely rest are one together. `weight`: that asked for; `weight_kg`: what recorded devices weigh.
    """

    on: Day
    known_at: int
    rulebook: RulebookVersion
    weight: str | None
    parts: list[TypicalPartOut]
    rest: RestOut | None
    shares_rest_on: Annotated[
        SharesRestOnOut | None, Field(description="Of how many records shares are; null where none counts.")
    ]
    says: list[str]
    cautions: list[ConcernOut]

    @classmethod
    def typical(
        cls,
        kind: DeviceKind,
        found: Typical | None,
        *,
        on: date,
        known_at: int,
        rulebook: Rulebook,
        weight: tuple[str, Decimal] | None,
        cautions: Concerning,
    ) -> CompositionOut:
        """The wire form."""
        grams = None if weight is None else Fraction(weight[1])
        says = list(found.says) if found else ["No record of it counts: they were taken back, or are later."]
        if found and found.rest is None and grams is not None:
            says.append("The weights are those recorded: there are no shares to bring to another weight.")
        rest = found.rest if found else None
        of_rest = rest.times(grams) if rest and grams is not None else None
        return cls(
            **dict(KindOut.of(kind, found)),
            on=on,
            known_at=known_at,
            rulebook=rulebook.version,
            weight=None if weight is None else weight[0],
            parts=[TypicalPartOut.of(part, rulebook, grams) for part in found.parts] if found else [],
            rest=RestOut(share=SpreadOut.of(rest, SHARE), weight_kg=_kilograms(of_rest)) if rest else None,
            shares_rest_on=SharesRestOnOut.of(found) if found else None,
            says=says,
            cautions=[
                ConcernOut(id=c.id, name=c.name, says=c.says, source=c.source, certain=certain)
                for each, certain in ((cautions.certain, True), (cautions.possible, False))
                for c in each
            ],
        )


class RecordedPartOut(Out):
    """All of one sort that came out of the device, in the grade that it had by `rulebook`."""

    grade: Slug
    weight: str | None
    share: str | None
    count: int | None
    observed: Observed | None
    says: str | None


class WithdrawnOut(Out):
    """A record was taken back."""

    revision: int
    reason: str


class RecordOut(Out):
    """One device, as it was recorded; weights and shares as written."""

    id: str
    kind: Slug
    on: Day
    weight: str | None
    made_year: int | None
    model: str | None
    minutes: str | None
    region: str | None
    source: str | None
    from_memory: bool
    note: str | None
    rulebook: RulebookVersion
    author: str | None
    revision: int
    parts: list[RecordedPartOut]
    withdrawn: WithdrawnOut | None

    @classmethod
    def of(cls, kept: Kept, known_at: int) -> RecordOut:
        """The wire form, as known at a revision."""
        row = kept.row
        gone = kept.withdrawn is not None and kept.withdrawn <= known_at
        return cls(
            id=row.id,
            kind=row.kind,
            on=row.taken_on,
            weight=row.weight,
            made_year=row.made_year,
            model=row.model,
            minutes=None if row.minutes is None else plain(row.minutes),
            region=row.region,
            source=row.source,
            from_memory=row.from_memory,
            note=row.note,
            rulebook=row.rulebook,
            author=row.author,
            revision=row.revision,
            parts=[
                RecordedPartOut(
                    grade=part.grade,
                    weight=part.weight,
                    share=part.share,
                    count=part.count,
                    observed=None if part.observed is None else msgspec.json.decode(part.observed),
                    says=part.says,
                )
                for part in kept.parts
            ],
            withdrawn=WithdrawnOut(revision=kept.withdrawn or 0, reason=kept.reason or "") if gone else None,
        )


class RecordList(Out):
    """Records of a kind, newest first, as known at a revision; those taken back are told as such."""

    known_at: int
    records: list[RecordOut]
    next: str | None


class RecordMade(Out):
    """What was stored, and at which revision. `unusual`: what to look at again, a sentence each, and whether
    the record counts in spite of it.
    """

    id: str
    kind: Slug
    revision: int
    unusual: list[str]


class KindCorrected(Out):
    """What a kind of device is called and sold whole as, from a revision on."""

    kind: Slug
    name: str
    grade: str | None
    revision: int
    reason: str


class CompositionWithdrawn(Out):
    """A record that counts no more from a revision on."""

    id: str
    revision: int
    reason: str


def scaled(part: TypicalPart, grams: Fraction | None) -> Spread | None:
    """The weight of a part in a device of so many grams; as recorded where no weight or no share is known."""
    if grams is None or part.share is None:
        return part.grams
    return part.share.times(grams)


def rounded(value: Fraction, step: Decimal) -> str:
    """A number in digits, rounded once, half to even, without trailing zeros."""
    ratio = ROUNDING.divide(Decimal(value.numerator), Decimal(value.denominator))
    return trimmed(ratio.quantize(step, context=ROUNDING))


def _kilograms(grams: Spread | None) -> SpreadOut | None:
    return SpreadOut.of(grams.times(1 / THOUSAND) if grams else None, KILOGRAMS)
