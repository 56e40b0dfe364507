"""An entry of the ledger in a line for people."""

from __future__ import annotations

from gradewright_sdk._models import (
    LabelEntry,
    LedgerEntry,
    LimitEntry,
    PriceEntry,
    RefusalEntry,
    RegionEntry,
    RulebookEntry,
    WordEntry,
    YardEntry,
)
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
        case _:
            said = ", ".join(f"{name} {value}" for name, value in _own(entry).items())
    return said


def _own(entry: LedgerEntry) -> dict[str, object]:
    """What an entry of a kind that is not known here says, without what every entry has."""
    shared = LedgerEntry.model_fields
    return {name: value for name, value in entry.members.items() if name not in shared and value is not None}
