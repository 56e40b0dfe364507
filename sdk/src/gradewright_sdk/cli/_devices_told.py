"""What is told of each device of a list below its figures: on what conditions, and what that rests on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from gradewright_sdk.cli._cautions import MAY_APPLY
from gradewright_sdk.cli._layout import hanging
from gradewright_sdk.cli._show import few, number, say, weight

if TYPE_CHECKING:
    from rich.console import RenderableType

    from gradewright_sdk._models import Teardown, UsualDevice
    from gradewright_sdk._models._teardowns import TeardownCaution

UNTOLD = "cannot be told: no price is known for it, nor for all that comes out"
FEW = 4
"""Records below which the service widens low and high, as so few hold the next device too rarely."""
Named = Sequence[tuple[str, "Teardown"]]


def licensed(one: Teardown) -> bool:
    """Whether the plan is for those alone who hold a licence; everybody else leaves the device whole."""
    return one.licence is not None and one.licence.certain


def untold(one: Teardown) -> bool:
    """Whether nothing is known of what it comes to."""
    return one.plan.choice == "leave" and bool(one.missing)


def lines(one: Teardown) -> Iterator[str]:
    """What to do with it and on which conditions; what it comes to at least and at most, and by how many
    records; and what would have to come of what nobody named.
    """
    yield _does(one)
    low, high = number(one.worth.low), number(one.worth.high)
    together, pieces = "", one.plan.pieces
    if pieces > 1:
        together = f" together, {weight(one.plan.weight.kg / pieces)} each"
    comes = "" if low == high else f"; by the plan {low} to {high}"
    yield f"{one.plan.weight.shown}{together}{comes}{_time(one)}{_records(one.typical)}"
    if one.plan.choice == "open" and one.unnamed is not None:
        limits = " ".join(limit.says for limit in one.unnamed.limits)
        yield f"{one.unnamed.weight.shown} that nobody named count as nothing. {limits}".rstrip()


def _does(one: Teardown) -> str:
    whole = one.whole is not None
    if one.plan.choice != "open":
        return "sell whole" if whole else UNTOLD if untold(one) else "leave as it is"
    licence, hourly = one.licence, "" if one.per_hour is None else f", {number(one.per_hour)} an hour"
    more = f": {number(one.gain)} more" if whole else ""
    if licence is None:
        return f"open{more}{hourly}"
    condition = "only with a licence" if licence.certain else "unless that takes a licence"
    return f"open, {condition}{more}{hourly}; otherwise {'sell' if whole else 'leave'} it whole"


def _time(one: Teardown) -> str:
    """How long it takes by the records, where they differ."""
    typical = one.typical
    if not one.minutes or typical is None or typical.minutes.low == typical.minutes.high:
        return ""
    return f" for {typical.minutes.low:f} to {typical.minutes.high:f} minutes"


def _records(typical: UsualDevice | None) -> str:
    """On how many records it rests; that few say little."""
    if typical is None:
        return ""
    count, voices = typical.records, typical.voices
    if typical.published:
        return f"; by {voices} publication{'s'[: voices != 1]} alone: nobody recorded one"
    by = f"{count} device{'s'[: count != 1]} of {voices} member{'s'[: voices != 1]}"
    return f"; few records, {by}: little is known of it" if count < FEW else f"; by {by}"


def uncounted(one: Teardown) -> list[str]:
    """What is not counted of a device, but for what nobody named of it, where that is told below it."""
    unnamed = f"what is left of {one.plan.name}, "  # said of what is opened alone
    return [line for line in one.missing if one.unnamed is None or not line.startswith(unnamed)]


def missing(named: Named) -> list[str]:
    """What is not counted, each once, with the devices that it is about. What nobody named of a device is
    told below it.
    """
    about: dict[str, list[str]] = {}
    for name, one in named:
        for line in uncounted(one):
            about.setdefault(line, []).append(name)
    return [
        line if any(line.startswith(f"{name}:") for name in names) else f"{few(names)}: {line}"
        for line, names in about.items()
    ]


def cautions(named: Named) -> Iterator[RenderableType]:
    """Each that is certain, whole, and of which devices it is; then by device what may apply."""
    surely: dict[tuple[str, str], tuple[TeardownCaution, list[str]]] = {}
    perhaps: dict[str, list[str]] = {}
    for name, one in named:
        for caution in one.cautions:
            if caution.certain:
                surely.setdefault((caution.id, caution.name), (caution, []))[1].append(name)
        found = "; ".join(caution.name for caution in one.cautions if not caution.certain)
        if found:
            perhaps.setdefault(found, []).append(name)
    for caution, names in surely.values():
        says = f"{caution.name} ({_of(names, named)}): {caution.says}"
        yield hanging([("!", say(says, "yellow"))])
    if perhaps:
        yield say(f"{MAY_APPLY}:", "bold yellow")
        yield hanging(_by_device(perhaps, named))
        yield say("What each says is told of a device by itself (--json tells all of them whole).", "dim")


def _by_device(perhaps: Mapping[str, list[str]], named: Named) -> Iterable[tuple[object, object]]:
    for found, names in perhaps.items():
        yield "?", say(f"{_of(names, named)}: {found}", "yellow")


def _of(names: Sequence[str], named: Named) -> str:
    """The devices, each once, all of them by that word: whose caution it is has to be seen."""
    if len(names) == len(named) > 1:
        return "all of them"
    return "; ".join(dict.fromkeys(names))
