"""What a campaign has found so far, kept in a file, so that one that is interrupted goes on where it was.

The file is of the sources that were read: with another prover, test or rulebook it begins again.
"""

from __future__ import annotations

import hashlib
import json
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

OURS = ("gradewright.", "tests.")


def sources() -> str:
    """A digest of all sources of ours that are loaded."""
    loaded = sorted((name, module.__file__) for name, module in sys.modules.items() if name.startswith(OURS))
    digest = hashlib.sha256()
    for name, path in loaded:
        if path is not None:
            digest.update(f"{name}\n".encode() + Path(path).read_bytes())
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
