"""The operator's command that verifies a database: `gradewright verify`."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gradewright.terminal import JSON_HELP, Stop, commands, one_line_faults, with_database

if TYPE_CHECKING:
    from gradewright.core.checkpoint import Checkpoint
    from gradewright.db.session import Database
    from gradewright.ledger.verify import Report

app = commands("Verify a history.")
DIFFERS = 1
SHOWN = 50


@app.command()
def verify(
    checkpoint: Annotated[
        Path | None,
        typer.Option(
            help="A checkpoint kept earlier, to hold the history against.", exists=True, dir_okay=False
        ),
    ] = None,
    key: Annotated[
        str,
        typer.Option(
            help="The public key that signed it (name+id+key); else the key of this service.",
            show_default=False,
        ),
    ] = "",
    as_json: Annotated[bool, typer.Option("--json", help=JSON_HELP)] = False,
) -> None:
    """Make every leaf of the tree again from the rows of the ledger's tables, and name every difference.

    Kept answers (valuations, teardowns, hauls, settlements, recoveries) are held against the SHA-256 that
    was kept with them. Accounts, drafts, proofs and what else a settlement keeps beside its answer are not
    looked at. Exit code 1 where there is a difference.
    """
    with one_line_faults():
        kept = None if checkpoint is None else _kept(checkpoint, key)
        began = time.monotonic()
        report = _verified(kept)
        seconds = time.monotonic() - began
        told = json.dumps(_told(report, seconds), ensure_ascii=False)
        typer.echo(told if as_json else _says(report, seconds))
    if not report.sound:
        raise typer.Exit(DIFFERS)


def _verified(kept: Checkpoint | None) -> Report:
    from rich.console import Console
    from rich.progress import Progress

    from gradewright.ledger.verify import verify as verified
    from gradewright.valuations.witnesses import hold_answers, witnesses

    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("revisions", total=None)

        def tell(done: int, newest: int) -> None:
            progress.update(task, completed=done, total=newest)

        async def run(database: Database) -> Report:
            remembered = await witnesses(database)
            report = await verified(database, checkpoint=kept, witnesses=remembered, tell=tell)
            progress.update(task, description="kept answers", completed=0, total=None)
            await hold_answers(database, report, tell)
            return report

        return with_database(run)


def _kept(file: Path, key: str) -> Checkpoint:
    """The checkpoint of a file, its signature checked. Stops where it does not hold."""
    from gradewright.core.checkpoint import CheckpointError, read_key
    from gradewright.ledger.keys import find_signer, open_checkpoint
    from gradewright.settings import Settings

    try:
        if key:
            public = read_key(key)
        else:
            signer = find_signer(Settings.from_environment(), make=False)
            if signer is None:
                raise Stop("There is no key to check the checkpoint's signature by. Name it with --key.")
            public = signer.key
        return open_checkpoint(file.read_text(encoding="utf-8"), public)
    except UnicodeDecodeError:
        raise Stop(
            f"{file}: this is not UTF-8. Save it as UTF-8 text, as `gradewright ledger checkpoint` writes it."
        ) from None
    except CheckpointError as error:
        raise Stop(f"{file}: {error}") from None


def _told(report: Report, seconds: float) -> dict[str, Any]:
    import base64

    return {
        "sound": report.sound,
        "entries": report.entries,
        "revisions": report.revisions,
        "root": base64.b64encode(report.root).decode(),
        "held_against": report.witnesses,
        "kept_answers": report.answers,
        "seconds": round(seconds, 2),
        "differences": [found.told() for found in report.differences],
        "untold": report.untold,
    }


def _says(report: Report, seconds: float) -> str:
    size = f"{report.entries:,} entries of {report.revisions:,} revisions in {seconds:.1f} s"
    roots = f" and {_counted(report.witnesses, 'root')} told earlier" if report.witnesses else ""
    if report.sound:
        kept = _counted(report.answers, "kept answer")
        held = f" {kept}: the bytes are those of the SHA-256 kept with them." if report.answers else ""
        return f"Sound: {size}. Rows, leaves, nodes{roots} agree.{held}"
    count = len(report.differences) + report.untold
    lines = [f"NOT sound: {_counted(count, 'difference')} in {size}."]
    lines += [f"  {found.says()}" for found in report.differences[:SHOWN]]
    if count > SHOWN:
        lines.append(f"  … and {count - SHOWN} more; --json tells up to 10,000.")
    return "\n".join(lines)


def _counted(count: int, what: str) -> str:
    return f"{count:,} {what}" if count == 1 else f"{count:,} {what}s"
