"""The invented district as it stands in `kelder-bay.yaml`, typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from gradewright.rulebooks.document import from_yaml

FOLDER = Path(__file__).parent
TREADMILL = FOLDER / "treadmill.csv"
REGION = "XO-KEL"


@dataclass(frozen=True, slots=True)
class Market:
    """How prices moved: `drift` over the whole time, at most `swing` from one week to the next."""

    drift: Decimal
    swing: Decimal


@dataclass(frozen=True, slots=True)
class Benchmark:
    """A market as the maintainer keeps it: `today` is its newest value; an index has no currency."""

    name: str
    market: str
    today: Decimal
    currency: str | None = None
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Better:
    """The price for larger lots: the usual one, `times` so much, from a weight on."""

    from_weight: str
    grades: tuple[str, ...]
    times: Decimal


@dataclass(frozen=True, slots=True)
class HouseRules:
    """A yard's own limits, from so many days ago on, as the service is told of them."""

    days_ago: int
    reason: str
    limits: tuple[Mapping[str, str], ...]


@dataclass(frozen=True, slots=True)
class Yard:
    """A yard: what the service is told of it, and how it prices."""

    slug: str
    name: str
    region: str
    unit: str
    cash_increment: str | None
    labels: Mapping[str, str]
    refuses: tuple[str, ...]
    pays: Mapping[str, Decimal]
    per: Mapping[str, str]
    better: Better | None
    house_rules: HouseRules | None

    def label_for(self, grade: str) -> str | None:
        """The yard's own word for a grade."""
        return next((label for label, meant in self.labels.items() if meant == grade), None)


@dataclass(frozen=True, slots=True)
class Grade:
    """The guide price of a grade in USD per lb today, its market, and the yards that post it."""

    slug: str
    guide: Decimal
    market: str
    at: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Habit:
    """A member goes to a yard every so many days, last so many days ago, and notes so many prices."""

    yard: str
    every: int
    last: int
    evidence: str
    notes: int


@dataclass(frozen=True, slots=True)
class Careless:
    """Visits, counted back from the last one, on which a member wrote one price in the wrong unit."""

    member: str
    yard: str
    grade: str
    per: str
    visits: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Refused:
    """A price in a unit that does not say enough, and the unit that was meant."""

    member: str
    yard: str
    grade: str
    per: str
    meant: str
    evidence: str
    days_ago: int


@dataclass(frozen=True, slots=True)
class TakenApart:
    """A device that a member took apart so many days ago: its weight, its parts by grade, the minutes."""

    by: str
    days_ago: int
    weight: str
    minutes: str
    parts: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Device:
    """A kind of device: its name, the grade in which it is sold whole, and those that were taken apart."""

    name: str
    grade: str
    taken_apart: tuple[TakenApart, ...]


@dataclass(frozen=True, slots=True)
class Scenario:
    """All of it."""

    days: int
    seed: int
    regions: tuple[Mapping[str, str | None], ...]
    markets: Mapping[str, Market]
    benchmarks: Mapping[str, Benchmark]
    yards: Mapping[str, Yard]
    grades: Mapping[str, Grade]
    members: Mapping[str, tuple[Habit, ...]]
    maintainer: str
    careless: Careless
    refused: Refused
    devices: Mapping[str, Device]


def read_scenario(path: Path = FOLDER / "kelder-bay.yaml") -> Scenario:
    """The scenario in a file. A word that is not expected, or one left out, is a `TypeError`."""
    found = from_yaml(path.read_text(encoding="utf-8"))
    return Scenario(
        **{
            **found,
            "regions": tuple(found["regions"]),
            "markets": {name: Market(**_exact(said)) for name, said in found["markets"].items()},
            "benchmarks": {
                slug: Benchmark(**{**said, "today": Decimal(said["today"])})
                for slug, said in found["benchmarks"].items()
            },
            "yards": {slug: _yard(slug, said) for slug, said in found["yards"].items()},
            "grades": {slug: _grade(slug, said) for slug, said in found["grades"].items()},
            "members": {
                handle: tuple(Habit(**said) for said in habits) for handle, habits in found["members"].items()
            },
            "careless": Careless(**{**found["careless"], "visits": tuple(found["careless"]["visits"])}),
            "refused": Refused(**found["refused"]),
            "devices": {
                slug: Device(
                    **{**said, "taken_apart": tuple(TakenApart(**one) for one in said["taken_apart"])}
                )
                for slug, said in found["devices"].items()
            },
        }
    )


def _exact(said: Mapping[str, str]) -> dict[str, Decimal]:
    return {name: Decimal(figure) for name, figure in said.items()}


def _grade(slug: str, said: dict[str, Any]) -> Grade:
    return Grade(slug, **{**said, "guide": Decimal(said["guide"]), "at": tuple(said["at"])})


def _yard(slug: str, said: dict[str, Any]) -> Yard:
    usual: dict[str, Any] = {
        **{"cash_increment": None, "labels": {}, "refuses": (), "per": {}},
        **{"better": None, "house_rules": None},
    }
    yard = {**usual, **said, "pays": _exact(said["pays"]), "refuses": tuple(said.get("refuses", ()))}
    if better := said.get("better"):
        yard["better"] = Better(better["from"], tuple(better["grades"]), Decimal(better["times"]))
    if rules := said.get("house_rules"):
        yard["house_rules"] = HouseRules(**{**rules, "limits": tuple(rules["limits"])})
    return Yard(slug, **yard)
