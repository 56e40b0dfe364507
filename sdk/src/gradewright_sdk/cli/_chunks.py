"""Long lists in several valuations, all on the pins of the first, added up to one."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from gradewright_sdk import _exceptions as ex
from gradewright_sdk._inputs import Part
from gradewright_sdk._money import EXACT
from gradewright_sdk.cli._files import FileFault, FileFaults
from gradewright_sdk.cli._parts import PartsFile

if TYPE_CHECKING:
    from gradewright_sdk._client import Client
    from gradewright_sdk._models import Valuation

CHUNK = 1000
Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Asked:
    """What the whole list is valued by."""

    place: Mapping[str, str]
    on: str | None
    known_at: int | str | None
    rulebook: str | None
    keep: bool
    hour_rate: str | None = None


def value_file(
    client: Client, file: PartsFile, asked: Asked, done: Callable[[int], None]
) -> tuple[Valuation, ...]:
    """One valuation for each 1000 parts, the later ones pinned to the revision and rulebook of the first.

    Raises FileFaults with the faults of the file and with what the service faults in any chunk, told by the
    lines of the file; once there is a fault the rest is only looked at, and nothing is kept. `done` is told
    how many parts were sent so far.
    """
    valuations: list[Valuation] = []
    faults = list(file.faults)
    on, known_at, rulebook = asked.on, asked.known_at, asked.rulebook
    for start in range(0, len(file.parts), CHUNK):
        chunk: Sequence[Part] = file.parts[start : start + CHUNK]
        try:
            valuation = client.valuations.value(
                chunk,
                region=asked.place.get("region"),
                yard=asked.place.get("yard"),
                on=on,
                known_at=known_at,
                rulebook=rulebook,
                hour_rate=asked.hour_rate,
                keep=asked.keep and not faults,
            )
        except ex.GradewrightError as error:
            found = _in_file(error, file, start)
            if not found and not faults:
                raise
            if not found:
                raise FileFaults(faults, unchecked=error) from error
            faults += found
        else:
            valuations.append(valuation)
            on, known_at, rulebook = (
                valuation.on.isoformat(),
                valuation.pins.revision,
                valuation.pins.rulebook,
            )
        done(start + len(chunk))
    if faults:
        raise FileFaults(faults)
    return tuple(valuations)


def _in_file(error: ex.GradewrightError, file: PartsFile, start: int) -> list[FileFault]:
    """The faults that an error of the service tells of the file; none if it is about anything else too."""
    found = [file.locate(fault, start) for fault in error.errors] if isinstance(error, ex.APIError) else []
    return [fault for fault in found if fault is not None] if None not in found else []


def together(valuations: Sequence[Valuation]) -> bytes:
    """Several valuations as one JSON document of the same shape; the bytes of the only one if it is one.

    A joined document has no SHA-256 of its own: `chunks` lists those of its parts, with their ids where kept.
    """
    if len(valuations) == 1:
        return valuations[0].raw
    documents: list[Json] = [json.loads(valuation.raw) for valuation in valuations]
    whole: Json = dict(documents[0])
    whole["complete"] = all(one["complete"] for one in documents)
    whole["parts"] = [part for one in documents for part in one["parts"]]
    whole["piles"] = _join_piles(pile for one in documents for pile in one["piles"])
    whole["totals"] = _add([one["totals"] for one in documents])
    whole["missing"] = [line for one in documents for line in one["missing"]]
    whole["pointers"] = _join_pointers(documents)
    whole["cautions"] = _join_cautions([one for document in documents for one in document["cautions"]])
    whole["pins"] = {**documents[0]["pins"], "sha256": None}
    whole["chunks"] = [
        {"parts": len(one.parts), "id": one.id, "sha256": one.pins.sha256} for one in valuations
    ]
    return json.dumps(whole, ensure_ascii=False, separators=(",", ":")).encode()


def _join_pointers(documents: Sequence[Json]) -> list[Json]:
    """Those of all chunks, the largest gain first; their parts are counted through."""
    found: list[Json] = []
    before = 0
    for one in documents:
        found += [
            {**each, "part": before + each["part"]} if "part" in each else each
            for each in one.get("pointers", ())
        ]
        before += len(one["parts"])
    return sorted(found, key=lambda each: -Decimal(each["gain"]))


def _join_cautions(cautions: Sequence[Json]) -> list[Json]:
    """Each once; what is certain for one part of any chunk is certain, and stands before what may apply."""
    certain = [one for one in cautions if one.get("certain", True)]
    once = {one["id"]: one for one in (*cautions, *certain)}.values()
    return sorted(once, key=lambda one: not one.get("certain", True))


def _plus(first: str, second: str) -> str:
    return f"{EXACT.add(Decimal(first), Decimal(second)):f}"


def _add_spreads(first: Json | None, second: Json | None) -> Json | None:
    if first is None or second is None:
        return first or second
    return {name: _plus(first[name], second[name]) for name in ("low", "likely", "high")}


def _add(totals: Sequence[Json]) -> Json:
    whole: Json = totals[0]
    for one in totals[1:]:
        spread = _add_spreads(whole, one) or {}
        # Steps of cash are rounded to once a ticket, so those of chunks do not add up to one.
        whole = {**spread, "cash": None, **{name: whole[name] + one[name] for name in ("priced", "unpriced")}}
    return whole


def _join_piles(piles: Any) -> list[Json]:
    joined: dict[str, Json] = {}
    for pile in piles:
        before = joined.get(pile["grade"])
        if before is None:
            joined[pile["grade"]] = pile
            continue
        joined[pile["grade"]] = {
            **before,
            "weight_kg": _plus(before["weight_kg"], pile["weight_kg"]),
            "lines": before["lines"] + pile["lines"],
            "amount": _add_spreads(before["amount"], pile["amount"]),
        }
    return list(joined.values())
