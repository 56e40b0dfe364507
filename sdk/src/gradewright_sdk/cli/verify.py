"""gradewright-client verify: whether a service's ledger is still the one that it was."""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._failures import Exit, Failure, fail, faulty_file, unreadable, wrong_usage
from gradewright_sdk.cli._written import unwritable, write_whole

if TYPE_CHECKING:
    from gradewright_sdk._client import Client
    from gradewright_sdk.proofs import Checkpoint, Key

VERIFY_HELP = f"""Check that a service's ledger is still the one that it was: nothing changed, nothing lost.

Takes the newest checkpoint, checks its signature, and has the service prove that the checkpoint kept in FILE
is its beginning; then keeps the newest one in FILE. The first time there is none yet: FILE is made, and the
key is kept beside it, in FILE.key. Compare that with what the operator tells elsewhere, or give it as --key.

With --entries every entry is fetched and hashed again, and must lead to the signed root.

{common.EXIT_CODES}
"""
NOTHING = "Nothing was verified."
PAGE = 5_000
SEVERAL = 20  # pages between two words about how far it is


def verify(
    ctx: typer.Context,
    *,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where the newest checkpoint is kept.")],
    key: Annotated[
        str | None,
        typer.Option("--key", help="The public key of the ledger (name+id+key).", show_default=False),
    ] = None,
    entries: Annotated[bool, typer.Option("--entries", help="Hash every entry again.")] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    from gradewright_sdk.proofs import ProofError

    try:
        with common.asking(ctx, url, timeout) as client:
            done = _verified(ctx, client, file, key, entries=entries)
    except ProofError as error:
        fail(ctx, Failure("not-proved", "Not proved", (str(error),), Exit.REFUSED))
    except ImportError as error:
        fail(ctx, wrong_usage(str(error)))
    if json_:
        sys.stdout.write(json.dumps(done.document) + "\n")
        return
    sys.stdout.write("\n".join(done.lines) + "\n")


@dataclass
class _Done:
    """What was found good."""

    lines: list[str] = field(default_factory=list)
    document: dict[str, Any] = field(default_factory=dict)


def _verified(ctx: typer.Context, client: Client, file: Path, named: str | None, *, entries: bool) -> _Done:
    from gradewright_sdk.proofs import open_checkpoint, read_key

    done, key_file = _Done(), file.with_name(file.name + ".key")
    known = named or (_read(ctx, key_file) if key_file.exists() else None)
    key = read_key(known if known is not None else client.ledger.key())
    note = client.ledger.checkpoint()
    newest = open_checkpoint(note, key)
    before = None
    if file.exists():
        before = open_checkpoint(_read(ctx, file), key)
        _consistent(client, before, newest)
    if entries:
        _hashed(client, newest)
    if known is None:
        _write(ctx, key_file, f"{key}\n")
        done.lines.append(
            f"The key is kept in {key_file}: compare it with what the operator tells elsewhere."
        )
    _write(ctx, file, note)
    done.lines += _said(key, newest, before, entries=entries)
    done.document = {
        "origin": newest.origin,
        "key": str(key),
        "size": newest.size,
        "root": newest.root.hex(),
        "before": None if before is None else before.size,
        "entries_hashed": newest.size if entries else None,
    }
    return done


def _read(ctx: typer.Context, file: Path) -> str:
    """What was kept in a file; ends the command where that cannot be read."""
    from gradewright_sdk.cli._files import FileFaults, as_text

    try:
        return as_text(file.read_bytes())
    except OSError as error:
        fail(ctx, unreadable(str(file), error))
    except FileFaults as error:
        fail(ctx, faulty_file(str(file), error, None, NOTHING))


def _write(ctx: typer.Context, file: Path, text: str) -> None:
    """Keep a text in a file; ends the command where that cannot be written."""
    try:
        write_whole(file, text.encode())
    except OSError as error:
        fail(ctx, unwritable(file, error))


def _consistent(client: Client, before: Checkpoint, newest: Checkpoint) -> None:
    from gradewright_sdk.proofs import ProofError, check_consistency

    if before.size > newest.size:
        raise ProofError(
            f"The ledger has {newest.size:,} entries and had {before.size:,}: some were lost, or this is an "
            "older copy of it."
        )
    proof = client.ledger.consistency(before.size, size=newest.size)
    check_consistency(before.size, newest.size, proof.path, before.root, newest.root)


def _hashed(client: Client, newest: Checkpoint) -> None:
    """Every entry up to the checkpoint, hashed again; in pages, so that memory does not grow."""
    from gradewright_sdk.proofs import ProofError, Tree, leaf_hash
    from gradewright_sdk.resources.ledger import ledger_lines

    tree, after, pages = Tree(), "0", 0
    while tree.size < newest.size:
        lines, following = client.send(ledger_lines(after, PAGE))
        for line in lines[: newest.size - tree.size]:
            tree.add(leaf_hash(line))
        pages += 1
        if pages % SEVERAL == 0:
            sys.stderr.write(f"{tree.size:,} of {newest.size:,} entries\n")
        if following is None:
            break
        after = following
    if tree.size < newest.size:
        raise ProofError(f"The service told {tree.size:,} entries; its checkpoint is of {newest.size:,}.")
    if tree.root != newest.root:
        raise ProofError(
            f"The {newest.size:,} entries that the service tells are not those of its checkpoint: their "
            "root is another."
        )


def _said(key: Key, newest: Checkpoint, before: Checkpoint | None, *, entries: bool) -> list[str]:
    lines = [f"{newest.origin}: {newest.size:,} entries, signed by {key.name} ({key.id.hex()})."]
    if before is not None:
        lines.append(f"The {before.size:,} entries of the checkpoint kept before are its beginning.")
    if entries:
        lines.append("Every entry was hashed again: together they have the signed root.")
    return lines
