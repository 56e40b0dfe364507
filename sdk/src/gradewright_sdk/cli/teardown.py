"""gradewright-client teardown: sell a device whole, or take it apart, and how far."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._costs import charge_or_grade
from gradewright_sdk.cli._failures import Exit, fail, faulty_file, unreadable

if TYPE_CHECKING:
    from gradewright_sdk._client import Client
    from gradewright_sdk._models import Teardown
    from gradewright_sdk.cli._device import DeviceFile

HELP = f"""Whether to sell the device in FILE (- for standard input) whole or to take it apart, and how far.

FILE is YAML or JSON; --template prints one to begin with. A part has a name, a weight (or weight_each and a
count), a grade or what was observed, how it opens, and the parts that come out. A weight may be low, likely
and high. opens has how (all-at-once or piece-by-piece), minutes, cost, cautions and leftover (a grade, or a
charge for a piece or a unit of mass). Parts that come off one by one have minutes of their own; must_come_off
says that one may not stay on. All of it is of one piece of what it is in. What has a kind (of device) may
have parts without a weight: what is usual for their grade in such devices stands in.

What is deeper than thirty parts in one another is given as a list: the device first, then each part behind
the one that it is within, by its place in the list from 0.

Instead of FILE, --kind and --weight: what was recorded of others of that kind stands in for the parts.
Several together have a --count, which has to be told of what weighs far more or less than one that was
recorded.

A list of devices, each of its kind, with --devices: CSV, whose first line names the columns kind and weight,
and perhaps count, name, grade, minutes and leftover. A line is a device, or several that weigh that together;
all are answered in one table, with what they add up to; what takes a licence is counted apart. Each is
priced by itself; where all of one grade together reaches a better price, the --lot for that is told.
Every fault is told with its line, and nothing is worked out until there is none. --json prints one document:
totals, and under devices each line with its teardown. --template --output devices.csv writes a list to begin
with, and --template --devices devices.csv prints one.

Each part is priced as a lot of its own. Where a yard pays more from a weight on and you have more of a grade
than comes out of this device, --lot names how much: --lot "copper-no2=40 lb". It can be given for several
grades; "lots" in FILE does the same.

