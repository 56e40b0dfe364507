"""gradewright-client impact and compare: what a draft or a version changes, for which parts, and for whom."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._bar import bar
from gradewright_sdk.cli._failures import fail, faulty_file, unreadable
from gradewright_sdk.cli.drafts import PROVING, Long, Name

if TYPE_CHECKING:
    from gradewright_sdk._client import Client
    from gradewright_sdk._models import Rulebook, WholeDraft

IMPACT_HELP = f"""Say what a draft would change about the valuations that people have kept, and for whom.

With --list FILE about the parts in a file instead, as `gradewright-client value` takes them, in a --region
or at a --yard. Needs a maintainer's key in GRADEWRIGHT_KEY.

{common.EXIT_CODES}
"""
COMPARE_HELP = f"""Say which parts change their grade between versions, each with the smallest part that does.

AFTER may be a draft, such as d-7, with a maintainer's key in GRADEWRIGHT_KEY. Far versions take minutes the
first time, whether it is waited for or not; what is found is kept for everybody.

{common.EXIT_CODES}
"""
COMPARING = 600.0
DRAFT = re.compile(r"d-[0-9]+")


def impact(
    ctx: typer.Context,
    draft: Name,
    *,
    since: Annotated[
        str | None,
        typer.Option(
            "--from", metavar="DAY", help="From this day (90 days before --to).", show_default=False
        ),
    ] = None,
    until: Annotated[
        str | None, typer.Option("--to", metavar="DAY", help="To this day (today).", show_default=False)
    ] = None,
    against: Annotated[
        str | None,
        typer.Option(
            "--against",
            metavar="VERSION",
            help="A published version (the one that it would supersede).",
            show_default=False,
        ),
    ] = None,
    file: Annotated[
        str | None, typer.Option("--list", metavar="FILE", help="A file of parts.", show_default=False)
    ] = None,
    region: common.RegionOption = None,
    yard: common.YardOption = None,
    on: common.OnOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: Long = PROVING,
) -> None:
    """The command."""
    place = common.one_place(region, yard, needed=file is not None)
    if file is None and (place or on):
        raise typer.BadParameter("--region, --yard and --on are for --list FILE")
    if file is not None and (since or until):
        raise typer.BadParameter("give a span of days, or --list FILE")
    from gradewright_sdk.cli._impacts import print_impact

    with common.asking(ctx, url, timeout) as client, bar("valuations") as progress:
        asked: dict[str, Any] = {"from_": since, "to": until, "against": against}
        if file is not None:
            asked |= {"parts": _parts(ctx, client, draft, file, against, on), "on": on, **place}
        found = client.drafts.impact(draft, **asked, progress=progress, timeout=timeout)
    if json_:
        common.print_json(found.raw)
    else:
        print_impact(common.out(), found)


def compare(
    ctx: typer.Context,
    before: Annotated[str, typer.Argument(metavar="BEFORE", help="The earlier version.")],
    after: Annotated[str, typer.Argument(metavar="AFTER", help="The later version, or a draft.")],
    *,
    texts: Annotated[
        bool, typer.Option("--texts", help="Show each text that stands otherwise, before and after.")
    ] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: Long = COMPARING,
) -> None:
    """The command."""
    from gradewright_sdk.cli._comparison import print_comparison
    from gradewright_sdk.cli._refused import names_are

    names_are(ctx, {"with": "BEFORE", "version": "AFTER", "draft": "AFTER"})
    opened = common.asking(ctx, url, timeout, kept=True)
    with opened as client, bar(f"{before} and {after}") as progress:

        def so_far(what: str, done: int, of: int) -> None:
            progress(f"{what}, {done} so far" if not of else what, done, of)

        if DRAFT.fullmatch(after):
            found = client.drafts.compare(after, with_=before, progress=so_far, timeout=timeout)
        else:
            found = client.rulebooks.compare(after, with_=before, progress=so_far, timeout=timeout)
    if json_:
        common.print_json(found.raw)
    else:
        print_comparison(common.out(), found, texts=texts)


def _parts(
    ctx: typer.Context, client: Client, draft: str, file: str, against: str | None, on: str | None
) -> Any:
    """The parts in a file, in the words of the draft, and of the version that it is held against."""
    from gradewright_sdk.cli._files import FileFaults
    from gradewright_sdk.cli._parts import guess_kind, read_parts

    try:
        data = Path(file).read_bytes()
    except OSError as error:
        fail(ctx, unreadable(file, error))
    book = client.rulebooks.get(against) if against else client.rulebooks.in_force(on=on)
    book = _with_those_of(client.drafts.get(draft), book)
    try:
        found = read_parts(data, book, kind=guess_kind(file, data))
    except FileFaults as error:
        fail(ctx, faulty_file(file, error, None, "Nothing was valued."))
    if found.faults:
        fail(ctx, faulty_file(file, FileFaults(found.faults), None, "Nothing was valued."))
    return found.parts


def _with_those_of(draft: WholeDraft, book: Rulebook) -> Rulebook:
    """A version with the attributes that a draft has besides, and those of its values."""
    from pydantic import ValidationError

    from gradewright_sdk._models import Attribute

    attributes = dict(book.attributes)
    adds = draft.document.get("attributes")
    for name, given in adds.items() if isinstance(adds, dict) else ():
        try:
            added = Attribute.model_validate(given)
        except ValidationError:  # a draft may be anything yet: the service says what is wrong with it
            continue
        has = attributes.setdefault(name, added)
        if has.kind == added.kind and added.choices:
            choices = {**added.choices, **(has.choices or {})}
            attributes[name] = has.model_copy(update={"choices": choices})
    return book.model_copy(update={"attributes": attributes})
