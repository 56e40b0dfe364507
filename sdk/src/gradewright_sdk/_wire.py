"""Python values to what goes over the wire: exact, without floats, with zones."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from urllib.parse import quote

Query = tuple[tuple[str, str], ...]
JSON = "application/json"
Amount = Decimal | int | str
MONEY = {
    "price",
    "amount",
    "total",
    "cash",
    "cost",
    "charge",
    "treatment",
    "refining",
    "disposal",
    "disposal_once",
    "trip",
    "stop",
    "pile",
}
WORK = {"hour_rate", "minutes", "minutes_per_kg", "minutes_per_metre"}
AMOUNTS = frozenset(MONEY | WORK)  # what mappings call them; a count or a year stays a number


def to_wire(value: object, at: str = "the request", *, nulls: bool = False) -> object:
    """`value` as JSON takes it: Decimals and dates as text, mappings without their None entries, unless
    `nulls` are meant.

    Raises TypeError for floats and other types, ValueError for times without a zone; both name the place.
    """
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, Decimal):
        return decimal_text(value, at)
    if isinstance(value, datetime):
        return instant_text(value, at)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        raise TypeError(
            f"{at} is the float {value!r}; floats are not exact: give text with its unit, or a Decimal"
        )
    if isinstance(value, Mapping):
        kept = value.items() if nulls else ((k, v) for k, v in value.items() if v is not None)
        return {str(k): to_wire(v, f"{at}[{k!r}]", nulls=nulls) for k, v in kept}
    if isinstance(value, Sequence) and not isinstance(value, bytes | bytearray):
        return [to_wire(one, f"{at}[{index}]", nulls=nulls) for index, one in enumerate(value)]
    raise TypeError(f"{at} is a {type(value).__name__}, which cannot be sent")


def amount_text(value: Amount, at: str) -> str:
    """Money or minutes as text: a Decimal, a whole number, or text that is passed on as it is.

    Raises TypeError for floats and other types; it names the place.
    """
    if isinstance(value, bool | float) or not isinstance(value, Decimal | int | str):
        kind = "float" if isinstance(value, float) else type(value).__name__
        raise TypeError(
            f"{at} is the {kind} {value!r}; an amount is exact: give text, a whole number or a Decimal"
        )
    return decimal_text(value, at) if isinstance(value, Decimal) else str(value)


def with_amounts(value: object, at: str) -> object:
    """As `to_wire`, with whole numbers as text where a mapping calls them by one of `AMOUNTS`; what was
    observed has names of its own.
    """
    return _amounts(to_wire(value, at), at)


def _amounts(value: object, at: str) -> object:
    if isinstance(value, list):
        return [_amounts(one, f"{at}[{index}]") for index, one in enumerate(value)]
    if not isinstance(value, dict):
        return value
    return {
        name: amount_text(one, f"{at}[{name!r}]")
        if name in AMOUNTS and isinstance(one, int)
        else one
        if name == "observed"
        else _amounts(one, f"{at}[{name!r}]")
        for name, one in value.items()
    }


def decimal_text(value: Decimal, at: str = "a number") -> str:
    """A Decimal as plain digits, no exponent."""
    if not value.is_finite():
        raise ValueError(f"{at} is {value}; only finite numbers can be sent")
    return f"{value:f}"


def instant_text(value: datetime, at: str = "an instant") -> str:
    """An instant with its zone (RFC 3339)."""
    if value.utcoffset() is None:
        raise ValueError(f"{at} is {value.isoformat()} without a zone; give one, such as tzinfo=datetime.UTC")
    return value.isoformat()


def day_text(value: date | str, name: str) -> str:
    """A day as YYYY-MM-DD; text is passed on as it is, an instant is refused because its day depends on a
    zone.
    """
    if isinstance(value, datetime):
        raise TypeError(f"{name} is a day, not an instant; give .date() of it")
    return value if isinstance(value, str) else value.isoformat()


def known_at_wire(value: int | datetime | str) -> int | str:
    """A revision number as it is, an instant as text with its zone."""
    return instant_text(value, "known_at") if isinstance(value, datetime) else value


def query(**given: object) -> Query:
    """Parameters of a URL, those that are None left out; a trailing underscore in a name is dropped
    (`from_`).
    """
    return tuple((name.rstrip("_"), str(value)) for name, value in given.items() if value is not None)


def path(*segments: str) -> str:
    """A path under /v1, every segment quoted, so that a name can never lead elsewhere."""
    for segment in segments:
        if segment in {"", ".", ".."}:
            raise ValueError(f"{segment!r} cannot be the name of anything; give a code, slug, version or id")
    return "/v1/" + "/".join(quote(segment, safe="") for segment in segments)


def body_bytes(body: object) -> bytes:
    """`body` as UTF-8 JSON."""
    try:
        return json.dumps(body, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()
    except UnicodeEncodeError as error:
        raise ValueError("the request holds text that is not valid Unicode (a lone surrogate)") from error


def place_params(region: str | None, yard: str | None, *, needed: bool = True) -> dict[str, str]:
    """`region` or `yard`, one of them; ValueError if both, or none where one is needed."""
    if region is not None and yard is not None:
        raise ValueError("give region= or yard=, not both: a yard has its own region")
    if needed and region is None and yard is None:
        raise ValueError("give region= or yard=: prices are those of a place")
    if region is not None:
        return {"region": region}
    return {"yard": yard} if yard is not None else {}