{common.EXIT_CODES}
"""
NOTHING = "Nothing was worked out."


def teardown(
    ctx: typer.Context,
    file: Annotated[
        str | None, typer.Argument(metavar="FILE", help="The device, or -.", show_default=False)
    ] = None,
    *,
    region: common.RegionOption = None,
    yard: common.YardOption = None,
    hour_rate: Annotated[
        str | None,
        typer.Option("--hour-rate", help="What an hour of yours is worth; 0 if nothing.", show_default=False),
    ] = None,
    kind: Annotated[
        str | None, typer.Option("--kind", help="A kind of device, such as treadmill.", show_default=False)
    ] = None,
    weight: Annotated[
        str | None,
        typer.Option(
            "--weight", help='Of the device, or of all --count of them, "70 kg".', show_default=False
        ),
    ] = None,
    count: Annotated[
        int | None,
        typer.Option("--count", min=1, help="How many devices of that kind weigh that.", show_default=False),
    ] = None,
    grade: Annotated[
        str | None, typer.Option("--grade", help="What that is sold as whole.", show_default=False)
    ] = None,
    minutes: Annotated[
        str | None, typer.Option("--minutes", help="To take one of them apart.", show_default=False)
    ] = None,
    leftover: Annotated[
        str | None,
        typer.Option(
            "--leftover",
            help='What its rest is: a grade, or what it costs to be rid of it, "0.05 per lb" or "4.00".',
            show_default=False,
        ),
    ] = None,
    devices: Annotated[
        str | None,
        typer.Option(
            "--devices", metavar="CSV", help="A list of devices of a kind each, or -.", show_default=False
        ),
    ] = None,
    lot: Annotated[
        list[str] | None,
        typer.Option("--lot", help='What there is of a grade, "copper-no2=40 lb".', show_default=False),
    ] = None,
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    rulebook: Annotated[
        str | None, typer.Option("--rulebook", help="By this rulebook version.", show_default=False)
    ] = None,
    keep: Annotated[bool, typer.Option("--keep", help="Let the service keep it; says its id.")] = False,
    id_to: common.IdToOption = None,
    template: Annotated[
        bool,
        typer.Option(
            "--template", help="Print a device to begin with; a list with --devices or --output X.csv."
        ),
    ] = False,
    output: Annotated[
        str | None, typer.Option("--output", help="Write the template to this file.", show_default=False)
    ] = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="End with 3 if something in the plan counts as nothing.")
    ] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    if template:
        _template(ctx, output, listed=devices is not None)
        return
    _one_of(file, kind, weight, devices)
    of_kind = {"leftover": leftover, "count": count, "grade": grade, "minutes": minutes}
    for name in (name for name, given in of_kind.items() if given is not None and kind is None):
        where = "under opens" if name in {"leftover", "minutes"} else "with the device"
        raise typer.BadParameter(
            f"--{name} is said of a --kind; in FILE it stands {where}, in --devices by line"
        )
    place = common.one_place(region, yard)
    left = None if leftover is None else charge_or_grade(leftover)
    asked: dict[str, Any] = {
        **place,
        "lots": dict(map(_lot, lot or [])),
        "on": on,
        "known_at": common.revision_or_instant(known_at),
        "rulebook": rulebook,
        "keep": keep or id_to is not None,
    }
    from gradewright_sdk.cli._refused import places_are

    with common.asking(ctx, url, timeout) as client:
        if devices is not None:
            _list(ctx, client, devices, {**asked, "hour_rate": hour_rate or "0"}, id_to, strict=strict)
            return
        if kind is not None and weight is not None:
            places_are(ctx, _place)
            more = {**asked, **of_kind, "leftover": left}
            found = client.teardowns.of(kind, weight, hour_rate=hour_rate or "0", **more)
        else:
            found = _of_file(ctx, client, file or "-", hour_rate, asked)
    common.write_ids(ctx, [found.id], id_to)
    if json_:
        common.print_kept(found.raw, found.id)
    else:
        from gradewright_sdk.cli._torn_down import show

        show(found, common.out())
    if strict and not found.complete:
        raise typer.Exit(Exit.INCOMPLETE)


def _one_of(file: str | None, kind: str | None, weight: str | None, devices: str | None) -> None:
    """Refuse more or less than one of the ways to say what is taken apart."""
    of_kind = " and ".join(name for name, one in (("--kind", kind), ("--weight", weight)) if one is not None)
    ways = {"FILE": file, of_kind: of_kind or None, "--devices": devices}
    given = [name for name, one in ways.items() if one is not None]
    ask = "give FILE, --kind and --weight, or --devices"
    if not given:
        raise typer.BadParameter(f"{ask}: --template prints a device to begin with")
    if len(given) > 1:
        many = "one of them is too many" if len(given) == 2 else "two of them are too many"
        raise typer.BadParameter(f"{ask}, one of these: here are {', '.join(given)}; {many}")
    if of_kind and (kind is None or weight is None):
        lacks = "--weight" if weight is None else "--kind"
        raise typer.BadParameter(f"{ask}: {lacks} is missing beside {of_kind}")


def _template(ctx: typer.Context, output: str | None, *, listed: bool) -> None:
    """A device, or where a list is meant or a CSV file is named a list of them, to begin with."""
    from gradewright_sdk.cli._device import TEMPLATE
    from gradewright_sdk.cli._devices import TEMPLATE as LIST
    from gradewright_sdk.cli._written import write

    if listed or (output is not None and output.casefold().endswith(".csv")):
        write(ctx, LIST.encode(), output, "a list of devices to begin with")
    else:
        write(ctx, TEMPLATE.encode(), output, "a device to begin with")


def _list(
    ctx: typer.Context, client: Client, file: str, asked: dict[str, Any], id_to: str | None, *, strict: bool
) -> None:
    """A list of devices: all of them in one answer."""
    from gradewright_sdk.cli import _devices, _devices_shown
    from gradewright_sdk.cli._files import FileFaults

    keep = asked.pop("keep")
    try:
        given = _devices.read_devices(_bytes(ctx, file))
        found, piles = _devices.ask(client, given, asked, keep=keep)
    except FileFaults as error:
        unchecked = None if error.unchecked is None else common.failure(ctx, error.unchecked, client)
        fail(ctx, faulty_file(file, error, unchecked, NOTHING))
    common.write_ids(ctx, [one.id for one in found], id_to)
    if ctx.params["json_"]:
        common.print_kept(_devices_shown.document(given.devices, found, piles), *(one.id for one in found))
    else:
        _devices_shown.show(given.devices, found, piles, common.out())
    if strict and not all(one.complete for one in found):
        raise typer.Exit(Exit.INCOMPLETE)


def _of_file(
    ctx: typer.Context, client: Client, file: str, hour_rate: str | None, asked: dict[str, Any]
) -> Teardown:
    given = _read(ctx, file)
    more = {**given.more, "lots": {**(given.more.get("lots") or {}), **asked["lots"]}}
    if hour_rate is not None:
        more["hour_rate"] = hour_rate
    if "hour_rate" not in more:
        raise typer.BadParameter("give --hour-rate, what an hour of your work is worth: 0 if none")
    try:
        return client.teardowns.plan(given.device, parts=given.parts, **{**asked, **more})
    except ex.APIError as error:
        places = [place for fault in error.errors if (place := given.locate(fault)) is not None]
        if not places:
            raise
        from gradewright_sdk.cli._files import FileFaults

        fail(ctx, faulty_file(file, FileFaults(places), None, NOTHING))


def _read(ctx: typer.Context, file: str) -> DeviceFile:
    from gradewright_sdk.cli._device import read_device
    from gradewright_sdk.cli._files import FileFaults

    try:
        return read_device(_bytes(ctx, file))
    except FileFaults as error:
        fail(ctx, faulty_file(file, error, None, NOTHING))


def _bytes(ctx: typer.Context, file: str) -> bytes:
    try:
        return sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
    except OSError as error:
        fail(ctx, unreadable(file, error))


def _place(steps: Sequence[str]) -> str | None:
    """Where a fault of a request about a kind stands."""
    match steps:
        case ["leftover", *_]:
            return "--leftover"
        case ["lots", *rest]:
            return f"--lot {rest[0]}" if rest else "--lot"
        case ["weight", *_]:
            return "--weight"
    return None


def _lot(text: str) -> tuple[str, str]:
    grade, sign, weight = text.partition("=")
    if not sign:
        raise typer.BadParameter(f'{text!r} is no lot: write a grade and its weight, "copper-no2=40 lb"')
    return grade.strip(), weight.strip()
