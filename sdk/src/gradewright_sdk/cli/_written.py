"""Files that commands write: whole, or not at all."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from gradewright_sdk.cli._failures import Exit, Failure, fail

if TYPE_CHECKING:
    import typer


def write(ctx: typer.Context, content: bytes, output: str | None, what: str) -> None:
    """Put the content, which is UTF-8 text, into a file and say so, or on standard output where there is none
    ("-" too). `what` it is stands behind the file's name.
    """
    if output is None or output == "-":
        sys.stdout.write(content.decode("utf-8"))
        return
    try:
        write_whole(Path(output), content)
    except OSError as error:
        fail(ctx, unwritable(Path(output), error))
    print(f"Wrote {output}: {what}.")


def unwritable(file: Path, error: OSError, done: str = "") -> Failure:
    """The file that was meant cannot be written; `done`: what was done all the same ("Kept as …, but")."""
    missing = isinstance(error, FileNotFoundError) and not file.parent.exists()
    why = f"there is no folder {file.parent}" if missing else error.strerror
    says = f"{done} cannot write {file}: {why}." if done else f"Cannot write {file}: {why}."
    return Failure("unwritable-file", "Unwritable file", (says,), Exit.USAGE)


def write_whole(file: Path, content: bytes) -> None:
    """Put the whole file in the place of the one before, or leave that. Raises OSError.

    What is no file, such as a pipe, is written to, and behind a link what it leads to is replaced.
    """
    if file.exists() and not file.is_file():
        file.write_bytes(content)
        return
    file = file.resolve()
    aside = file.with_name(f"{file.name}.{os.getpid()}.new")
    try:
        aside.write_bytes(content)
        if file.exists():
            shutil.copymode(file, aside)
        aside.replace(file)
    finally:
        aside.unlink(missing_ok=True)
