"""What a rulebook says for nothing: work that changes nothing, a description twice, rules for a mere name."""

from __future__ import annotations

from collections.abc import Iterator

from gradewright.core.errors import Fault
from gradewright.core.rulebook import Condition, Preparation, Rulebook
from gradewright.rulebooks.places import NUMBERED


def needless(rulebook: Rulebook) -> Iterator[Fault]:
    """What is a mistake wherever it stands, each at its place."""
    first: dict[frozenset[Condition], str] = {}
    for number, entry in enumerate(rulebook.impossible):
        other = first.setdefault(frozenset(entry.when), entry.id)
        if other != entry.id:
            detail = f"impossible {entry.id}: {other} describes the same already: keep one of them"
            yield Fault(detail, ("impossible", number))
    ruled = {rule.grade: rule.id for rule in rulebook.rules}
    for slug, grade in rulebook.grades.items():
        if grade.by_name_only and slug in ruled:
            detail = f"grade {slug}: by_name_only, and rule {ruled[slug]} gives it: take one of the two out"
            yield Fault(detail, ("grades", slug, "by_name_only"))
    for slug, preparation in rulebook.preparations.items():
        if _changes_nothing(preparation):
            detail = f"preparation {slug}: it leaves what it is for as it was: write what it changes"
            yield Fault(detail, ("preparations", slug, "changes"))


def repeated_examples(rulebook: Rulebook) -> Iterator[str]:
    """Examples of a part that stands there already, in one sentence: they do no harm."""
    first: dict[frozenset[tuple[str, object]], int] = {}
    again: list[tuple[int, int]] = []
    for number, example in enumerate(rulebook.examples, start=1):
        other = first.setdefault(frozenset(example.part.items()), number)
        if other != number:
            again.append((number, other))
    if len(again) == 1:
        [(number, other)] = again
        yield f"{NUMBERED['examples'].capitalize()} {number} is of the same part as {other}."
    elif again:
        pairs = ", ".join(f"{number} as {other}" for number, other in again)
        yield f"Examples are of the same part as one before: {pairs}."


def _changes_nothing(preparation: Preparation) -> bool:
    """Whether each thing that it leaves is what its condition asks for anyway, and nothing comes off."""
    asked = {each.attribute: each.values[0] for each in preparation.when if len(each.values) == 1}
    left = preparation.changes.items()
    comes_off = any(shed.share or shed.measured for shed in preparation.sheds)
    return not comes_off and all(
        value is not None and name in asked and asked[name] == value for name, value in left
    )
