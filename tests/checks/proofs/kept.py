"""What a campaign has found so far, kept in a file, so that one that is interrupted goes on where it was.

The file is of the sources that were read: with another prover, test or rulebook it begins again.
"""

from __future__ import annotations

import hashlib
import json
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import gradewright.core
import gradewright.rulebooks

READ = (gradewright.core, gradewright.rulebooks)


@cache
def sources() -> str:
    """A digest of what decides about the findings: how rulebooks are read, graded, proved and tried."""
    folders = [Path(str(package.__file__)).parent for package in READ]
    digest = hashlib.sha256()
    for path in sorted(path for folder in (*folders, Path(__file__).parent) for path in folder.glob("*.py")):
        digest.update(f"{path.name}\n".encode() + path.read_bytes())
    return digest.hexdigest()[:12]


class Kept:
    """Findings by name, each worked out once."""

    def __init__(self, campaign: str, of: str) -> None:
        """`of`: what they are about, besides the sources."""
        self.path = Path(tempfile.gettempdir()) / f"gradewright-{campaign}-{of}-{sources()}.jsonl"
        lines = self.path.read_text(encoding="utf-8").splitlines() if self.path.exists() else []
        self._found = dict(map(json.loads, lines))

    def get(self, name: str, work_out: Callable[[], Any]) -> Any:
        """What was found under a name; worked out and written down if it was not yet."""
        if name not in self._found:
            self._found[name] = work_out()
            with self.path.open("a", encoding="utf-8") as file:
                file.write(json.dumps([name, self._found[name]]) + "\n")
        return self._found[name]
