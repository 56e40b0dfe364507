"""Weights as they are written on lists: few texts, written again and again, each read and shown once."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import msgspec

from gradewright.core.decimals import EXACT, plain
from gradewright.core.errors import Fault, Refused
from gradewright.core.rates import Ratio
from gradewright.core.units import parse_mass, show_mass

HEAVIEST = Decimal(10) ** 12  # grams: a million tonnes, beyond any yard's day
KILOGRAM = Decimal(1000)
REMEMBERED = 20_000


@dataclass(frozen=True, slots=True, eq=False)
class Weight:
    """The weight of all pieces of a part together: exact, as given, shown to people, and all that as JSON."""

    grams: Decimal
    ratio: Ratio
    given: str
    kg: str
    shown: str
    json: str


def weigh(text: str, pieces: int) -> Weight:
    """So many times the weight written in `text`; `UnitError` or `Refused` say what to write instead."""
    found = _remembered.get((text, pieces))
    if found is None:
        found = _read(text, pieces)
        if len(_remembered) >= REMEMBERED:
            _remembered.clear()
        _remembered[text, pieces] = found
    return found


def _read(text: str, pieces: int) -> Weight:
    mass = parse_mass(text)
    grams = EXACT.multiply(mass.grams, Decimal(pieces))
    if not 0 < grams <= HEAVIEST:
        bound = "one above zero" if grams <= 0 else "one of at most a million tonnes"
        detail = f"{text!r} is no weight that a part can have: write {bound}, such as '1.35 kg'."
        raise Refused(detail, faults=(Fault(detail),))
    given = text if pieces == 1 else f"{pieces} x {text}"
    kg, shown = plain(EXACT.divide(grams, KILOGRAM)), show_mass(grams)
    told = msgspec.json.encode({"given": given, "kg": kg, "shown": shown}, order="sorted")
    return Weight(grams, grams.as_integer_ratio(), given, kg, shown, told.decode())


# A plain table: that of functools also keeps the order of use, which costs more than the look-up.
_remembered: dict[tuple[str, int], Weight] = {}
