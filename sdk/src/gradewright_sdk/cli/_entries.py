"""An entry of the ledger in a line for people."""

from __future__ import annotations

import json

from gradewright_sdk._models import (
    BenchmarkEntry,
    ComponentEntry,
    CompositionEntry,
    CompositionWithdrawalEntry,
    DeviceKindCorrectionEntry,
    DeviceKindEntry,
    LabelEntry,
    LedgerEntry,
    LimitEntry,
    PriceEntry,
    ReadingEntry,
    RefusalEntry,
    RegionEntry,
    RulebookEntry,
    WordEntry,
    YardEntry,
)
from gradewright_sdk.cli._described import in_words
from gradewright_sdk.cli._show import clean


def in_a_line(entry: LedgerEntry) -> str:
    """Its position, its instant, its kind, and what it says."""
    at = "-" if entry.recorded_at is None else f"{entry.recorded_at:%Y-%m-%d %H:%M:%SZ}"
    said = clean(_says(entry)).replace("\n", " ")
    return f"{entry.position:<8}  {at}  {entry.kind:<12}  {said}"


def _says(entry: LedgerEntry) -> str:
    match entry:
        case PriceEntry():
            lot = f" from {entry.from_weight}" if entry.from_weight else ""
            label = f' as "{entry.label}"' if entry.label else ""
            said = (
                f"{entry.yard}: {entry.grade}{label} {entry.price} per {entry.per}{lot} "
                f"({entry.evidence} of {entry.observed_on}, {entry.author}, {entry.posting})"
            )
        case WordEntry():
            verdict = f" {entry.verdict}" if entry.verdict else ""
            said = f"{entry.posting} line {entry.about}{verdict}, by {entry.author}: {entry.reason}"
        case RegionEntry():
            said = f"{entry.code} {entry.name} ({entry.currency}, {entry.unit})"
        case YardEntry():
            said = f"{entry.slug} {entry.name} in {entry.region} ({entry.currency}, {entry.unit})"
        case LabelEntry():
            means = "means nothing any more" if entry.lifted or entry.grade is None else f"is {entry.grade}"
            said = f'{entry.place}: "{entry.label}" {means} from {entry.from_}'
        case RefusalEntry():
            takes = "takes again" if entry.lifted else "does not take"
            said = f"{entry.place} {takes} {entry.grade} from {entry.from_}"
        case LimitEntry():
            value = entry.value or "that of the rulebook"
            said = f"{entry.place}: {entry.limit} is {value} from {entry.from_}"
        case RulebookEntry():
            said = f"{entry.version}, in force from {entry.effective_from}"
        case BenchmarkEntry():
            what = f"in {entry.currency} per {entry.unit}" if entry.currency else ", an index"
            said = f"{entry.slug} {entry.name} {what}, from {entry.source}".replace(" ,", ",")
        case ReadingEntry():
            said = f"{entry.benchmark} was {entry.value} on {entry.date}"
        case _:
            said = _of_devices(entry)
    return said


def _of_devices(entry: LedgerEntry) -> str:
    """What is said of devices and what came out of them; of what is newer than this, field by field."""
    match entry:
        case DeviceKindEntry():
            said = f"{entry.slug} {entry.name}{_whole(entry.grade)}"
        case DeviceKindCorrectionEntry():
            grade = _whole(entry.grade)
            said = f"{entry.device_kind} is {entry.name}{grade}, by {entry.author}: {entry.reason}"
        case CompositionEntry():
            said = _record(entry)
        case ComponentEntry():
            said = _part(entry)
        case CompositionWithdrawalEntry():
            said = f"{entry.composition} taken back, by {entry.author}: {entry.reason}"
        case _:
            said = ", ".join(f"{name} {value}" for name, value in _own(entry).items())
    return said


def _whole(grade: str | None) -> str:
    return f", sold whole as {grade}" if grade else ""


def _record(entry: CompositionEntry) -> str:
    model = f" {entry.model}" if entry.model else ""
    year = f" of {entry.made_year}" if entry.made_year else ""
    minutes = None if entry.minutes is None else f"{entry.minutes:f} minutes"
    figures = [entry.weight, minutes, "from memory" if entry.from_memory else None]
    told = ", ".join([f"{entry.device_kind}{model}{year}", *(one for one in figures if one)])
    when = f"taken apart {entry.taken_on}" if entry.source is None else str(entry.taken_on)
    who = ", ".join(one for one in (entry.author, entry.source) if one)
    return f"{told} ({when}, {who}, {entry.composition})"


def _part(entry: ComponentEntry) -> str:
    beside = "; ".join(one for one in (entry.says, _observed(entry.observed)) if one)
    count = f"{entry.count} " if entry.count is not None and entry.count > 1 else ""
    told = f"{entry.composition} part {entry.part}: {count}{entry.grade}, {entry.weight or entry.share}"
    return f"{told} ({beside})" if beside else told


def _observed(text: str | None) -> str:
    """What was observed, which entries have as JSON, in words."""
    try:
        observed = json.loads(text or "null")
    except ValueError:
        observed = None
    return in_words(observed) if isinstance(observed, dict) else text or ""


def _own(entry: LedgerEntry) -> dict[str, object]:
    """What an entry of a kind that is not known here says, without what every entry has."""
    shared = LedgerEntry.model_fields
    return {name: value for name, value in entry.members.items() if name not in shared and value is not None}
