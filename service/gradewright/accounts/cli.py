"""The operator's commands on keys: make, list and revoke them."""

from __future__ import annotations

import json
from typing import Annotated, Any

import typer

from gradewright.accounts.service import AccountService, Key, Role
from gradewright.clock import utc_now
from gradewright.terminal import JSON_HELP, Stop, commands, one_line_faults, with_database
from gradewright.web.fields import show_instant

app = commands("Make, list and revoke the keys of accounts.")


@app.command("create")
def create(
    handle: Annotated[str, typer.Option(help="Whose key: 2 to 32 lower-case letters, digits, hyphens.")],
    role: Annotated[str, typer.Option(help="member (posts prices) or maintainer (also adds the map).")],
    label: Annotated[str, typer.Option(help="What the key is for, in your words.")] = "",
) -> None:
    """Make a key, and the account if it is new. The key is printed once and kept nowhere."""
    with one_line_faults():
        if role not in set(Role):
            raise Stop(f"{role!r} is not a role: write {' or '.join(Role)}.")
        key = with_database(
            lambda database: AccountService(database).make_key(handle, Role(role), label, utc_now())
        )
        typer.echo(f"A key for {handle} ({role}). It is shown this once:", err=True)
        typer.echo(key)


@app.command("list")
def listed(as_json: Annotated[bool, typer.Option("--json", help=JSON_HELP)] = False) -> None:
    """Show all keys: ids, owners, ages. The keys themselves are not stored."""
    from gradewright.terminal_tables import print_table

    with one_line_faults():
        found = with_database(lambda database: AccountService(database).keys())
        if as_json:
            typer.echo(json.dumps({"keys": [_told(key) for key in found]}, ensure_ascii=False, indent=2))
            return
        if not found:
            typer.echo("There are no keys yet. Make one: gradewright keys create --handle … --role member")
            return
        rows = []
        for key in found:
            revoked = key.revoked_at.strftime("%Y-%m-%d %H:%M") if key.revoked_at else ""
            made = key.created_at.strftime("%Y-%m-%d %H:%M")
            rows.append((key.id, key.handle, key.role, key.label, made, revoked))
        print_table(("id", "handle", "role", "label", "made", "revoked"), rows, wraps={"label"})


@app.command("revoke")
def revoke(
    key_id: Annotated[str, typer.Argument(help="The id that `keys list` shows.", metavar="ID")],
) -> None:
    """Make a key useless from now on. What was posted with it stays."""
    with one_line_faults():
        with_database(lambda database: AccountService(database).revoke(key_id, utc_now()))
        typer.echo(f"Key {key_id} is revoked.")


def _told(key: Key) -> dict[str, Any]:
    return {
        "id": key.id,
        "handle": key.handle,
        "role": key.role,
        "label": key.label,
        "created_at": show_instant(key.created_at),
        "revoked_at": show_instant(key.revoked_at) if key.revoked_at else None,
    }
