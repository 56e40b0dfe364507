"""The operator's commands. Each imports what it needs when it is run, so that all start quickly."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Awaitable, Callable
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer
import typer.main
from typer.core import TyperGroup

from gradewright import __version__
from gradewright.settings import Settings
from gradewright.terminal import Stop, one_line_faults, require_migrated, unreachable

if TYPE_CHECKING:
    from gradewright.accounts.service import AccountService

T = TypeVar("T")
FAULT = 2
SERVING = "gradewright.asgi:serving"
ELSEWHERE = {"rulebooks": "gradewright.rulebooks.cli", "demo": "gradewright.demo"}
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
        command = typer.main.get_command(import_module(module).app)
        command.name = cmd_name
        return command


app = typer.Typer(
    name="gradewright",
    help="Run and look after a Gradewright service. Settings come from GRADEWRIGHT_… variables.",
    cls=LazyGroup,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode="rich",
)
keys = typer.Typer(no_args_is_help=True, help="Make, list and revoke the keys of accounts.")
app.add_typer(keys, name="keys")


def _settings() -> Settings:
    return Settings.from_environment()


@app.command()
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
        _check_free(host, port)
    _run_server(host, port, workers)


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
    ).serve()


@app.command()
def migrate() -> None:
    """Make the tables, or bring them up to this version. Safe to run again."""
    with one_line_faults():
        from sqlalchemy.exc import SQLAlchemyError

        from gradewright.db import migrate as migrations
        from gradewright.db.engines import read_url, shown

        settings = _settings()
        try:
            migrations.upgrade(settings.database_url)
        except SQLAlchemyError as error:
            raise Stop(unreachable(settings, error)) from None
        where = shown(read_url(settings.database_url))
        typer.echo(f"The database {where} is at schema {migrations.newest_schema()}.")


@app.command()
def openapi(
    output: Annotated[Path, typer.Argument(help="File to write; - for standard output.")] = Path(
        "openapi/gradewright.json"
    ),
) -> None:
    """Write the OpenAPI description of the interface."""
    with one_line_faults():
        import json

        from gradewright.asgi import create_app, openapi_document

        text = json.dumps(openapi_document(create_app(_settings())), indent=2, ensure_ascii=False) + "\n"
        if str(output) == "-":
            sys.stdout.write(text)
            return
        output.parent.mkdir(parents=True, exist_ok=True)
        output.write_text(text, encoding="utf-8")
        typer.echo(f"Wrote {output}.")


@keys.command("create")
def create_key(
    handle: Annotated[str, typer.Option(help="Whose key: 2 to 32 lower-case letters, digits, hyphens.")],
    role: Annotated[str, typer.Option(help="member (posts prices) or maintainer (also adds the map).")],
    label: Annotated[str, typer.Option(help="What the key is for, in your words.")] = "",
) -> None:
    """Make a key, and the account if it is new. The key is printed once and kept nowhere."""
    from gradewright.accounts.service import Role
    from gradewright.clock import utc_now

    with one_line_faults():
        if role not in set(Role):
            raise Stop(f"{role!r} is not a role: write {' or '.join(Role)}.")
        key = _with_accounts(lambda accounts: accounts.make_key(handle, Role(role), label, utc_now()))
        typer.echo(f"A key for {handle} ({role}). It is shown this once:", err=True)
        typer.echo(key)


@keys.command("list")
def list_keys() -> None:
    """Show all keys: ids, owners, ages. The keys themselves are not stored."""
    from rich.console import Console
    from rich.table import Table

    with one_line_faults():
        found = _with_accounts(lambda accounts: accounts.keys())
        if not found:
            typer.echo("There are no keys yet. Make one: gradewright keys create --handle … --role member")
            return
        table = Table("id", "handle", "role", "label", "made", "revoked")
        for key in found:
            revoked = key.revoked_at.strftime("%Y-%m-%d %H:%M") if key.revoked_at else ""
            made = key.created_at.strftime("%Y-%m-%d %H:%M")
            table.add_row(key.id, key.handle, key.role, key.label, made, revoked)
        Console().print(table)


@keys.command("revoke")
def revoke_key(
    key_id: Annotated[str, typer.Argument(help="The id that `keys list` shows.", metavar="ID")],
) -> None:
    """Make a key useless from now on. What was posted with it stays."""
    from gradewright.clock import utc_now

    with one_line_faults():
        _with_accounts(lambda accounts: accounts.revoke(key_id, utc_now()))
        typer.echo(f"Key {key_id} is revoked.")


def _with_accounts(use: Callable[[AccountService], Awaitable[T]]) -> T:
    """Runs `use(accounts)` over the database of the settings, and closes it."""
    from gradewright.accounts.service import AccountService
    from gradewright.db.session import Database

    settings = _settings()
    require_migrated(settings)

    async def run() -> T:
        database = Database(settings.database_url)
        try:
            return await use(AccountService(database))
        finally:
            await database.close()

    return asyncio.run(run())


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
