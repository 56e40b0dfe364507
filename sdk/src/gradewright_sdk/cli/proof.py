"""gradewright-client proof: whether a version of the rulebook can be relied on, for every part."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._bar import bar
from gradewright_sdk.cli._described import as_example
from gradewright_sdk.cli._drafted import print_line, print_pairs
from gradewright_sdk.cli._failures import Exit
from gradewright_sdk.cli.drafts import PROVING, Long

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import RulebookFinding, RulebookProof

HELP = f"""Say whether every part that can be described gets one answer by a version, and what does not.

Under the limits of the version and those of all places, by a solver. What is found comes with the smallest
part that shows it. The first time it takes some seconds. A version with a fault ends the command with 1.

{common.EXIT_CODES}
"""
PROVED = (
    "is proved: every part that can be described gets one answer, every rule decides about some part, and "
    "every condition can hold."
)


def proof(
    ctx: typer.Context,
    version: Annotated[
        str | None,
        typer.Argument(metavar="VERSION", help="Which version (the one in force today).", show_default=False),
    ] = None,
    *,
    pairs: Annotated[bool, typer.Option("--pairs", help="List the rules whose order decides.")] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: Long = PROVING,
) -> None:
    """The command."""
    with common.asking(ctx, url, timeout, kept=True) as client:
        named = version or client.rulebooks.in_force().version
        with bar(named) as progress:
            found = client.rulebooks.proof(named, progress=progress, timeout=timeout)
    if json_:
        common.print_json(found.raw)
    else:
        _print(common.out(), found, pairs=pairs)
    if not found.sound:
        raise typer.Exit(Exit.REFUSED)


def _print(console: Console, found: RulebookProof, *, pairs: bool) -> None:
    for finding in found.findings:
        _print_finding(console, found.version, finding)
    if not found.complete:
        print_line(console, f"{found.version}: there are more parts without an answer than these.")
    if pairs:
        print_pairs(console, found.pairs)
    if found.revision is not None:
        print_line(console, _looked(found))
    order = f"The order of its rules decides in {len(found.pairs)} pairs{'' if pairs else ' (--pairs)'}."
    if found.sound:
        print_line(console, f"{found.version} {PROVED} {order}")
    else:
        faults = sum(finding.fault for finding in found.findings)
        many = f"{faults} fault(s)" if found.complete else f"{faults} faults and more"
        print_line(console, f"{found.version} has {many}. {order}")


def _print_finding(console: Console, version: str, finding: RulebookFinding) -> None:
    named = f"{finding.place.partition(', ')[0]}:" in finding.detail or finding.place in finding.detail
    place = "" if named else f"{finding.place}: "
    print_line(console, f"{version}: {'' if finding.fault else 'Note: '}{place}{finding.detail}")
    if finding.part is not None:
        print_line(console, f"  - part: {as_example(finding.part)}")
    for name, values in finding.ranges.items():
        print_line(console, f"    The same for {name}: {values}.")


def _looked(found: RulebookProof) -> str:
    """Under which limits of places it was looked at."""
    if not found.places:
        return f"No place had limits of its own at ledger revision {found.revision}."
    places = f"{found.places} place{'s'[: found.places != 1]}"
    sets = f"{found.limits} set{'s'[: found.limits != 1]} of limits"
    return f"Looked at under {sets} of {places} too, as known at ledger revision {found.revision}."
