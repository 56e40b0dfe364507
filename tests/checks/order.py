"""The pairs of rules of the newest version whose order decides, as `order.txt` keeps them.

`python -m tests.checks.order` writes the file again: read what is new in it, since each line is a decision.
"""

from __future__ import annotations

from pathlib import Path

from gradewright.rulebooks.document import read_yaml
from gradewright.rulebooks.proof import Proof, prove

FOLDER = Path(__file__).parents[2] / "service" / "gradewright" / "rulebooks" / "published"
KEPT = Path(__file__).with_suffix(".txt")


def pairs(proof: Proof) -> list[str]:
    """A line for each pair: the rule that decides and its grade, the other rule and its grade."""
    return [
        f"{pair.first} ({pair.first_grade}) before {pair.second} ({pair.second_grade})"
        for pair in proof.overlaps
    ]


def main() -> None:
    """Write the pairs of the newest version that ships."""
    newest = max(FOLDER.glob("*.yaml"), key=lambda path: read_yaml(path).effective_from)
    KEPT.write_text("\n".join(pairs(prove(read_yaml(newest)))) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
