"""The operator's commands. Each imports what it needs when it is run, so that all start quickly."""

from __future__ import annotations

import sys
import textwrap
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Annotated, Any

import typer
import typer.main
from typer.core import TyperGroup

from gradewright import __version__
from gradewright.collector import seldom
from gradewright.settings import Settings, told
from gradewright.terminal import Stop, commands, one_line_faults, require_migrated, unreachable

_SET_IN: Any = {"initial_indent": "    ", "subsequent_indent": "    "}
SERVING = "gradewright.serving:application"
STOPS_WITHIN = 20  # seconds, to finish the answers that are on their way
ELSEWHERE = {
    "rulebooks": "gradewright.drafts.rulebooks_cli",
    "drafts": "gradewright.drafts.cli",
    "impact": "gradewright.impacts.cli",
    "compositions": "gradewright.compositions.cli",
    "regions": "gradewright.yards.regions_cli",
    "yards": "gradewright.yards.cli",
    "keys": "gradewright.accounts.cli",
    "ledger": "gradewright.ledger.cli",
    "verify": "gradewright.verify_cli",
    "demo": "gradewright.demo",
}
"""Commands that live with their concept, in a Typer named `app`; imported when they are asked for."""


class LazyGroup(TyperGroup):
    """Knows the commands that live elsewhere by name, and imports one only to run it or to list them all."""

    def list_commands(self, ctx: typer.Context) -> list[str]:  # type: ignore[override]
        """All names, in the order of the help."""
        found = [name for name, module in ELSEWHERE.items() if find_spec(module) is not None]
        return [*super().list_commands(ctx), *found]

    def get_command(self, ctx: typer.Context, cmd_name: str) -> Any:  # type: ignore[override]
        """The command of that name; None where there is none."""
        module = ELSEWHERE.get(cmd_name)
        if module is None or find_spec(module) is None:
            return super().get_command(ctx, cmd_name)
        # Most of them read rulebooks, which are large and stay: looking for cycles in them again and again
        # took half of the time. Not `serve`, which lives long.
        ctx.with_resource(seldom())
        command = typer.main.get_command(import_module(module).app)
        command.name = cmd_name
        return command


app = commands(
    "Run and look after a Gradewright service. Settings come from GRADEWRIGHT_… variables: see serve --help.",
    name="gradewright",
    cls=LazyGroup,
    add_completion=True,
)


def _settings() -> Settings:
    return Settings.from_environment()


def _settings_told() -> str:
    """Every setting for the help: its variable, its default, and below what it means."""
    lines = ["\b", "Settings, from the environment:"]
    for one in told():
        lines += [f"{one.variable} [{one.default}]", *textwrap.wrap(one.says, 74, **_SET_IN)]
    return "\n".join(lines)


@app.command(epilog=_settings_told())
def serve(
    host: Annotated[str, typer.Option(help="Address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")] = 8000,
    workers: Annotated[int, typer.Option(min=1, max=64, help="Processes; several need PostgreSQL.")] = 1,
) -> None:
    """Serve the HTTP interface until stopped."""
    with one_line_faults():
        from gradewright.db.engines import is_sqlite, read_url

        settings = _settings()
        if workers > 1 and is_sqlite(read_url(settings.database_url)):
            raise Stop(
                "SQLite is served by one worker: several processes writing one file can corrupt it (before "
                "SQLite 3.51.3). Use --workers 1, or set GRADEWRIGHT_DATABASE_URL to a PostgreSQL URL."
            )
        require_migrated(settings)
        _check_key(settings)
        _check_free(host, port)
    _run_server(host, port, workers)


def _check_key(settings: Settings) -> None:
    """A key that was given and cannot be used is told now, and not to the first who asks for a checkpoint."""
    if not settings.checkpoint_key:
        return
    from gradewright.ledger.keys import NoCheckpointKey, find_signer

    try:
        find_signer(settings, make=False)
    except NoCheckpointKey as error:
        raise Stop(str(error)) from None


def _check_free(host: str, port: int) -> None:
    import socket

    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise Stop(f"Cannot listen on {host}:{port}: {error.strerror}. Choose another --port.") from None


def _run_server(host: str, port: int, workers: int) -> None:
    from granian import Granian
    from granian.constants import Interfaces

    Granian(
        SERVING,
        address=host,
        port=port,
        workers=workers,
        interface=Interfaces.ASGI,
        factory=True,
        log_access=False,
        # A client that takes nothing off the line would else keep its worker from ever ending.
        workers_kill_timeout=STOPS_WITHIN,
    ).serve()


@app.command()
def migrate() -> None:
    """Make the tables, or bring them up to this version; seal the history. Safe to run again."""
    with one_line_faults():
        import asyncio

        from sqlalchemy.exc import SQLAlchemyError

        from gradewright.db import migrate as migrations
        from gradewright.db.engines import read_url, shown

        settings = _settings()
        try:
            migrations.upgrade(settings.database_url)
            sealed = asyncio.run(_seal_missing(settings.database_url))
        except SQLAlchemyError as error:
            raise Stop(unreachable(settings, error)) from None
        if sealed:
            typer.echo(f"Sealed {sealed:,} entries of the history.")
        where = shown(read_url(settings.database_url))
        typer.echo(f"The database {where} is at schema {migrations.newest_schema()}.")


async def _seal_missing(url: str) -> int:
    from gradewright.db.session import Database
    from gradewright.ledger.sealing import seal_missing

    def tell(done: int, newest: int) -> None:
        if newest > done:
            typer.echo(f"sealed up to revision {done:,} of {newest:,}", err=True)

    database = Database(url)
    try:
        return await seal_missing(database, tell)
    finally:
        await database.close()


@app.command()
def openapi(
    output: Annotated[
        Path | None,
        typer.Argument(
            help="File to write, - for standard output. Default: gradewright.json in the folder openapi.",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Write the OpenAPI description of the interface."""
    with one_line_faults():
        import json

        if output is None and not Path("openapi").is_dir():
            raise Stop(
                f"There is no folder openapi in {Path.cwd()}. Name the file to write, or - to print it."
            )
        from gradewright.asgi import create_app, openapi_document

        text = json.dumps(openapi_document(create_app(_settings())), indent=2, ensure_ascii=False) + "\n"
        if str(output) == "-":
            sys.stdout.write(text)
            return
        target = output or Path("openapi", "gradewright.json")
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, encoding="utf-8")
        typer.echo(f"Wrote {target.absolute()}.")


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"gradewright {__version__}")
        raise typer.Exit


@app.callback()
def common(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """Options that every command has."""


def main() -> None:
    """The entry point: `gradewright`."""
    app()


if __name__ == "__main__":
    main()
