"""What the service is told from outside: environment variables into one frozen value."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass

DEFAULT_DATABASE_URL = "sqlite:///gradewright.sqlite"


class SettingsError(ValueError):
    """A setting that cannot be used; the text names the variable and says what to write."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Every field can be set by the environment variable named beside it."""

    database_url: str = DEFAULT_DATABASE_URL
    """GRADEWRIGHT_DATABASE_URL: `sqlite:///FILE` or `postgresql://…`"""

    pool_size: int = 10
    """GRADEWRIGHT_POOL_SIZE: connections of one worker for reading; half as many more are for writing."""

    max_body_bytes: int = 2 * 1024 * 1024
    """GRADEWRIGHT_MAX_BODY_BYTES: a larger request body is answered with 413."""

    ledger_poll_seconds: float = 0.25
    """GRADEWRIGHT_LEDGER_POLL_SECONDS: how old a worker's idea of the newest revision may be, where
    other workers write too. Its own writes it sees at once."""

    requests_per_minute: int = 0
    """GRADEWRIGHT_REQUESTS_PER_MINUTE: how many one client may make of one worker; 0 for any number."""

    log_requests: bool = False
    """GRADEWRIGHT_LOG_REQUESTS: `1` for a line in the log per request."""

    log_json: bool = False
    """GRADEWRIGHT_LOG_JSON: `1` for one JSON object a line, `0` for lines for people."""

    @classmethod
    def from_environment(cls, environment: Mapping[str, str] | None = None) -> Settings:
        """Reads `environment` (the process's own where None). Raises `SettingsError`."""
        found = os.environ if environment is None else environment
        return cls(
            database_url=found.get("GRADEWRIGHT_DATABASE_URL") or DEFAULT_DATABASE_URL,
            pool_size=_whole(found, "GRADEWRIGHT_POOL_SIZE", 10, least=1),
            max_body_bytes=_whole(found, "GRADEWRIGHT_MAX_BODY_BYTES", 2 * 1024 * 1024, least=1024),
            ledger_poll_seconds=_seconds(found, "GRADEWRIGHT_LEDGER_POLL_SECONDS", 0.25),
            requests_per_minute=_whole(found, "GRADEWRIGHT_REQUESTS_PER_MINUTE", 0, least=0),
            log_requests=_flag(found, "GRADEWRIGHT_LOG_REQUESTS", default=False),
            log_json=_flag(found, "GRADEWRIGHT_LOG_JSON", default=False),
        )


def _whole(found: Mapping[str, str], name: str, default: int, *, least: int) -> int:
    text = found.get(name)
    if not text:
        return default
    if not (text.isascii() and text.isdigit()) or int(text) < least:
        raise SettingsError(f"{name} is {text!r}; write a whole number of at least {least}")
    return int(text)


def _seconds(found: Mapping[str, str], name: str, default: float) -> float:
    text = found.get(name)
    if not text:
        return default
    try:
        seconds = float(text)
    except ValueError:
        seconds = -1.0
    if not 0 <= seconds <= 3600:
        raise SettingsError(f"{name} is {text!r}; write seconds between 0 and 3600")
    return seconds


def _flag(found: Mapping[str, str], name: str, *, default: bool) -> bool:
    text = found.get(name)
    if not text:
        return default
    if text not in {"0", "1"}:
        raise SettingsError(f"{name} is {text!r}; write 0 or 1")
    return text == "1"
