"""gradewright-client house-rules: what a yard or a region says for itself of limits, labels and refusals."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk.cli import _common as common

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import HouseRule, HouseRules, HouseRulesAdded

HELP = f"""Show the house rules of PLACE, a yard's slug or a region's code, of a day; or add to them.

A place may have its own values of the rulebook's limits, its own words for grades, and grades that it does
not take. What the regions around it say holds there too. Gradings and valuations there follow them, and say
so.

To add, a maintainer says what and why: --limit "heavy_steel_thickness=1/8 in: heavy steel begins at 1/8 in"
--reason "The sign." Nothing behind the = lifts what was said before. All of it is added, or nothing, and only
ever added to: what held on an earlier day can be shown as long as the service stands.

{common.EXIT_CODES}
"""
REGION = re.compile(r"[A-Z]{2}(-|$)")
TITLES = ("Rule", "By", "From", "Why")
OPTIONS = {"limits": "--limit", "labels": "--label", "refuses": "--refuses", "takes": "--takes"}


def house_rules(
    ctx: typer.Context,
    place: Annotated[str, typer.Argument(metavar="PLACE", help="low-quay, or XO-KEL.", show_default=False)],
    *,
    limit: Annotated[
        list[str] | None,
        typer.Option(
            "--limit", metavar="LIMIT=VALUE[: WORDS]", help="A limit of its own.", show_default=False
        ),
    ] = None,
    label: Annotated[
        list[str] | None,
        typer.Option("--label", metavar="LABEL=GRADE", help="Its word for a grade.", show_default=False),
    ] = None,
    refuses: Annotated[
        list[str] | None,
        typer.Option("--refuses", metavar="GRADE", help="A grade not taken there.", show_default=False),
    ] = None,
    takes: Annotated[
        list[str] | None,
        typer.Option("--takes", metavar="GRADE", help="A grade taken again.", show_default=False),
    ] = None,
    reason: Annotated[
        str | None, typer.Option("--reason", help="Why, and who says so: to add.", show_default=False)
    ] = None,
    since: Annotated[
        str | None,
        typer.Option("--from", help="The day from which what is added holds (today).", show_default=False),
    ] = None,
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    history: Annotated[
        bool, typer.Option("--history", help="All that the place ever said, instead of what holds.")
    ] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    adds = bool(limit or label or refuses or takes)
    if adds == (reason is None):
        raise typer.BadParameter(
            "say both what is added (--limit, --label, --refuses, --takes) and the --reason"
        )
    if adds and (on or known_at or history):
        raise typer.BadParameter("--on, --known-at and --history show; what is added holds --from a day")
    if since and not adds:
        raise typer.BadParameter("--from goes with what is added; a day to show is --on")
    limits, labels = [_limit(one) for one in limit or ()], [_label(one) for one in label or ()]
    from gradewright_sdk.cli._refused import names_are, places_are

    names_are(ctx, {"yard": "PLACE", "region": "PLACE"})
    places_are(ctx, _place)
    with common.asking(ctx, url, timeout) as client:
        asked = client.regions if REGION.match(place) else client.yards
        if adds:
            added = asked.add_house_rules(
                place,
                reason=reason or "",
                from_=since,
                limits=limits,
                labels=labels,
                refuses=refuses or [],
                takes=takes or [],
            )
        else:
            found = asked.house_rules(place, on=on, known_at=common.revision_or_instant(known_at))
    if json_:
        common.print_json(added.raw if adds else found.raw)
    elif adds:
        _print_added(common.out(), place, added)
    else:
        _print(common.out(), place, found, history=history)


def _limit(text: str) -> dict[str, str | None]:
    """A limit and its value; behind a colon, which no value has, what is said of it."""
    name, value = _pair("--limit", text.partition("="))
    given, _, says = (value or "").partition(":")
    said = {"limit": name, "value": given.strip() or None}
    return {**said, "says": says.strip()} if says.strip() else said


def _label(text: str) -> dict[str, str | None]:
    """A label may have any sign in it, a grade has no equals sign."""
    name, value = _pair("--label", text.rpartition("="))
    return {"label": name, "grade": value}


def _pair(option: str, parts: tuple[str, str, str]) -> tuple[str, str | None]:
    name, found, value = parts
    if not found or not name.strip():
        says = f"{''.join(parts)!r}: write it with =, and nothing behind it to lift it"
        raise typer.BadParameter(says, param_hint=option)
    return name.strip(), value.strip() or None


def _place(steps: Sequence[str]) -> str | None:
    """A fault of the second limit is told as --limit 2."""
    option = OPTIONS.get(steps[0])
    number = steps[1] if steps[1:] else ""
    return f"{option} {int(number) + 1}" if option and number.isdigit() else option


def _print_added(console: Console, place: str, added: HouseRulesAdded) -> None:
    from gradewright_sdk.cli._show import say

    count = len(added.rules)
    said = "1 house rule" if count == 1 else f"{count} house rules"
    console.print(say(f"{place}: {said} added, ledger revision {added.revision}.", "bold"))
    for rule in added.rules:
        console.print(say(f"  {_told(rule)}, from {rule.from_} on"))
    if added.notes:
        console.print(say("Good to know:"))
    for note in added.notes:
        console.print(say(f"- {note}"))


def _print(console: Console, place: str, found: HouseRules, *, history: bool) -> None:
    from gradewright_sdk.cli._listed import print_listed
    from gradewright_sdk.cli._show import say

    rules = found.history if history else found.in_force
    what = "all that was ever said" if history else f"what holds on {found.on}"
    if not rules:
        console.print(say(f"{place} has no house rules{'' if history else f' on {found.on}'}."))
        return
    console.print(say(f"{place}: {what}, as known at ledger revision {found.known_at}", "bold"))
    rows = [(_told(rule), rule.place, str(rule.from_), rule.reason or "-") for rule in rules]
    print_listed(console, TITLES, rows, below=True)


def _told(rule: HouseRule) -> str:
    """A rule in a few words; of one that is lifted, what it was about."""
    if rule.kind == "limit":
        said = f"{rule.limit} = {rule.value}" + (f" ({rule.says})" if rule.says else "")
        return f"{rule.limit} as in the rulebook" if rule.lifted else said
    if rule.kind == "label":
        return (
            f"{rule.label!r} means nothing of its own" if rule.lifted else f"{rule.label!r} is {rule.grade}"
        )
    return f"takes {rule.grade} again" if rule.lifted else f"does not take {rule.grade}"
