"""House rules, of yards and of regions alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import Call, new_key
from gradewright_sdk._reading import reads

if TYPE_CHECKING:
    from gradewright_sdk._models import HouseRules, HouseRulesAdded

Said = Mapping[str, str | None]
Listed = Said | Sequence[Mapping[str, str | None]]


def read(
    place: str, code: str, on: date | str | None, known_at: int | datetime | str | None, timeout: float | None
) -> Call[HouseRules]:
    """What holds in a place, and its history."""
    return Call(
        "GET",
        _wire.path(place, code, "house-rules"),
        reads(lambda: results.HouseRules),
        query=_wire.query(
            on=None if on is None else _wire.day_text(on, "on"),
            known_at=None if known_at is None else _wire.known_at_wire(known_at),
        ),
        timeout=timeout,
    )


def add(
    place: str,
    code: str,
    *,
    reason: str,
    from_: date | str | None,
    limits: Listed,
    labels: Listed,
    refuses: Sequence[str],
    takes: Sequence[str],
    idempotency_key: str | None,
    timeout: float | None,
) -> Call[HouseRulesAdded]:
    """Adds to the house rules of a place. A None among limits and labels is sent: it lifts."""
    body: dict[str, object] = {
        "reason": reason,
        "limits": _listed(limits, "limit", "value"),
        "labels": _listed(labels, "label", "grade"),
        "refuses": list(refuses),
        "takes": list(takes),
    }
    if from_ is not None:
        body["from"] = _wire.day_text(from_, "from_")
    return Call(
        "POST",
        _wire.path(place, code, "house-rules"),
        reads(lambda: results.HouseRulesAdded),
        body=body,
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


def _listed(given: Listed, name: str, value: str) -> list[dict[str, str | None]]:
    """As they are sent, however they were given; who does not check types is told in words."""
    if isinstance(given, Mapping):
        return [{name: key, value: said} for key, said in given.items()]
    whole: object = given
    each: Sequence[object] = [whole] if isinstance(whole, str) else given
    for one in each:
        if not isinstance(one, Mapping):
            raise TypeError(
                f"{name}s are a mapping of {name} to {value}, or a list of mappings with {name} and {value}, "
                f"not {one!r}"
            )
    return [dict(one) for one in given]
