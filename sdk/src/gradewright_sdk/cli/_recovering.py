"""What the commands of recovery share: the lot that is stripped, what is known, places, and the answer."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import typer

from gradewright_sdk._exceptions import sentence
from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._costs import cost
from gradewright_sdk.cli._failures import fail, wrong_usage

if TYPE_CHECKING:
    from gradewright_sdk._client import Client
    from gradewright_sdk._inputs import Observation
    from gradewright_sdk._models import Recovery


def lot_given(
    strip: str | None, per_kg: str | None, per_metre: str | None, hour_rate: str, disposal: str | None
) -> dict[str, object] | None:
    """The lot that is compared as it is and stripped, as the service takes it; None where none is named."""
    if strip is None:
        if per_kg is not None or per_metre is not None or disposal is not None:
            raise typer.BadParameter("name the lot that is stripped: --strip '10 kg'")
        return None
    if (per_kg is None) == (per_metre is None):
        raise typer.BadParameter("say how long stripping takes: --minutes-per-kg or --minutes-per-metre")
    return {
        "lot": strip,
        "minutes_per_kg": per_kg,
        "minutes_per_metre": per_metre,
        "hour_rate": hour_rate,
        **disposal_given(disposal),
    }


def disposal_given(text: str | None) -> dict[str, object]:
    """What "0.30 per kg", "5", or both with + between them, say of the insulation; nothing without a text."""
    found: dict[str, object] = {}
    for part in text.split("+") if text is not None else ():
        told = cost(part)
        name = "disposal_once" if told is None or told.per is None else "disposal"
        if told is None or name in found:
            raise typer.BadParameter(
                f"--disposal: {text!r} is no cost; write it for a weight, 0.30 per kg, for the haul, 5, or "
                "both, 0.30 per kg + 5"
            )
        found[name] = told.amount
        if told.per:
            found["disposal_per"] = told.per
    return found


def observed(
    ctx: typer.Context, client: Client, known: list[str] | None, on: str | None, rulebook: str | None
) -> dict[str, Observation] | None:
    """What is known, by the words of the version that is named, or of the day."""
    if not known:
        return None
    from gradewright_sdk.cli._ask import given
    from gradewright_sdk.cli._values import BadValue

    try:
        book = client.rulebooks.get(rulebook) if rulebook else client.rulebooks.in_force(on=on)
        return given(known, book)
    except BadValue as error:
        fail(ctx, wrong_usage(sentence(error.says, error.suggestions)))


def _place(steps: Sequence[str]) -> str | None:
    """Where a fault of the request stands: the option, or the attribute."""
    from gradewright_sdk.cli._files import at

    found = None
    match steps[1:]:
        case ["conductors", number, *rest] if number.isdigit():
            found = at(f"--conductor number {int(number) + 1}", rest)
        case ["metals", number, *rest] if number.isdigit():
            found = f"--metal number {int(number) + 1}"
            if rest[:1] in (["low"], ["high"]):
                found = at(found, rest)
            elif rest and rest != ["metal"]:
                found = f"{_option(rest[0])} of {found}"
        case ["observed", name, *_]:
            found = name
        case ["strip"] | ["strip", "lot"]:
            found = "--strip"
        case ["strip", "disposal" | "disposal_per" | "disposal_once"]:
            found = "--disposal"
        case ["strip", name] | [name]:
            found = _option({"conductors": "conductor", "metals": "metal"}.get(name, name))
    return found


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def tell(
    ctx: typer.Context,
    asked: Callable[[Client], Recovery],
    url: str | None,
    timeout: float,
    id_to: str | None,
    *,
    json_: bool,
) -> None:
    """Ask, and tell the answer to people or to scripts."""
    from gradewright_sdk.cli._refused import places_are

    places_are(ctx, _place)
    with common.asking(ctx, url, timeout) as client:
        found = asked(client)
    common.write_ids(ctx, [found.id], id_to)
    if json_:
        common.print_kept(found.raw, found.id)
        return
    from gradewright_sdk.cli._recovered import print_recovery

    print_recovery(common.out(), found)
