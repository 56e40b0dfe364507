"""`gradewright demo`."""

from __future__ import annotations

import signal
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import Annotated, NoReturn

import typer

FAULT = 2

app = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)


@app.command()
def demo(
    database: Annotated[
        Path | None,
        typer.Option(
            help="SQLite file to make. Default: one in a new folder for temporary files.", show_default=False
        ),
    ] = None,
    once: Annotated[
        bool, typer.Option("--once", help="Stop after the valuation, also on a terminal.")
    ] = False,
    port: Annotated[
        int | None,
        typer.Option(
            min=1,
            max=65535,
            help="Port to listen on. Default: 8000 if it is free, else any.",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Make an invented district with nine months of prices, and value a dismantled treadmill there.

    All goes through the service's own interface. On a terminal the service then runs until Ctrl-C.
    """
    from rich.console import Console

    from gradewright.demo.errors import DemoError

    _end_on_signals()
    try:
        _require_client()
        from gradewright.demo.run import run

        run(Console(highlight=False), database, port, stay=sys.stdout.isatty() and not once)
    except (DemoError, OSError) as error:
        typer.echo(f"gradewright: {error}", err=True)
        raise typer.Exit(FAULT) from None


def _require_client() -> None:
    """Before anything is imported that needs it."""
    from gradewright.demo.errors import DemoError

    missing = [name for name in ("httpx", "gradewright_sdk") if find_spec(name) is None]
    if missing:
        raise DemoError(
            f"The demo works through the client, which is not installed (missing: {', '.join(missing)}). "
            "From a clone: pip install ./sdk '.[demo]'"
        )


def _end_on_signals() -> None:
    """A request to end, or a closed terminal, ends the demo in order: its service with it."""
    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), _end)


def _end(number: int, _frame: object) -> NoReturn:
    raise SystemExit(128 + number)
