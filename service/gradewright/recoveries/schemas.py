"""The wire forms of requests for recovery, as they are checked."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StrictInt, model_validator
from pydantic_core import PydanticCustomError

from gradewright.prices.schemas import Weight
from gradewright.recoveries.given import Request, read_what
from gradewright.rulebooks.fields import Observed, RulebookVersion
from gradewright.valuations.schemas import PlacedIn
from gradewright.web.fields import Day, In, Instant, OneOf, Slug, TextForm

MOST_CONDUCTORS = 40
MOST_OF_ONE = 10_000
MOST_METALS = 4
Precious = Literal["gold", "silver", "palladium", "platinum"]
Like = Literal[
    "computer-boards",
    "laptop-boards",
    "television-boards",
    "player-boards",
    "printer-boards",
    "phones",
    "desktop-computers",
    "lighting-capacitors",
]


def _measure(says: str, example: str) -> TextForm:
    # Loose on purpose: the readers of measures say far better than a pattern what is wrong with one.
    return TextForm(r"^[^\x00-\x1f\x7f]+$", says=says, example=example, longest=80)


def _number(says: str, example: str) -> TextForm:
    return TextForm(r"^(0|[1-9][0-9]{0,14})(\.[0-9]{1,9})?$", says=says, example=example, longest=30)


Length = Annotated[str, _measure("a length with its unit", "1000 ft")]
Size = Annotated[str, _measure("a wire gauge, a cross-section or a diameter", "16 AWG")]
Volume = Annotated[str, _measure("a volume with its unit", "28 ml")]
ContentText = Annotated[str, _measure("a content of metal", "250 g/t")]
ShareText = Annotated[str, _measure("a share in percent", "95 %")]
UnitText = Annotated[str, _measure("a unit of mass", "ozt")]
Minutes = Annotated[str, _number("minutes as a string of plain digits", "6")]
Money = Annotated[str, _number("an amount as a string of plain digits", "12.50")]
Degrees = Annotated[str, _number("degrees Celsius as a string of plain digits", "20")]
Currency = Annotated[
    str, TextForm(r"^[A-Z]{3}$", says="a currency code of ISO 4217", example="USD", longest=3)
]


class ConductorIn(In):
    """Conductors that are alike: a size, or strands of a diameter; `strands` beside a size: 1 is solid."""

    count: Annotated[int, Field(ge=1, le=MOST_OF_ONE)] = 1
    size: Annotated[Size | None, Field(description='"16 AWG", "1.5 mm2", or a diameter in mm.')] = None
    strands: Annotated[int | None, Field(ge=1, le=MOST_OF_ONE)] = None
    strand: Annotated[Length | None, Field(description="The diameter of one strand.")] = None

    @model_validator(mode="after")
    def _one_of_each(self) -> ConductorIn:
        if (self.size is None) == (self.strand is None):
            raise PydanticCustomError("one_of", "give either the size of the conductor or that of a strand")
        if self.strand is not None and self.strands is None:
            raise PydanticCustomError("one_of", "say how many strands of that diameter there are")
        return self


class StripIn(In):
    """A lot that may be stripped: how long that takes, what an hour is worth (zero is allowed), and what it
    costs to be rid of the insulation.
    """

    lot: Weight
    minutes_per_kg: Minutes | None = None
    minutes_per_metre: Minutes | None = None
    hour_rate: Annotated[Money, Field(description="In the currency of the place.")] = "0"
    disposal: Annotated[
        Money, Field(description="What it costs to be rid of one `disposal_per` of the insulation.")
    ] = "0"
    disposal_per: UnitText = "kg"
    disposal_once: Annotated[
        Money, Field(description="Beside that, for the haul of it, however much it weighs.")
    ] = "0"

    @model_validator(mode="after")
    def _one_of_each(self) -> StripIn:
        if (self.minutes_per_kg is None) == (self.minutes_per_metre is None):
            raise PydanticCustomError("one_of", "give either minutes_per_kg or minutes_per_metre")
        return self


class CableIn(In):
    """A cable by its build, and what a length of it weighs."""

    conductors: Annotated[list[ConductorIn], Field(min_length=1, max_length=MOST_CONDUCTORS)]
    weight: Weight
    length: Length
    scale: Annotated[
        Weight | None, Field(description="The scale's step; default the last digit written.")
    ] = None
    length_within: Annotated[Length | None, Field(description="How far off; default half a per cent.")] = None
    observed: Observed | None = None
    strip: StripIn | None = None


class SampleIn(In):
    """A piece of cable, weighed before and after stripping."""

    weight: Weight
    copper: Weight
    scale: Annotated[
        Weight | None, Field(description="The scale's step; default the last digit written.")
    ] = None
    observed: Observed | None = None
    strip: StripIn | None = None


class DisplacementIn(In):
    """A piece weighed dry, and hanging in water or by the volume that it moves aside."""

    dry: Weight
    in_water: Weight | None = None
    displaced: Volume | None = None
    scale: Annotated[
        Weight | None, Field(description="The scale's step; default the last digit written.")
    ] = None
    vessel: Annotated[Volume | None, Field(description="The vessel's step; default the last digit.")] = None
    water: Annotated[Degrees | None, Field(description="The water's temperature; default unknown.")] = None
    observed: Observed | None = None

    @model_validator(mode="after")
    def _one_of_each(self) -> DisplacementIn:
        if (self.in_water is None) == (self.displaced is None):
            raise PydanticCustomError("one_of", "give either in_water or displaced")
        return self


class MetalIn(In):
    """A precious metal: its assay range (or none, where `like` is told), its price, and a buyer's terms."""

    metal: Precious
    low: ContentText | None = None
    high: ContentText | None = None
    price: Annotated[Money | None, Field(description="For one `per` of the metal.")] = None
    benchmark: Annotated[Slug | None, Field(description="Instead of a price: the newest value.")] = None
    per: UnitText = "ozt"
    payable: Annotated[ShareText | None, Field(description="Default all of it.")] = None
    deduction: Annotated[ContentText | None, Field(description="Taken off the assay first.")] = None
    refining: Annotated[Money | None, Field(description="For one `per` of metal that is paid for.")] = None


