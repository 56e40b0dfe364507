"""The operator's command that proves a rulebook document, and prints what it finds so that it can be used."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
import yaml
from rich.console import Console
from rich.table import Table

from gradewright.core.errors import RulebookError
from gradewright.rulebooks import document
from gradewright.rulebooks.source import Source, from_file
from gradewright.terminal import Stop, one_line_faults, progress

if TYPE_CHECKING:
    from gradewright.rulebooks.proof import Finding, Proof
    from gradewright.rulebooks.proof_order import Overlap

MOST_ALIKE = 6


def prove_files(
    files: Annotated[list[Path], typer.Argument(help="YAML documents.", exists=True, dir_okay=False)],
    as_json: Annotated[bool, typer.Option("--json", help="Everything that was found, for scripts.")] = False,
    pairs: Annotated[bool, typer.Option("--pairs", help="List the rules whose order matters.")] = False,
) -> None:
    """Prove that every part that can be described gets one answer; show the smallest that does not."""
    with one_line_faults():
        _prove(files, as_json=as_json, pairs=pairs)


def _prove(files: Sequence[Path], *, as_json: bool, pairs: bool) -> None:
    unsound, told = 0, []
    for path in files:
        source, proof = _proved(path)
        unsound += not proof.sound
        told.append({"file": path.name, "sound": proof.sound, **asdict(proof)})
        if not as_json:
            _tell(path, source, proof)
            if pairs:
                Console().print(pairs_table(proof.overlaps))
    if as_json:
        typer.echo(json.dumps(told, indent=2, ensure_ascii=False))
    if unsound:
        raise typer.Exit(1)


def pairs_table(overlaps: Sequence[Overlap]) -> Table:
    """Pairs of rules whose order decides between two grades, with a part that meets both."""
    table = Table("decides", "its grade", "also met", "its grade", "by such a part", box=None)
    for each in overlaps:
        table.add_row(each.first, each.first_grade, each.second, each.second_grade, as_yaml(each.part))
    return table


def as_yaml(part: Mapping[str, object]) -> str:
    """A description as it stands in a document, on one line."""
    return str(yaml.safe_dump(dict(part), default_flow_style=True, sort_keys=False, width=10_000)).strip()


def finding_lines(finding: Finding) -> list[str]:
    """A finding as lines: what is wrong, the part that shows it ready to be pasted, and what is like it."""
    lines = [finding.says]
    if finding.part is not None:
        lines.append(f"  - part: {as_yaml(finding.part)}")
    if finding.kind == "no-answer" and finding.part is not None:
        lines.append("    ungraded: true")
    for name, values in (finding.alike or {}).items():
        shown = ", ".join(str(value) for value in values[:MOST_ALIKE])
        more = f" and {len(values) - MOST_ALIKE} more" if len(values) > MOST_ALIKE else ""
        lines.append(f"    The same for {name}: {shown}{more}.")
    return lines


def _proved(path: Path) -> tuple[Source, Proof]:
    try:
        source = from_file(path)
        rulebook = document.read_source(source)
    except RulebookError as error:
        for fault in error.faults:
            typer.echo(f"{path.name}:{fault.line}: {fault.detail}", err=True)
        raise Stop(f"{path.name} cannot be read as a rulebook: {len(error.faults)} fault(s).") from None
    from gradewright.rulebooks.proof import prove  # the solver: 0.2 s that other commands need not wait

    with progress(path.name) as tell:
        return source, prove(rulebook, progress=tell)


def _tell(path: Path, source: Source, proof: Proof) -> None:
    for finding in proof.findings:
        first, *rest = finding_lines(finding)
        typer.echo(f"{path.name}:{source.line(finding.at)}: {first}", err=True)
        for line in rest:
            typer.echo(line, err=True)
    if not proof.complete:
        typer.echo(f"{path.name}: there are more parts without an answer than these.", err=True)
    if proof.sound:
        typer.echo(
            f"{path.name}: proved. Every part that can be described gets one answer, every rule decides "
            "about some part, and every condition can hold. The order of the rules decides in "
            f"{len(proof.overlaps)} pairs (--pairs)."
        )
