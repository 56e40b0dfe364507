"""Yards: buyers with a scale."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import AsyncResource, Call, Resource, asynchronous, new_key, sync
from gradewright_sdk._reading import reads, reads_list
from gradewright_sdk.resources import _house_rules
from gradewright_sdk.resources._house_rules import Listed

if TYPE_CHECKING:
    from gradewright_sdk._models import HouseRules, HouseRulesAdded, Yard


def list_yards(*, region: str | None = None, timeout: float | None = None) -> Call[tuple[Yard, ...]]:
    """All yards, or those of a region."""
    return Call(
        "GET",
        _wire.path("yards"),
        reads_list(lambda: results.Yard, "yards"),
        query=_wire.query(region=region),
        timeout=timeout,
    )


def get_yard(slug: str, *, timeout: float | None = None) -> Call[Yard]:
    """One yard. Raises UnknownYard."""
    return Call("GET", _wire.path("yards", slug), reads(lambda: results.Yard), timeout=timeout)


def create_yard(
    slug: str,
    *,
    name: str,
    region: str,
    currency: str,
    unit: str,
    rounding: str = "half-even",
    cash_increment: Decimal | int | str | None = None,
    labels: Mapping[str, str] | Sequence[Mapping[str, object]] = (),
    refuses: Sequence[str] = (),
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Yard]:
    """Make a yard (maintainers). `labels` are its own words, {"#2 Cu": "copper-no2"}, or mappings with label,
    grade and optionally from (a day); `refuses` are the grades it does not take. Raises Conflict if the
    slug is taken.
    """
    if isinstance(labels, Mapping):
        labels = [{"label": label, "grade": grade} for label, grade in labels.items()]
    increment = None if cash_increment is None else _wire.amount_text(cash_increment, "cash_increment")
    body = {
        "slug": slug,
        "name": name,
        "region": region,
        "currency": currency,
        "unit": unit,
        "rounding": rounding,
        "cash_increment": increment,
        "labels": _wire.to_wire(labels, "labels"),
        "refuses": list(refuses),
    }
    return Call(
        "POST",
        _wire.path("yards"),
        reads(lambda: results.Yard),
        body=body,
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


def get_house_rules(
    slug: str,
    *,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    timeout: float | None = None,
) -> Call[HouseRules]:
    """What holds in the yard on a day (None: today) of limits, labels and refusals, as known at a revision or
    an instant, and all that the yard itself ever said. Raises UnknownYard.
    """
    return _house_rules.read("yards", slug, on, known_at, timeout)


def add_house_rules(
    slug: str,
    *,
    reason: str,
    from_: date | str | None = None,
    limits: Listed = (),
    labels: Listed | None = None,
    refuses: Sequence[str] = (),
    takes: Sequence[str] = (),
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[HouseRulesAdded]:
    """Add to the yard's house rules from a day on (maintainers), None: today; all of it, or nothing.

    `limits` are values for limits of the rulebook, {"heavy_steel_thickness": "1/8 in"}, or mappings with
    limit, value and says; `labels` its own words, {"Girder": "steel-heavy"}, or mappings with label and
    grade; None lifts either. `takes` are grades that are taken again. Raises InvalidRequest or UnknownGrade
    with every fault.
    """
    return _house_rules.add(
        "yards",
        slug,
        reason=reason,
        from_=from_,
        limits=limits,
        labels=labels or {},
        refuses=refuses,
        takes=takes,
        idempotency_key=idempotency_key,
        timeout=timeout,
    )


class Yards(Resource):
    """Yards: buyers with a scale."""

    list = sync(list_yards)
    get = sync(get_yard)
    create = sync(create_yard)
    house_rules = sync(get_house_rules)
    add_house_rules = sync(add_house_rules)


class AsyncYards(AsyncResource):
    """Yards: buyers with a scale."""

    list = asynchronous(list_yards)
    get = asynchronous(get_yard)
    create = asynchronous(create_yard)
    house_rules = asynchronous(get_house_rules)
    add_house_rules = asynchronous(add_house_rules)
