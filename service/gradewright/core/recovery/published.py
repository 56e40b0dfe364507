"""What publications found of precious metals in things, in grams for each tonne, and what to make of it.

A figure of a publication is one sample's. What a lot of that kind holds is taken to lie between half the
lowest and twice the highest figure: common practice, no source. Nothing here is an assay of anybody's lot.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType

METALS = ("gold", "silver", "palladium", "platinum")
MARGIN = 2
HAGELUEKEN = "Hagelüken 2006, IEEE ISEE, pp. 218-223 (from memory)"
OGUCHI = "Oguchi et al. 2011, Waste Management 31, 2150 (from memory)"


@dataclass(frozen=True, slots=True)
class Published:
    """The figures for one metal in one kind of thing, in g/t, with their sources."""

    figures: tuple[Decimal, ...]
    source: str

    @property
    def low(self) -> Fraction:
        """The least that is taken to be possible."""
        return Fraction(min(self.figures)) / MARGIN

    @property
    def high(self) -> Fraction:
        """The most that is taken to be possible."""
        return Fraction(max(self.figures)) * MARGIN


def _of(source: str, *figures: str) -> Published:
    return Published(tuple(map(Decimal, figures)), source)


_BOTH = f"{HAGELUEKEN}; {OGUCHI}"
_PHONES = f"{HAGELUEKEN}; 347 g/t gold and 151 g/t palladium of 105 t of phones: Hagelüken and Buchert 2008"
_DESKTOPS = "four publications as compared by Chancerel, thesis, p. 84"
_LIGHTING = "Sideris et al. 2023, Recycling 8(6), 97: capacitors of waste lighting equipment, one sample"

PUBLISHED: Mapping[str, Mapping[str, Published]] = MappingProxyType(
    {
        "computer-boards": {
            "gold": _of(_BOTH, "250", "240"),
            "silver": _of(_BOTH, "1000", "570"),
            "palladium": _of(_BOTH, "110", "150"),
        },
        "laptop-boards": {
            "gold": _of(OGUCHI, "630"),
            "silver": _of(OGUCHI, "1100"),
            "palladium": _of(OGUCHI, "200"),
        },
        "television-boards": {
            "gold": _of(_BOTH, "20", "5"),
            "silver": _of(_BOTH, "280", "120"),
            "palladium": _of(_BOTH, "10", "20"),
        },
        "player-boards": {
            "gold": _of(_BOTH, "15", "150"),
            "silver": _of(_BOTH, "115", "710"),
            "palladium": _of(_BOTH, "4", "20"),
        },
        "printer-boards": {
            "gold": _of(OGUCHI, "38"),
            "silver": _of(OGUCHI, "70"),
            "palladium": _of(OGUCHI, "21"),
        },
        "phones": {
            "gold": _of(_PHONES, "350", "347"),
            "silver": _of(_PHONES, "1380"),
            "palladium": _of(_PHONES, "210", "151"),
        },
        "desktop-computers": {
            "gold": _of(_DESKTOPS, "16", "26.7", "13", "31"),
            "palladium": _of(_DESKTOPS, "3", "12.3", "17", "13"),
        },
        "lighting-capacitors": {
            "silver": _of(_LIGHTING, "4670"),
            "palladium": _of(_LIGHTING, "1050"),
        },
    }
)
"""By kind of thing and metal. Phones and desktop computers are whole ones; the boards are bare."""
