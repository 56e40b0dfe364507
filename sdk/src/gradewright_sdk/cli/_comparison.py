"""What one version of the rulebook changes against another, on a terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from gradewright_sdk.cli._described import in_words
from gradewright_sdk.cli._drafted import print_line

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import ComparedEnd, RulebookComparison

MOST_SHOWN = 20
ANSWERS = {"no-grade": "no grade", "contradiction": "cannot be", "not-described": "not described"}


def print_comparison(console: Console, found: RulebookComparison, *, texts: bool) -> None:
    """What a version changes against another; with `texts` each text that stands otherwise too."""
    below = {group.says for group in found.together}
    for line in found.summary:
        if line not in below:
            print_line(console, line.replace(", all under `besides`", " (--json shows them)"))
    for group in found.together:
        print_line(console, f"\n{group.says} (--json shows all). The smallest part:")
        print_line(console, f"  {in_words(group.part)}")
    places = {place for group in found.together for place in group.moves}
    # Of what is told of some things only, the sentence of each entry has what shows it already.
    of_things = {each.entry for each in found.besides if each.section == "told_of"}
    places |= {n for n, move in enumerate(found.moves) if all(way.by in of_things for way in move.ways)}
    for move in (move for place, move in enumerate(found.moves) if place not in places):
        print_line(console, f"\n{_end(move.before)} -> {_end(move.after)}")
        for way in move.ways:
            rules = f"{way.rule_before or 'no rule'}, then {way.rule_after or 'no rule'}"
            print_line(console, f"  {in_words(way.part)}  by {rules}")
        if not move.all_ways:
            print_line(console, "  and more")
    examples = [each for each in found.examples if _said(each["before"]) != _said(each["after"])]
    if examples:
        print_line(console, f"\n{len(examples)} worked examples are new, gone or have another answer:")
    for each in examples[:MOST_SHOWN]:
        print_line(console, f"  {in_words(each['part'])}: {_said(each['before'])} -> {_said(each['after'])}")
    if len(examples) > MOST_SHOWN:
        print_line(console, f"  and {len(examples) - MOST_SHOWN} more (--json shows them)")
    notes = len(found.examples) - len(examples)
    if notes:
        print_line(
            console, f"\n{notes} worked examples have the same answer with another note (--json shows them)."
        )
    if found.texts:
        many = "1 text stands" if len(found.texts) == 1 else f"{len(found.texts)} texts stand"
        print_line(console, f"\n{many} otherwise{':' if texts else ' (--texts shows them).'}")
    for text in found.texts if texts else ():
        print_line(console, f"  {', '.join(text.at)}")
        print_line(console, f"    before: {_text(text.before)}")
        print_line(console, f"    after:  {_text(text.after)}")


def _end(end: ComparedEnd) -> str:
    """An answer in a word or two: a grade by its name."""
    return end.name or end.grade or ANSWERS.get(end.answered, end.answered)


def _said(example: Mapping[str, Any] | None) -> str:
    """What an example says of its part, in a few words."""
    if example is None:
        return "no example"
    if example.get("candidates"):
        return " or ".join(example["candidates"])
    if example.get("contradiction"):
        return f"contradiction {example['contradiction']}"
    return str(example.get("grade") or "no grade")


def _text(value: Any) -> str:
    """A text on one line; of values that have one each, all of them."""
    if isinstance(value, Mapping):
        return "; ".join(f"{name}: {_text(each)}" for name, each in value.items())
    return "none" if value is None else " ".join(str(value).split())
