"""Reading the bearer key of a request (RFC 6750)."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from litestar.connection import ASGIConnection

from gradewright.core.errors import KeyRefused

_BEARER = re.compile(r"[Bb]earer +([A-Za-z0-9._~+/=-]+) *")


def bearer_key(connection: ASGIConnection[Any, Any, Any, Any]) -> str:
    """The key in the Authorization header. Raises `KeyRefused`; never repeats what was sent."""
    sent = connection.headers.getall("authorization", [])
    if not sent:
        raise KeyRefused("This needs a key: send `Authorization: Bearer gw_…`. Your operator makes keys.")
    key = key_in(sent)
    if key is None:
        raise KeyRefused("The Authorization header cannot be read: send `Authorization: Bearer gw_…` once.")
    return key


def key_in(sent: Sequence[str]) -> str | None:
    """The key in the values of the Authorization header; None where it was not sent once, or as another."""
    match = _BEARER.fullmatch(sent[0]) if len(sent) == 1 else None
    return match[1] if match else None
