"""The operator's commands on rulebooks that need nothing above them: check, compare and print documents."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from gradewright.core.errors import Fault, RulebookError
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks import document, shipped
from gradewright.rulebooks.check import check
from gradewright.rulebooks.comparing_cli import compare_versions
from gradewright.rulebooks.needless import repeated_examples
from gradewright.rulebooks.page_cli import print_page
from gradewright.rulebooks.source import from_file
from gradewright.terminal import commands, progress

SHOWN_FAULTS = 50

app = commands("Check, prove, compare, print, load and list versions of the grading rulebook.")
app.command("compare")(compare_versions)
app.command("page")(print_page)
Files = Annotated[
    list[Path] | None,
    typer.Argument(help="YAML documents; none: the versions that ship.", exists=True, dir_okay=False),
]


@app.command("check")
def check_files(files: Files = None) -> None:
    """Read documents, try their examples, look for rules that no part reaches; say all that is wrong.

    It proves nothing: `prove` does, which goes through all parts that can be described.
    """
    unsound = 0
    for path in files or shipped.files():
        with progress(path.name):  # told behind it, or the bar would stand between the lines
            faults, told = _looked_at(path)
        for line in told:
            typer.echo(line)
        unsound += bool(faults)
        tell(path, faults)
    if unsound:
        raise typer.Exit(1)


def _looked_at(path: Path) -> tuple[tuple[Fault, ...], list[str]]:
    """What is wrong with a document; where nothing is, lines that tell its size, and what needs no action."""
    try:
        source = from_file(path)
        rulebook = document.read_source(source)
    except RulebookError as error:
        return error.faults, []
    faults = source.placed(check(rulebook))
    if faults:
        return faults, []
    proving = "gradewright rulebooks prove"
    told = [f"{path.name}: no fault found, and not proved: {proving}. {_size(rulebook)}"]
    notes = repeated_examples(rulebook)
    return (), told + [f"{path.name}: note, and no fault: {note}" for note in notes]


def tell(path: Path, faults: tuple[Fault, ...]) -> None:
    """Each fault on a line of its own, with the file and the line in it."""
    for fault in faults[:SHOWN_FAULTS]:
        typer.echo(f"{path.name}:{fault.line}: {fault.detail}", err=True)
    if len(faults) > SHOWN_FAULTS:
        typer.echo(f"{path.name}: and {len(faults) - SHOWN_FAULTS} more", err=True)


def _size(rulebook: Rulebook) -> str:
    return (
        f"{len(rulebook.grades)} grades, {len(rulebook.attributes)} attributes, {len(rulebook.rules)} rules, "
        f"{len(rulebook.preparations)} preparations, {len(rulebook.cautions)} cautions, "
        f"{len(rulebook.examples)} examples"
    )
