"""A list of devices for people and for scripts: what each comes to, whole and by its plan, and all do."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from gradewright_sdk._money import Money
from gradewright_sdk.cli._cautions import certain, possible
from gradewright_sdk.cli._devices import Device
from gradewright_sdk.cli._layout import Entry, hanging, stacked
from gradewright_sdk.cli._show import number, say

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from gradewright_sdk._models import Teardown
    from gradewright_sdk._models._teardowns import TeardownCaution

MOST_MISSING = 5
HEADS = ("Whole", "By plan", "Minutes", "Left")


def document(devices: Sequence[Device], found: Sequence[Teardown]) -> bytes:
    """All of it as one document: each answer as the service sent it, with its line, and their sums."""
    told: list[dict[str, Any]] = [
        {"line": device.line, "name": _name(device, one), "id": one.id, "teardown": json.loads(one.raw)}
        for device, one in zip(devices, found, strict=True)
    ]
    total = _Total(found)
    sums = {
        "whole": number(total.whole),
        "worth": number(total.worth),
        "minutes": f"{total.minutes:f}",
        "labour": number(total.labour),
        "net": number(total.net),
    }
    whole = {
        "currency": found[0].currency,
        "complete": all(one.complete for one in found),
        "totals": {**sums, "unpriced_whole": total.unpriced},
        "devices": told,
    }
    return json.dumps(whole, ensure_ascii=False, separators=(",", ":")).encode()


def show(devices: Sequence[Device], found: Sequence[Teardown], console: Console) -> None:
    """Print it."""
    for part in _parts(devices, found):
        console.print(part)


class _Total:
    """What all devices come to, likely: whole, where that has a price, and by the plans."""

    def __init__(self, found: Sequence[Teardown]) -> None:
        currency = found[0].currency
        priced = [one.whole.likely for one in found if one.whole is not None]
        self.whole = Money.total(priced, currency)
        self.unpriced = len(found) - len(priced)
        self.worth = Money.total((one.worth.likely for one in found), currency)
        self.labour = Money.total((one.labour for one in found), currency)
        self.net = Money.total((one.net for one in found), currency)
        self.minutes = sum((one.minutes for one in found), Decimal(0))


def _parts(devices: Sequence[Device], found: Sequence[Teardown]) -> Iterator[RenderableType]:
    first, total = found[0], _Total(found)
    entries = [_entry(device, one) for device, one in zip(devices, found, strict=True)]
    figures = (number(total.whole), number(total.worth), f"{total.minutes:f}", number(total.net))
    entries.append(Entry(say("Total", "bold"), [say(figure, "bold") for figure in figures]))
    place = first.yard or first.region
    yield from stacked(say(f"{place}, {first.on}, in {first.currency}, likely", "bold"), HEADS, entries)
    yield ""
    yield say(first.heed, "bold yellow")
    cautions = _once([caution for one in found for caution in one.cautions])
    yield from certain(cautions)
    yield from possible(cautions)
    yield ""
    if total.unpriced:
        yield say(
            f"Nobody is known to buy {total.unpriced} of them whole: counted as nothing there.", "yellow"
        )
    if first.hour_rate.amount:
        yield say(f"Left: by the plan, less the minutes at {first.hour_rate.amount:f} an hour.")
    else:
        yield say("Your time counts at nothing an hour: --hour-rate tells what one is worth.", "yellow")
    missing = [f"{name}: {line}" for name, one in _named(devices, found) for line in one.missing]
    if missing:
        yield say("Not counted, or counted as the least that it can be:", "bold yellow")
        yield hanging([("-", line) for line in missing[:MOST_MISSING]])
        more = len(missing) - MOST_MISSING
        if more > 0:
            yield say(f"and {more} more like these (--json has them all)", "dim")
    rests = [f"{name}: {line}" for name, one in _named(devices, found) for line in _rests_on(one)]
    if rests:
        yield hanging([("-", line) for line in rests])
    pins = first.pins
    yield say(f"By rulebook {pins.rulebook}, ledger revision {pins.revision}.", "dim")
    kept = [one.id for one in found if one.id is not None]
    if kept:
        yield say(f"Kept as {', '.join(kept)}.", "dim")


def _entry(device: Device, one: Teardown) -> Entry:
    whole = None if one.whole is None else one.whole.likely
    figures = (number(whole), number(one.worth.likely), f"{one.minutes:f}", number(one.net))
    does = "open" if one.plan.choice == "open" else "sell whole" if whole is not None else "leave as it is"
    more = f": {number(one.gain)} more" if one.plan.choice == "open" and whole is not None else ""
    hourly = "" if one.per_hour is None else f", {number(one.per_hour)} an hour"
    below = say(f"{does}{more}{hourly}; {one.plan.weight.shown}", "dim")
    return Entry(say(_name(device, one)), [say(figure) for figure in figures], below)


def _name(device: Device, one: Teardown) -> str:
    name = device.name or one.plan.name
    return f"{one.plan.pieces} x {name}" if one.plan.pieces > 1 else name


def _named(devices: Sequence[Device], found: Sequence[Teardown]) -> Iterator[tuple[str, Teardown]]:
    for device, one in zip(devices, found, strict=True):
        yield device.name or one.plan.name, one


def _rests_on(one: Teardown) -> Iterator[str]:
    """What nobody has recorded the like of, and what is better by its piles."""
    if one.typical is not None:
        yield from (line for line in one.typical.says if line.startswith("One of "))
    if one.together is not None:
        yield one.together.says


def _once(cautions: Sequence[TeardownCaution]) -> list[TeardownCaution]:
    """Each once; what is certain of one device is certain."""
    sure = [one for one in cautions if one.certain]
    once = {(one.id, one.name): one for one in (*cautions, *sure)}.values()
    return sorted(once, key=lambda one: not one.certain)
