"""On which conditions a plan holds that opens a device, for itself: sentences tell them too."""

from __future__ import annotations

from typing import Any

from gradewright.compositions.describing import LICENSED
from gradewright.core.teardown.tree import NOTHING
from gradewright.teardowns.choices import OPEN
from gradewright.teardowns.figures import Purse, weight
from gradewright.teardowns.nodes import for_whom, heeded
from gradewright.teardowns.words import limits
from gradewright.teardowns.worked import Worked, left_grams


def conditions(worked: Worked, purse: Purse) -> dict[str, Any]:
    """Who may do it, and what that which nobody named may cost."""
    return {"licence": _licence(worked), "unnamed": _unnamed(worked, purse)}


def _licence(worked: Worked) -> dict[str, Any] | None:
    """That opening the device takes a licence, or may; None where it is not opened, or is for anybody."""
    part = worked.pricing.offers[0].part
    says = for_whom(worked, part)
    if not says:
        return None
    heed = heeded(part, worked)
    surely = [one.id for one in heed.certain if not isinstance(one, str) and one.id in LICENSED]
    perhaps = [one.id for one in heed.possible if one.id in LICENSED]
    return {"certain": bool(surely), "cautions": surely or perhaps, "says": says.strip()}


def _unnamed(worked: Worked, purse: Purse) -> dict[str, Any] | None:
    """What is left over that nobody named: of what is opened, else what would be left of the device."""
    opened = [number for number in worked.unnamed if worked.choices[number] == OPEN]
    if not opened:
        opened = [number for number in worked.unnamed if not number]
    grams = sum((left_grams(worked, number) for number in opened), NOTHING)
    if not grams:
        return None
    unit, offers = worked.pricing.prices.unit, worked.pricing.offers
    told = [
        {
            "what": limit.what,
            "more_than": limit.more_than,
            "per": unit.symbol,
            "then": {
                "number": limit.then.node,
                "name": offers[limit.then.node].part.given.name,
                "does": limit.then.does.value,
            },
            "says": limit.says,
        }
        for limit in limits(worked, purse)
    ]
    return {"weight": weight(grams), "limits": told}
