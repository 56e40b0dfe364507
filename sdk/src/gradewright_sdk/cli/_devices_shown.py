"""A list of devices for people and for scripts: what each comes to, whole and by its plan, and all do."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from gradewright_sdk._money import Money
from gradewright_sdk.cli._devices import Device
from gradewright_sdk.cli._devices_piles import OnePile
from gradewright_sdk.cli._devices_told import cautions, licensed, lines, missing, uncounted, untold
from gradewright_sdk.cli._layout import Entry, hanging, stacked
from gradewright_sdk.cli._show import number, say

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from gradewright_sdk._models import Teardown

MOST_MISSING = 5
HEADS = ("Whole", "By plan", "Minutes", "Left")


def document(devices: Sequence[Device], found: Sequence[Teardown], piles: OnePile | None) -> bytes:
    """All of it as one document: each answer as the service sent it, with its line, and their sums."""
    told: list[dict[str, Any]] = [
        {"line": device.line, "name": _name(device, one), "id": one.id, "teardown": json.loads(one.raw)}
        for device, one in zip(devices, found, strict=True)
    ]
    total, needed = _Total(found), [*map(licensed, found)]
    without = _Total(found, without=True).told() if any(needed) else None
    together = None
    if piles is not None:
        together = {"gain": number(piles.gain), "lots": dict(piles.lots), "says": piles.says}
    whole = {
        "currency": found[0].currency,
        "complete": all(one.complete for one in found),
        "totals": {**total.told(), "unpriced_whole": total.unpriced, "without_licence": without},
        "together": together,
        "devices": told,
    }
    return json.dumps(whole, ensure_ascii=False, separators=(",", ":")).encode()


def show(
    devices: Sequence[Device], found: Sequence[Teardown], piles: OnePile | None, console: Console
) -> None:
    """Print it."""
    for part in _parts(devices, found, piles):
        console.print(part)


class _Total:
    """What all devices come to, likely: whole, where that has a price, and by the plans; `without` a licence
    what takes one stays whole.
    """

    def __init__(self, found: Sequence[Teardown], *, without: bool = False) -> None:
        currency = found[0].currency
        priced = [one.whole.likely for one in found if one.whole is not None]
        self.whole = Money.total(priced, currency)
        self.unpriced = len(found) - len(priced)
        opened = [one for one in found if not (without and licensed(one))]
        whole = [one.whole for one in found if without and licensed(one) and one.whole is not None]
        brings = [*(one.worth for one in opened), *whole]
        self.worth, self.low, self.high = (
            Money.total((getattr(one, end) for one in brings), currency) for end in ("likely", "low", "high")
        )
        self.labour = Money.total((one.labour for one in opened), currency)
        self.net = Money.total([*(one.net for one in opened), *(one.likely for one in whole)], currency)
        self.minutes = sum((one.minutes for one in opened), Decimal(0))
        self.lacking = sum(bool(uncounted(one)) for one in found), len(found)

    def told(self) -> dict[str, str]:
        """The sums, for scripts."""
        money = {name: number(getattr(self, name)) for name in ("whole", "worth", "labour", "net")}
        return {**money, "minutes": f"{self.minutes:f}"}

    def entry(self, name: str) -> Entry:
        """The sums, as a row."""
        figures = (number(self.whole), number(self.worth), f"{self.minutes:f}", number(self.net))
        below = say(f"by the plans {number(self.low)} to {number(self.high)}", "dim")
        lacking, every = self.lacking
        if lacking:
            below.append(f"; not complete: of {lacking} of {every} not all is counted", "yellow")
        return Entry(say(name, "bold"), [say(figure, "bold") for figure in figures], below)


def _parts(
    devices: Sequence[Device], found: Sequence[Teardown], piles: OnePile | None
) -> Iterator[RenderableType]:
    first, total, named = found[0], _Total(found), [*_named(devices, found)]
    entries = [_entry(device, one) for device, one in zip(devices, found, strict=True)]
    needed = [name for name, one in named if licensed(one)]
    if needed:
        entries += [_Total(found, without=True).entry("Total, without a licence"), total.entry("with one")]
    else:
        entries.append(total.entry("Total"))
    place = first.yard or first.region
    yield from stacked(say(f"{place}, {first.on}, in {first.currency}, likely", "bold"), HEADS, entries)
    yield ""
    if needed:
        says = f"Opened only by those who hold the licence: {'; '.join(dict.fromkeys(needed))}."
        yield say(says, "bold yellow")
    perhaps = [name for name, one in named if one.licence is not None and not one.licence.certain]
    if perhaps:
        names = "; ".join(dict.fromkeys(perhaps))
        yield say(f"Opening may take a licence, look at their cautions first: {names}.", "bold yellow")
    yield say(first.heed, "bold yellow")
    yield from cautions(named)
    yield ""
    if total.unpriced:
        yield say(
            f"Nobody is known to buy {total.unpriced} of them whole: counted as nothing there.", "yellow"
        )
    if first.hour_rate.amount:
        yield say(f"Left: by the plan, less the minutes at {first.hour_rate.amount:f} an hour.")
    else:
        yield say("Your time counts at nothing an hour: --hour-rate tells what one is worth.", "yellow")
    lacking = missing(named)
    if lacking:
        yield say("Not counted, or counted as the least that it can be:", "bold yellow")
        yield hanging([("-", line) for line in lacking[:MOST_MISSING]])
        more = len(lacking) - MOST_MISSING
        if more > 0:
            yield say(f"and {more} more like these (--json has them all)", "dim")
    rests = [f"{name}: {line}" for name, one in named for line in _rests_on(one)]
    if piles is not None:
        rests.append(piles.says)
    if rests:
        yield hanging([("-", line) for line in rests])
    pins = first.pins
    yield say(f"By rulebook {pins.rulebook}, ledger revision {pins.revision}.", "dim")
    kept = [one.id for one in found if one.id is not None]
    if kept:
        yield say(f"Kept as {', '.join(kept)}.", "dim")


def _entry(device: Device, one: Teardown) -> Entry:
    whole = None if one.whole is None else one.whole.likely
    figures: tuple[str, ...] = (number(whole), number(one.worth.likely), f"{one.minutes:f}", number(one.net))
    if untold(one):
        figures = (number(None),) * len(HEADS)
    below = say("\n".join(lines(one)), "dim")
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
