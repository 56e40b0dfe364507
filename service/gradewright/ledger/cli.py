"""The operator's commands on the ledger: its key, and a checkpoint to keep."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from gradewright.core.checkpoint import CheckpointError
from gradewright.db.session import Database
from gradewright.ledger.checkpoint_file import renew
from gradewright.ledger.keys import find_signer, new_signer
from gradewright.ledger.service import LedgerService
from gradewright.settings import Settings
from gradewright.terminal import Stop, commands, one_line_faults, with_database

app = commands("The key of the ledger, and checkpoints of it.")


@app.command("make-key")
def make_key(
    name: Annotated[
        str, typer.Option(help="The name of the ledger, such as ledger.example.org.", show_default=False)
    ] = "",
) -> None:
    """Make a key to sign checkpoints by, for GRADEWRIGHT_CHECKPOINT_KEY. It is printed and kept nowhere."""
    with one_line_faults():
        try:
            signer = new_signer(name or Settings.from_environment().ledger_name or None)
        except CheckpointError as error:
            raise Stop(str(error)) from None
        typer.echo("Tell those who will verify the ledger its public key:", err=True)
        typer.echo(signer.key.text, err=True)
        typer.echo("The private key, for GRADEWRIGHT_CHECKPOINT_KEY of every worker:", err=True)
        typer.echo(signer.text)


@app.command("key")
def key() -> None:
    """Print the public key of this service's checkpoints; make the key where there is none yet."""
    with one_line_faults():
        signer = find_signer(Settings.from_environment())
        typer.echo(signer.key.text if signer else "")


@app.command("checkpoint")
def checkpoint(
    file: Annotated[
        Path | None, typer.Argument(help="Where to write it; without it, it is printed.", show_default=False)
    ] = None,
) -> None:
    """Make a signed checkpoint of the ledger as it is now: keep it where the database is not.

    A FILE that is there already is held against the ledger first. It is written over only by a checkpoint
    that goes on from it; else it is left as it is, and the command ends with exit code 2.
    """

    async def note(database: Database) -> str:
        return (await LedgerService(database, Settings.from_environment()).checkpoint())[1]

    with one_line_faults():
        if file is None:
            typer.echo(with_database(note), nl=False)
            return
        typer.echo(renew(file, Settings.from_environment()))
