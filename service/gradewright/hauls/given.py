"""What a haul is asked with, in the words of the request."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from typing import Any

from gradewright.db.knowing import KnownAt


@dataclass(frozen=True, slots=True)
class BinGiven:
    """A bin: its grade by any name, its weight as written, into how many equal lots it may be taken apart,
    and as which grades it may be sold beside its own; None: those of `lower_kin`.
    """

    name: str
    grade: str
    weight: str
    lots: int = 1
    lower_to: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class CostsGiven:
    """Amounts as written: of each trip, each stop, each pile at a stop beyond the first; `stop_at`: by yard,
    of a stop there instead.
    """

    trip: str = "0"
    stop: str = "0"
    pile: str = "0"
    stop_at: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Request:
    """The question. `bins`, or the id of a kept valuation; a region, all of whose yards are looked at, or
    some yards. `None` means the newest, or today, or as much as could ever be needed.
    """

    bins: tuple[BinGiven, ...] = ()
    valuation: str | None = None
    region: str | None = None
    yards: tuple[str, ...] = ()
    on: date | None = None
    known_at: KnownAt = None
    rulebook: str | None = None
    costs: CostsGiven = field(default_factory=CostsGiven)
    load: str | None = None
    trips: int | None = None
    hold_back: bool = False
    lower: bool = True
    estimates: bool = False
    seconds: int = 5

    def plain(self) -> dict[str, Any]:
        """As it is kept."""
        told = asdict(self)
        known_at = self.known_at.isoformat() if isinstance(self.known_at, datetime) else self.known_at
        return {**told, "on": self.on, "known_at": known_at}

    @classmethod
    def read(cls, kept: Mapping[str, Any], rulebook: str, revision: int) -> Request:
        """A kept one, with its pins."""
        bins = tuple(
            BinGiven(**{**each, "lower_to": None if each["lower_to"] is None else tuple(each["lower_to"])})
            for each in kept["bins"]
        )
        pinned = {
            "bins": bins,
            "yards": tuple(kept["yards"]),
            "costs": CostsGiven(**kept["costs"]),
            "on": date.fromisoformat(kept["on"]),
            "known_at": revision,
            "rulebook": rulebook,
        }
        return cls(**{**kept, **pinned})
