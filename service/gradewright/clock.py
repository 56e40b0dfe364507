"""The one place that knows what time it is; everything else is told."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

Clock = Callable[[], datetime]


def utc_now() -> datetime:
    """This instant, aware, in UTC."""
    return datetime.now(UTC)
