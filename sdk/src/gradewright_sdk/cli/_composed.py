"""Kinds of device for people: the list of them, what one usually consists of, and what a record has moved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Context, Decimal
from typing import TYPE_CHECKING

from rich.text import Text

from gradewright_sdk.cli._cautions import certain, possible
from gradewright_sdk.cli._layout import Entry, stacked
from gradewright_sdk.cli._show import say

if TYPE_CHECKING:
    from rich.console import RenderableType

    from gradewright_sdk._models import Composition, DeviceKind, Likely, TypicalPart

THREE = Context(prec=3)
MOST_MOVES = 6
NOBODY = "Nobody has recorded a device yet: gradewright-client record adds one."


def kinds(listed: Sequence[DeviceKind]) -> Iterator[RenderableType]:
    """Each kind with what it rests on; below it its name, and the grade in which it is sold whole."""
    if not listed:
        yield say(NOBODY)
        return
    entries = []
    for one in listed:
        whole = f"; sold whole as {one.grade}" if one.grade else ""
        told = say(f"{one.name}{whole}{'' if one.records else '; nothing is recorded yet'}", "dim")
        figures = (str(one.records), by(one), figure(one.weight_kg), figure(one.minutes))
        entries.append(Entry(say(one.kind), [say(each) for each in figures], told))
    yield from stacked(say("Kind of device", "bold"), ("Records", "By", "kg", "Minutes"), entries)


def one(found: Composition) -> Iterator[RenderableType]:
    """A kind: what is in it, how long it takes, what that rests on, and what to beware of."""
    of = f", of {found.weight}" if found.weight else f", {figure(found.weight_kg, ' kg')}"
    yield say(f"{found.name} ({found.kind}){of if found.weight or found.weight_kg else ''}", "bold")
    entries = [_part(part, found.records) for part in found.parts]
    rest = found.rest
    if rest is not None and (rest.share is not None or rest.weight_kg is not None):
        figures = [say(figure(rest.share, scale=100)), say(figure(rest.weight_kg))]
        entries.append(Entry(say("what nobody named", "dim"), figures))
    if found.parts:
        yield from stacked(say("Usually in it", "bold"), ("Share, %", "kg"), entries)
    if found.minutes is not None:
        yield say(f"Taking it apart takes {figure(found.minutes, ' minutes')}.")
    elif found.records:
        yield say("No record tells how long it takes: --minutes of `gradewright-client record` does.")
    for said in found.says:
        yield say(said, "dim")
    yield from certain(found.cautions)
    yield from possible(found.cautions)
    yield say(f"Known at ledger revision {found.known_at}.", "dim")


def moved(before: Composition | None, now: Composition) -> Iterator[RenderableType]:
    """What a kind has become with one record more: how many there are of whom, and which likely figures are
    other ones.
    """
    was = "the first of its kind" if before is None or not before.records else f"before: {counted(before)}"
    yield say(f"{now.name} ({now.kind}): {counted(now)} now, {was}.")
    if before is None or not before.records:
        return
    entries = []
    for name, old, new in sorted(_likely(before, now), key=_by_how_much, reverse=True):
        entries.append(Entry(say(name), [say(_or_none(old)), say(_or_none(new))]))
    if not entries:
        yield say("It moved none of the likely figures.")
        return
    shown = entries[:MOST_MOVES]
    yield from stacked(say("Likely figures that it moved", "bold"), ("before", "now"), shown)
    if len(entries) > len(shown):
        yield say(f"and {len(entries) - len(shown)} more: gradewright-client compositions {now.kind}", "dim")


def counted(kind: DeviceKind) -> str:
    """How many records count, of whom: "3 records of 2 members"."""
    records = f"{kind.records} record{'s'[: kind.records != 1]}"
    if kind.published:
        return f"{records} of publications"
    return f"{records} of {kind.voices} member{'s'[: kind.voices != 1]}"


def by(kind: DeviceKind) -> str:
    """Whom its records are of."""
    if not kind.records:
        return "-"
    return "publications" if kind.published else f"{kind.voices} member{'s'[: kind.voices != 1]}"


def figure(spread: Likely | None, unit: str = "", scale: int = 1) -> str:
    """Low – likely – high, short enough to be read: three digits that say something."""
    if spread is None:
        return "-"
    return " – ".join(_short(each * scale) for each in (spread.low, spread.likely, spread.high)) + unit


def _short(value: Decimal) -> str:
    text = f"{THREE.plus(value):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _part(part: TypicalPart, records: int) -> Entry:
    pieces = f", {figure(part.pieces)} pieces" if part.pieces is not None else ""
    below = say(f"{part.grade}, in {part.found} of {records}{pieces}", "dim")
    figures: list[Text] = [say(figure(part.share, scale=100)), say(figure(part.weight_kg))]
    return Entry(say(part.name or part.grade), figures, below)


Move = tuple[str, Decimal | None, Decimal | None]


def _likely(before: Composition, now: Composition) -> Iterator[Move]:
    """The likely figures that are not what they were, as they are shown."""
    were = {part.grade: part.share for part in before.parts}
    are = {part.grade: part.share for part in now.parts}
    found: list[tuple[str, Likely | None, Likely | None, int]] = [
        ("weight, kg", before.weight_kg, now.weight_kg, 1),
        ("minutes", before.minutes, now.minutes, 1),
        *((f"{grade}, % of it", were.get(grade), are.get(grade), 100) for grade in {**were, **are}),
    ]
    for name, old, new, scale in found:
        was = None if old is None else old.likely * scale
        is_ = None if new is None else new.likely * scale
        if _or_none(was) != _or_none(is_):
            yield name, was, is_


def _by_how_much(move: Move) -> Decimal:
    """By which share of itself a figure moved; what was not there or is there no more comes first."""
    _, was, is_ = move
    return abs(is_ - was) / max(was, is_) if was and is_ else Decimal(1)


def _or_none(value: Decimal | None) -> str:
    return "-" if value is None else _short(value)