class AssayIn(In):
    """A lot with precious metal: only ends are answered, an indication and not an assay."""

    lot: Weight
    metals: Annotated[list[MetalIn], Field(min_length=1, max_length=MOST_METALS)]
    scale: Annotated[
        Weight | None, Field(description="The scale's step; default the last digit written.")
    ] = None
    like: Annotated[Like | None, Field(description="The kind of thing that publications are about.")] = None
    currency: Annotated[Currency | None, Field(description="Default that of the benchmarks.")] = None
    treatment: Annotated[Money | None, Field(description="For one `treatment_per` of the lot.")] = None
    treatment_per: UnitText = "kg"
    charge: Annotated[Money | None, Field(description="For the lot, once.")] = None
    smallest_lot: Weight | None = None


class RecoveryIn(PlacedIn):
    """One thing to be recovered: a cable, a sample of one, a piece by displacement, or an assay."""

    on: Annotated[Day | None, Field(description="The day of prices and rulebook; default today (UTC).")] = (
        None
    )
    known_at: Annotated[
        Annotated[
            Annotated[StrictInt, Field(ge=0, le=10**15)] | Instant,
            OneOf(
                "write a revision of the ledger as a whole number, or an instant with its zone as in "
                'RFC 3339, such as "2026-05-04T09:12:00Z"'
            ),
        ]
        | None,
        Field(description="A revision of the ledger or an instant; default now."),
    ] = None
    rulebook: Annotated[RulebookVersion | None, Field(description="Default: in force on the day.")] = None
    keep: Annotated[bool, Field(description="Keep the answer, to be read and replayed later.")] = False
    cable: CableIn | None = None
    sample: SampleIn | None = None
    displacement: DisplacementIn | None = None
    assay: AssayIn | None = None

    @model_validator(mode="after")
    def _one_of_each(self) -> RecoveryIn:
        if sum(part is not None for part in self._parts().values()) != 1:
            raise PydanticCustomError("one_of", "give one of cable, sample, displacement and assay")
        if self.region is not None and self.yard is not None:
            raise PydanticCustomError("one_of", "give a region or a yard, or neither, not both")
        return self

    def _parts(self) -> dict[str, In | None]:
        return {
            "cable": self.cable,
            "sample": self.sample,
            "displacement": self.displacement,
            "assay": self.assay,
        }

    def request(self) -> Request:
        """What the service takes."""
        kind, part = next((name, part) for name, part in self._parts().items() if part is not None)
        what = read_what(kind, part.model_dump())
        return Request(kind, what, self.region, self.yard, self.on, self.known_at, self.rulebook)
