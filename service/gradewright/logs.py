"""What the service writes to its log: lines for people, or one JSON object a line for machines."""

from __future__ import annotations

import logging
import sys

import structlog


def configure(*, as_json: bool) -> None:
    """Sets structlog up for this process; writes to standard error."""
    shared: list[structlog.typing.Processor] = [
        structlog.contextvars.merge_contextvars,
        structlog.processors.add_log_level,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
    ]
    if as_json:
        ending: list[structlog.typing.Processor] = [
            structlog.processors.format_exc_info,
            structlog.processors.JSONRenderer(),
        ]
    else:
        # The default shows the local variables of every frame, and with them the keys of callers.
        plain = structlog.dev.plain_traceback
        ending = [structlog.dev.ConsoleRenderer(colors=sys.stderr.isatty(), exception_formatter=plain)]
    structlog.configure(
        processors=[*shared, *ending],
        wrapper_class=structlog.make_filtering_bound_logger(logging.INFO),
        logger_factory=structlog.PrintLoggerFactory(file=sys.stderr),
        cache_logger_on_first_use=False,
    )


def cause(error: BaseException) -> str:
    """The first line of what is behind an error: what a database's driver said, where it was one."""
    lines = str(getattr(error, "orig", None) or error).strip().splitlines()
    return lines[0] if lines else type(error).__name__
