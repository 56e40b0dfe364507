"""The operator's command that compares two versions, from files or out of the database."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gradewright.db.session import Database
from gradewright.rulebooks.comparing import Comparing
from gradewright.rulebooks.comparison_schemas import ComparisonOut
from gradewright.rulebooks.comparison_together import answer
from gradewright.rulebooks.named import Named, as_yaml, in_database, named_file, read_file
from gradewright.rulebooks.service import RulebookService
from gradewright.terminal import one_line_faults, progress, with_database

if TYPE_CHECKING:
    from gradewright.rulebooks.comparison import Comparison

MOST_EXAMPLES = 20
MOST_MOVES = 40
VERSION_HELP = "A YAML document, or the name of a version in the database."


def compare_versions(
    before: Annotated[str, typer.Argument(help=f"The earlier one. {VERSION_HELP}")],
    after: Annotated[str, typer.Argument(help=f"The later one. {VERSION_HELP}")],
    texts: Annotated[
        bool, typer.Option(help="Show each text that stands otherwise, before and after.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="All of it, for scripts.")] = False,
) -> None:
    """Say which parts change their grade between two versions, each with the smallest part that does.

    Far versions take minutes the first time; what is found between versions in the database is kept there.
    """
    with one_line_faults():
        files = [named_file(named) for named in (before, after)]
        if None in files:
            old, new, found = with_database(lambda database: _kept(database, (before, after), files))
        else:
            old, new = (read_file(path) for path in files if path is not None)
            found = asyncio.run(_compared(Comparing(), old, new))
    told = ComparisonOut.of(found, old[0], new[0])
    if as_json:
        typer.echo(json.dumps(told.model_dump(), indent=2, ensure_ascii=False))
    else:
        _tell(found, told, texts=texts)


async def _compared(comparing: Comparing, old: Named, new: Named) -> Comparison:
    with progress(f"{old[0].version} and {new[0].version}") as tell:

        def so_far(what: str, done: int, of: int) -> None:
            tell(f"{what}, {done} so far", done, of)

        return await comparing.of(old, new, so_far, first=True)


async def _kept(
    database: Database, names: Sequence[str], files: Sequence[Path | None]
) -> tuple[Named, Named, Comparison]:
    """Both versions, and what is between them: as the database has it, or for it to keep."""
    versions = RulebookService(database)
    old, new = [
        await in_database(versions, name) if path is None else read_file(path)
        for name, path in zip(names, files, strict=True)
    ]
    return old, new, await _compared(Comparing(database), old, new)


def _tell(found: Comparison, told: ComparisonOut, *, texts: bool) -> None:
    below = {group.says for group in told.together}
    for line in told.summary:
        if line not in below:
            typer.echo(line.replace(", all under `besides`", " (--json shows them)"))
    _tell_moves(told)
    every = found.differences.examples
    examples = [each for each in every if _said(each.before) != _said(each.after)]
    if examples:
        typer.echo(f"\n{len(examples)} worked examples are new, gone or have another answer:")
    for each in examples[:MOST_EXAMPLES]:
        was, now = (_said(said) for said in (each.before, each.after))
        typer.echo(f"  {as_yaml(each.part)}: {was} -> {now}")
    if len(examples) > MOST_EXAMPLES:
        typer.echo(f"  and {len(examples) - MOST_EXAMPLES} more (--json shows them)")
    notes = len(every) - len(examples)
    if notes:
        typer.echo(f"\n{notes} worked examples have the same answer with another note (--json shows them).")
    others = found.differences.texts
    if others:
        many = "1 text stands" if len(others) == 1 else f"{len(others)} texts stand"
        typer.echo(f"\n{many} otherwise{':' if texts else ' (--texts shows them).'}")
    for text in others if texts else ():
        typer.echo(f"  {', '.join(map(str, text.at))}")
        typer.echo(f"    before: {_text(text.before)}")
        typer.echo(f"    after:  {_text(text.after)}")


def _tell_moves(told: ComparisonOut) -> None:
    for group in told.together:
        typer.echo(f"\n{group.says} (--json shows all). The smallest part:")
        typer.echo(f"  {as_yaml(group.part)}")
    places = {place for group in told.together for place in group.moves}
    # Of what is told of some things only, the sentence of each entry has what shows it already.
    of_things = {each.entry for each in told.besides if each.section == "told_of"}
    places |= {n for n, move in enumerate(told.moves) if all(way.by in of_things for way in move.ways)}
    apart = [move for place, move in enumerate(told.moves) if place not in places]
    for move in apart[:MOST_MOVES]:
        typer.echo(f"\n{answer(move.before)} -> {answer(move.after)}")
        for way in move.ways:
            rules = f"{way.rule_before or 'no rule'}, then {way.rule_after or 'no rule'}"
            typer.echo(f"  {as_yaml(way.part)}  by {rules}")
        if not move.all_ways:
            typer.echo("  and more")
    if len(apart) > MOST_MOVES:
        typer.echo(f"\nAnd {len(apart) - MOST_MOVES} more moves (--json shows them).")


def _text(value: Any) -> str:
    """A text on one line; of values that have one each, all of them."""
    if isinstance(value, Mapping):
        return "; ".join(f"{name}: {_text(each)}" for name, each in value.items())
    return "none" if value is None else " ".join(str(value).split())


def _said(example: Mapping[str, Any] | None) -> str:
    """What an example says of its part, in a few words."""
    if example is None:
        return "no example"
    if "grade" in example:
        return str(example["grade"])
    if "candidates" in example:
        return " or ".join(example["candidates"])
    if "contradiction" in example:
        return f"contradiction {example['contradiction']}"
    return "no grade"
