"""A checkpoint that is kept in a file: what is there already is evidence, and is never lost.

Somebody keeps a checkpoint so that a ledger that was rewritten shows against it. So today's takes its place
only where it goes on from it; where it does not, the file stays as it is, and whoever asked is told why.
"""

from __future__ import annotations

import os
import secrets
import shutil
from pathlib import Path

from gradewright.core.checkpoint import Checkpoint, CheckpointError
from gradewright.core.merkle import is_consistent
from gradewright.db.session import Database
from gradewright.ledger.keys import find_signer, open_checkpoint
from gradewright.ledger.service import LedgerService, TreeAt
from gradewright.settings import Settings
from gradewright.terminal import Stop, with_database


def read_kept(file: Path, settings: Settings) -> Checkpoint | None:
    """The checkpoint that is kept in a file, signed by this ledger's key; None where there is no file yet.

    Raises `Stop` where the file is something else, or another ledger's.
    """
    try:
        if not file.is_file():
            if file.is_dir():
                raise Stop(f"{file} is a folder: name a file in it.")
            return None  # not there yet, or a pipe
        note = file.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise Stop(f"{file} is there already and is no checkpoint. {_left('Name another FILE.')}") from None
    except OSError as error:
        raise Stop(f"Cannot read {file}: {error.strerror}.") from None
    signer = find_signer(settings, make=False)
    if signer is None:
        raise Stop(
            f"{file} is there already, and this service has no key to hold it against yet. "
            + _left(
                "If it is a checkpoint of this ledger, give the service the key that signed it, in "
                "GRADEWRIGHT_CHECKPOINT_KEY or GRADEWRIGHT_CHECKPOINT_KEY_FILE; else name another FILE."
            )
        )
    try:
        return open_checkpoint(note, signer.key)
    except CheckpointError as error:
        raise Stop(
            f"{file} is there already: {error} "
            + _left(
                "If it is a checkpoint of this ledger, GRADEWRIGHT_DATABASE_URL leads to another one, or "
                "GRADEWRIGHT_CHECKPOINT_KEY is not the key that signed it; else name another FILE."
            )
        ) from None


def renew(file: Path, settings: Settings) -> str:
    """Keeps today's checkpoint in the file, where it goes on from what is kept there, and says so.

    Raises `Stop` where it does not, and where nothing can be written.
    """
    kept = read_kept(file, settings)

    async def held(database: Database) -> tuple[TreeAt, str]:
        ledger = LedgerService(database, settings)
        tree, note = await ledger.checkpoint()
        if kept is not None:
            await _hold(ledger, file, kept, tree)
        return tree, note

    tree, note = with_database(held)
    place, size = file.absolute(), f"{tree.size:,} entries"
    if kept is not None and kept.size == tree.size:  # others may have signed it as well: that would be lost
        return f"{place} is of these {size} already: it was left as it is."
    _write(file, note)
    before = (
        ""
        if kept is None
        else f" The {kept.size:,} entries of the checkpoint that was kept there are its beginning."
    )
    return f"Wrote {place}: {size}.{before}"


async def _hold(ledger: LedgerService, file: Path, kept: Checkpoint, tree: TreeAt) -> None:
    """Stops where the kept checkpoint is not the beginning of the tree."""
    if kept.size > tree.size:
        why = (
            f"This ledger has {tree.size:,} entries; the checkpoint that was kept there is of {kept.size:,}: "
            "some were lost, or this is an older copy of the database."
        )
    else:
        proof = await ledger.consistency(kept.size, tree.size)
        if is_consistent(kept.size, tree.size, proof.path, kept.root, tree.root):
            return
        why = (
            f"The first {kept.size:,} entries of this ledger are not those of the checkpoint that was kept "
            "there: some were changed, removed or put in another order since."
        )
    raise Stop(
        f"{file}: {why} "
        + _left(
            f"Keep it: `gradewright verify --checkpoint {file}` tells what differs. To keep a checkpoint of "
            "the ledger as it is now all the same, name another FILE."
        )
    )


def _left(next_: str) -> str:
    return f"The file was left as it is. {next_}"


def _write(file: Path, text: str) -> None:
    """Puts the whole text in the place of what was there, or leaves that. Raises `Stop`.

    What is no file, such as a pipe, is written to, and behind a link what it leads to is replaced.
    """
    try:
        if file.exists() and not file.is_file():
            file.write_text(text, encoding="utf-8")
            return
        _replace(file.resolve(), text)
    except OSError as error:
        missing = isinstance(error, FileNotFoundError) and not file.parent.exists()
        why = f"there is no folder {file.parent}" if missing else error.strerror
        raise Stop(f"Cannot write {file}: {why}.") from None


def _replace(file: Path, text: str) -> None:
    aside = file.with_name(f"{file.name}.{secrets.token_hex(4)}")
    try:
        with aside.open("x", encoding="utf-8") as opened:
            opened.write(text)
            opened.flush()
            os.fsync(opened.fileno())  # before its name: else a power cut could leave an empty file there
        if file.exists():
            shutil.copymode(file, aside)
        aside.replace(file)
    finally:
        aside.unlink(missing_ok=True)
