"""The wire forms of regions."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import AfterValidator

from gradewright.core.money import currency
from gradewright.core.units import mass_unit
from gradewright.regions.service import CODE, Region
from gradewright.web.fields import In, Name, Out, TextForm, refusing

RegionCode = Annotated[
    str,
    TextForm(
        CODE,
        says="a country (ISO 3166-1), a subdivision (ISO 3166-2) or a locality under one",
        example="XO-KEL",
        longest=23,
    ),
]
CurrencyText = Annotated[
    str, TextForm(r"^[A-Z]{3}$", says="a currency of ISO 4217", example="USD", longest=3)
]
CurrencyCode = Annotated[CurrencyText, AfterValidator(refusing(currency))]
UnitText = Annotated[str, TextForm(r"^[A-Za-z][A-Za-z ]*$", says="a unit of mass", example="lb", longest=32)]
UnitName = Annotated[UnitText, AfterValidator(refusing(lambda text: mass_unit(text).symbol))]


class RegionIn(In):
    """A new region."""

    code: RegionCode
    name: Name
    parent: RegionCode | None = None
    currency: CurrencyCode
    unit: UnitName

    def region(self) -> Region:
        """The region that is meant."""
        return Region(self.code, self.name, self.parent, self.currency, self.unit)


class RegionOut(Out):
    """A region."""

    code: RegionCode
    name: str
    parent: str | None
    currency: str
    unit: str

    @classmethod
    def of(cls, region: Region) -> RegionOut:
        """The wire form."""
        return cls(**_fields(region))


class RegionMade(RegionOut):
    """A region just made, with the revision that made it."""

    revision: int

    @classmethod
    def made(cls, region: Region) -> RegionMade:
        """The wire form."""
        return cls(**_fields(region), revision=region.revision)


class RegionList(Out):
    """All regions, by code."""

    regions: list[RegionOut]


def _fields(region: Region) -> dict[str, Any]:
    return {
        "code": region.code,
        "name": region.name,
        "parent": region.parent,
        "currency": region.currency,
        "unit": region.unit,
    }
