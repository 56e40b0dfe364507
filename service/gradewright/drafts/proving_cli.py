"""The operator's command that proves a rulebook, and prints what it finds so that it can be used.

A document is looked at under its own limits; a version in the database under those of places too.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import msgspec
import typer

from gradewright.clock import utc_now
from gradewright.core.errors import RulebookError
from gradewright.db.session import Database
from gradewright.drafts.proving import Proofs
from gradewright.regions.service import RegionService
from gradewright.rulebooks import document
from gradewright.rulebooks.named import in_database, named_file
from gradewright.rulebooks.proof_lines import finding_lines, pair_lines
from gradewright.rulebooks.proofs import Told
from gradewright.rulebooks.service import RulebookService
from gradewright.rulebooks.source import Source, from_file
from gradewright.terminal import Stop, one_line_faults, progress, with_database
from gradewright.yards.service import YardService

if TYPE_CHECKING:
    from gradewright.rulebooks.proof import Proof


def prove_versions(
    versions: Annotated[
        list[str],
        typer.Argument(help="YAML documents, or names of versions in the database.", metavar="VERSION…"),
    ],
    as_json: Annotated[bool, typer.Option("--json", help="Everything that was found, for scripts.")] = False,
    pairs: Annotated[bool, typer.Option("--pairs", help="List the rules whose order matters.")] = False,
    anew: Annotated[
        bool, typer.Option("--anew", help="Prove again what the database has proved already.")
    ] = False,
) -> None:
    """Prove that every part that can be described gets one answer; show the smallest that does not.

    A document is looked at under its own limits. A version in the database is too under those that places
    have instead while it is in force, and what is found is kept there.
    """
    with one_line_faults():
        _prove(versions, as_json=as_json, pairs=pairs, anew=anew)


def _prove(versions: Sequence[str], *, as_json: bool, pairs: bool, anew: bool) -> None:
    unsound, told = 0, []
    for named in versions:
        path = named_file(named)
        source, proof = _kept(named, anew=anew) if path is None else _proved(path)
        name = named if path is None else path.name
        unsound += not proof.sound
        about = "version" if path is None else "file"
        told.append({about: name, "sound": proof.sound, **asdict(proof)})
        if not as_json:
            _tell(name, source, proof)
            if pairs:
                for line in pair_lines(proof.overlaps):
                    typer.echo(line)
    if as_json:
        typer.echo(json.dumps(told, indent=2, ensure_ascii=False))
    if unsound:
        raise typer.Exit(1)


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


async def _of_database(database: Database, version: str, *, anew: bool) -> Told:
    rulebooks = RulebookService(database)
    rulebook, _ = await in_database(rulebooks, version)
    proofs = Proofs(database, YardService(database, RegionService(database), rulebooks))
    until = (await rulebooks.standing(rulebook)).ends
    with progress(version) as tell:
        return await proofs.whole(rulebook, utc_now(), tell, until, anew=anew)


def _kept(version: str, *, anew: bool) -> tuple[Source | None, Proof]:
    """The proof of a version in the database: as it was kept, or worked out, and then kept."""
    told = with_database(lambda database: _of_database(database, version, anew=anew))
    from gradewright.rulebooks.proof import Proof

    return None, msgspec.convert(told, Proof)


_LIMITS = {True: "its own limits and those of all places", False: "its own limits"}


def _tell(name: str, source: Source | None, proof: Proof) -> None:
    for finding in proof.findings:
        first, *rest = finding_lines(finding)
        first = first if finding.fault else f"Note: {first}"
        line = "" if source is None else f":{source.line(finding.at)}"
        typer.echo(f"{name}{line}: {first}", err=True)
        for line in rest:
            typer.echo(line, err=True)
    if not proof.complete:
        typer.echo(f"{name}: there are more parts without an answer than these.", err=True)
    if proof.sound:
        typer.echo(
            f"{name}: proved under {_LIMITS[source is None]}. Every part that can be described gets one "
            "answer, every rule decides about some part, and every condition can hold. The order of the "
            f"rules decides in {len(proof.overlaps)} pairs (--pairs)."
        )
