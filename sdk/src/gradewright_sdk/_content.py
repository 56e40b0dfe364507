"""What stands in a file, however the file is given."""

from __future__ import annotations

import os
from pathlib import Path
from typing import IO, Any

FileContent = bytes | str | os.PathLike[str] | IO[bytes] | IO[str]
"""A file by its path, an open one, or what stands in it."""


def file_content(given: FileContent) -> bytes:
    """What stands in a file. Raises ValueError for text that names a file instead of being one, OSError for
    a path where none can be read.
    """
    if isinstance(given, os.PathLike):
        return Path(given).read_bytes()
    content: Any = given if isinstance(given, bytes | str) else given.read()
    if isinstance(content, bytes):
        return content
    text = str(content)
    if "\n" not in text and text.endswith((".csv", ".jsonl")):
        raise ValueError(f"{text!r} is what would be sent, not the file of that name: give Path({text!r})")
    return text.encode()
