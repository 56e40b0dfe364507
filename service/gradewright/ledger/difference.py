"""A place where the database does not agree with itself, or with a checkpoint, and how it is told."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from gradewright.db.entries import Entry


@dataclass(slots=True)
class Difference:
    """One difference. `of`: entry, leaf, node, tree, revision, ledger, posting, rulebook, valuation,
    decision or checkpoint.

    `what`: changed, removed, added, swapped (with `other`), moved (it belongs at `other`). Of an entry that
    is `changed`, row and leaf do not agree; the nodes above the leaf mostly tell which of the two it is.
    """

    of: str
    what: str
    entry: int | None = None
    revision: int | None = None
    line: int | None = None
    kind: str | None = None
    level: int | None = None
    number: int | None = None
    other: int | None = None
    detail: str = ""
    row: Entry | None = field(default=None, repr=False)
    leaf: bytes | None = field(default=None, repr=False)
    recorded_at: str | None = field(default=None, repr=False)

    def told(self) -> dict[str, Any]:
        """As JSON, without what does not apply."""
        names = ("of", "what", "entry", "revision", "line", "kind", "level", "number", "other", "detail")
        found = {name: getattr(self, name) for name in names}
        return {
            **{name: value for name, value in found.items() if value not in {None, ""}},
            **({} if self.row is None else {"row": self.row}),
        }

    def says(self) -> str:
        """In one line, for people."""
        where = {"node": f"node {self.level}/{self.number}", "tree": f"tree of revision {self.revision}"}
        subject = where.get(self.of, self.of if self.entry is None else f"{self.of} {self.entry}")
        place = [
            f"{name} {value}"
            for name, value in (("revision", self.revision), ("line", self.line))
            if value is not None and self.of != "tree"
        ]
        if self.kind:
            place.append(self.kind)
        other = ""
        if self.other is not None:
            other = f" with entry {self.other}" if self.what == "swapped" else f": it is entry {self.other}"
        shown = f" ({', '.join(place)})" if place else ""
        return f"{subject}{shown}: {self.what}{other}" + (f"; {self.detail}" if self.detail else "")
