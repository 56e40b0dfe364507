"""Recoveries: what of a thing is metal that pays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import AsyncResource, Call, Resource, asynchronous, new_key, sync
from gradewright_sdk._inputs import Observed
from gradewright_sdk._reading import reads_kept

if TYPE_CHECKING:
    from gradewright_sdk._models import Recovery

_read = reads_kept(lambda: results.Recovery, "recovery-id")
Given = Mapping[str, object]


def recover_cable(
    conductors: Sequence[Given],
    *,
    weight: str,
    length: str,
    scale: str | None = None,
    length_within: str | None = None,
    observed: Observed | None = None,
    strip: Given | None = None,
    region: str | None = None,
    yard: str | None = None,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    rulebook: str | None = None,
    keep: bool = False,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Recovery]:
    """The copper share of a cable from its build, the bands that allows, and whether stripping it pays.

    Each of the `conductors` has a `count` and a `size` ("16 AWG", "1.5 mm2"), or `strands` and the diameter
    of one `strand`; `strands` beside a size: 1 is solid. `weight` is that of a `length`; `scale` the
    scale's step (the last digit written). With a place and `strip` (`lot`, `minutes_per_kg` or
    `minutes_per_metre`, `hour_rate`) the lot is compared as it is and stripped; what it costs to be rid of
    the insulation is `disposal` for one `disposal_per` (kg), and `disposal_once` for the haul. `observed`:
    what else is known, of the cable and of its conductor (`surface`).
    """
    part = {
        "conductors": list(conductors),
        "weight": weight,
        "length": length,
        "scale": scale,
        "length_within": length_within,
        "observed": observed,
        "strip": strip,
    }
    place = _wire.place_params(region, yard, needed=False)
    return _call("cable", part, place, on, known_at, rulebook, keep, idempotency_key, timeout)


def recover_sample(
    *,
    weight: str,
    copper: str,
    scale: str | None = None,
    observed: Observed | None = None,
    strip: Given | None = None,
    region: str | None = None,
    yard: str | None = None,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    rulebook: str | None = None,
    keep: bool = False,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Recovery]:
    """The copper share of a piece of cable that was weighed before (`weight`) and after stripping (`copper`).

    The rest is as for `cable`.
    """
    part = {"weight": weight, "copper": copper, "scale": scale, "observed": observed, "strip": strip}
    place = _wire.place_params(region, yard, needed=False)
    return _call("sample", part, place, on, known_at, rulebook, keep, idempotency_key, timeout)


def recover_density(
    *,
    dry: str,
    in_water: str | None = None,
    displaced: str | None = None,
    scale: str | None = None,
    vessel: str | None = None,
    water: Decimal | str | None = None,
    observed: Observed | None = None,
    region: str | None = None,
    yard: str | None = None,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    rulebook: str | None = None,
    keep: bool = False,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Recovery]:
    """The density of a piece weighed `dry`, and `in_water` or by the volume `displaced`, and every metal
    that it leaves. `scale` and `vessel` are the finest steps (the last digit written), `water` is in
    degrees Celsius.
    """
    part = {
        "dry": dry,
        "in_water": in_water,
        "displaced": displaced,
        "scale": scale,
        "vessel": vessel,
        "water": water,
        "observed": observed,
    }
    place = _wire.place_params(region, yard, needed=False)
    return _call("displacement", part, place, on, known_at, rulebook, keep, idempotency_key, timeout)


def recover_assay(
    lot: str,
    metals: Sequence[Given],
    *,
    scale: str | None = None,
    like: str | None = None,
    currency: str | None = None,
    treatment: Decimal | int | str | None = None,
    treatment_per: str | None = None,
    charge: Decimal | int | str | None = None,
    smallest_lot: str | None = None,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    rulebook: str | None = None,
    keep: bool = False,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Recovery]:
    """The two ends of what the precious metal of a lot may come to: an indication, not an assay.

    Each of the `metals` has a `metal` (gold, silver, palladium, platinum), its content from `low` to `high`
    ("250 g/t"), or none where publications on things `like` it are to tell, a `price` for one `per` (ozt)
    or a `benchmark`, and a buyer's terms: `payable`, `deduction`, `refining`. `treatment` is for one
    `treatment_per` (kg) of the lot, `charge` for the lot.
    """
    part = {
        "lot": lot,
        "metals": list(metals),
        "scale": scale,
        "like": like,
        "currency": currency,
        "treatment": treatment,
        "treatment_per": treatment_per,
        "charge": charge,
        "smallest_lot": smallest_lot,
    }
    return _call("assay", part, {}, on, known_at, rulebook, keep, idempotency_key, timeout)


def get_recovery(id: str, *, timeout: float | None = None) -> Call[Recovery]:
    """A kept recovery, the same bytes as when it was made. Raises NotFound."""
    return Call("GET", _wire.path("recoveries", id), _read, timeout=timeout)


def replay_recovery(id: str, *, timeout: float | None = None) -> Call[Recovery]:
    """A kept recovery worked out afresh from its request and pins: its `raw` is the same bytes. Raises
    NotFound.
    """
    return Call("POST", _wire.path("recoveries", id, "replay"), _read, timeout=timeout)


def _call(
    kind: str,
    part: Mapping[str, object],
    place: Mapping[str, str],
    on: date | str | None,
    known_at: int | datetime | str | None,
    rulebook: str | None,
    keep: bool,
    idempotency_key: str | None,
    timeout: float | None,
) -> Call[Recovery]:
    body: dict[str, object] = dict(place)
    if on is not None:
        body["on"] = _wire.day_text(on, "on")
    if known_at is not None:
        body["known_at"] = _wire.known_at_wire(known_at)
    if rulebook is not None:
        body["rulebook"] = rulebook
    body["keep"] = keep
    body[kind] = _wire.with_amounts(part, kind)
    return Call(
        "POST",
        _wire.path("recoveries"),
        _read,
        body=body,
        writes=keep,
        idempotency_key=new_key(idempotency_key) if keep else None,
        timeout=timeout,
    )


class Recoveries(Resource):
    """Recoveries: what of a thing is metal that pays."""

    cable = sync(recover_cable)
    sample = sync(recover_sample)
    density = sync(recover_density)
    assay = sync(recover_assay)
    get = sync(get_recovery)
    replay = sync(replay_recovery)


class AsyncRecoveries(AsyncResource):
    """Recoveries: what of a thing is metal that pays."""

    cable = asynchronous(recover_cable)
    sample = asynchronous(recover_sample)
    density = asynchronous(recover_density)
    assay = asynchronous(recover_assay)
    get = asynchronous(get_recovery)
    replay = asynchronous(replay_recovery)
