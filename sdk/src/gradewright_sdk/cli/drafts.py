"""gradewright-client drafts: versions of the rulebook while maintainers write them."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._bar import bar
from gradewright_sdk.cli._failures import Exit, fail, unreadable, wrong_usage

if TYPE_CHECKING:
    from gradewright_sdk._client import Client
    from gradewright_sdk._models import DraftTaken

app = typer.Typer(
    help="Write rulebook versions: draft, check, submit; approved by a second maintainer, published.\n\n"
    f"Needs a maintainer's key in GRADEWRIGHT_KEY.\n\n{common.EXIT_CODES}",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
PROVING = 180.0
MOST_LISTED = 200
HEAD = re.compile(r"# (d-[0-9]+), step ([0-9]+-[0-9a-f]+)\b")
Name = Annotated[str, typer.Argument(metavar="DRAFT", help="The name of a draft, such as d-7.")]
Why = Annotated[str, typer.Option("--why", metavar="TEXT", help="Why. It is kept with the step for good.")]
At = Annotated[
    str | None,
    typer.Option(
        "--at",
        metavar="STEP",
        help="The step that you have read, as `show` prints it; any other is refused. Default: the newest.",
        show_default=False,
    ),
]
Base = Annotated[
    str | None,
    typer.Option(
        "--base",
        metavar="VERSION",
        help="The published version whose changes it has in it, where that is not the one it was made from.",
        show_default=False,
    ),
]
Long = Annotated[float, typer.Option("--timeout", min=0.001, help="Seconds for the whole of it.")]


@app.command("new")
def new(
    ctx: typer.Context,
    why: Why,
    file: Annotated[
        str | None, typer.Argument(metavar="[FILE]", help="A YAML document.", show_default=False)
    ] = None,
    *,
    of: Annotated[
        str | None, typer.Option("--from", metavar="VERSION", help="A published version.", show_default=False)
    ] = None,
    draft: Annotated[str | None, typer.Option("--draft", help="Another draft.", show_default=False)] = None,
    version: Annotated[
        str | None, typer.Option("--version", help="The draft's own version.", show_default=False)
    ] = None,
    effective_from: Annotated[
        str | None,
        typer.Option("--effective-from", metavar="DAY", help="From when it is in force.", show_default=False),
    ] = None,
    summary: Annotated[
        str | None, typer.Option("--summary", metavar="TEXT", help="What it changes.", show_default=False)
    ] = None,
    base: Base = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """Make a draft of a published version, of another draft, or of a file."""
    if sum(one is not None for one in (file, of, draft)) != 1:
        raise typer.BadParameter("name what to make it of, one of: --from VERSION, --draft DRAFT, a FILE")
    document = None if file is None else _read(ctx, file)
    with common.asking(ctx, url, timeout) as client:
        made = client.drafts.create(
            why=why,
            from_=of,
            draft=draft,
            document=document,
            version=version,
            effective_from=effective_from,
            summary=summary,
            base=base,
        )
        _taken(made, json_)


@app.command("list")
def listed(
    ctx: typer.Context,
    *,
    state: Annotated[
        str | None,
        typer.Option("--state", help="draft, submitted, published or withdrawn.", show_default=False),
    ] = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """Show drafts, the newest first: 200 at most."""
    from itertools import islice

    from gradewright_sdk.cli import _drafted

    with common.asking(ctx, url, timeout) as client:
        found = tuple(islice(client.drafts.list(state=state, page_size=MOST_LISTED), MOST_LISTED))
    if json_:
        _drafted.print_all_as_json(found)
    else:
        _drafted.print_all(common.out(), found)


@app.command("show")
def show(
    ctx: typer.Context,
    name: Name,
    *,
    step: Annotated[
        int | None, typer.Option("--step", min=1, help="What this step changed.", show_default=False)
    ] = None,
    yaml: Annotated[bool, typer.Option("--yaml", help="Print the document, to edit it as a file.")] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """Show a draft and its steps, or its document as it was after one of them."""
    from gradewright_sdk.cli import _drafted

    with common.asking(ctx, url, timeout) as client:
        if yaml:
            common.print_json(client.drafts.yaml(name, step=step).content.removesuffix(b"\n"))
        elif step is not None:
            changed = client.drafts.step(name, step)
            if json_:
                common.print_json(changed.raw)
            else:
                _drafted.print_step(common.out(), changed)
        else:
            whole = client.drafts.get(name)
            if json_:
                common.print_json(whole.raw)
            else:
                _drafted.print_whole(common.out(), whole)


@app.command("edit")
def edit(
    ctx: typer.Context,
    file: Annotated[str, typer.Argument(metavar="FILE", help="What `show --yaml` printed, edited.")],
    why: Why,
    *,
    name: Annotated[
        str | None,
        typer.Option(
            "--draft", metavar="DRAFT", help="Default: the one that the first line names.", show_default=False
        ),
    ] = None,
    at: At = None,
    base: Base = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """Give a draft the document in a file. What others have done since the file was made is not lost: then
    it is refused.
    """
    document = _read(ctx, file)
    found = HEAD.match(document.decode("utf-8", "replace"))
    source = (found[1], found[2]) if found else (None, None)
    draft, tag = name or source[0], at or (source[1] if name in {None, source[0]} else None)
    if draft is None or tag is None:
        says = f"{file} does not say in its first line which step it was made from: name it"
        fail(ctx, wrong_usage(f"{says}, --draft DRAFT --at STEP"))
    with common.asking(ctx, url, timeout) as client:
        etag = _etag(ctx, client, draft, tag)
        _taken(client.drafts.replace(draft, document, why=why, etag=etag, base=base), json_)


@app.command("check")
def check(
    ctx: typer.Context,
    name: Name,
    *,
    pairs: Annotated[bool, typer.Option("--pairs", help="List the rules whose order decides.")] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: Long = PROVING,
) -> None:
    """Say all that keeps a draft from being published today. The first time it is proved: some seconds."""
    from gradewright_sdk.cli import _drafted

    with common.asking(ctx, url, timeout, kept=True) as client, bar(name) as progress:
        found = client.drafts.check(name, progress=progress, timeout=timeout)
    if json_:
        common.print_json(found.raw)
    else:
        _drafted.print_check(common.out(), found, pairs=pairs)
    if not found.sound:
        raise typer.Exit(Exit.REFUSED)


def _a_step(name: str, says: str) -> None:
    """Adds the command of a step that says why, and after which step it is taken."""

    @app.command(name, help=says)
    def command(
        ctx: typer.Context,
        draft: Name,
        why: Why,
        *,
        at: At = None,
        json_: common.JsonOption = False,
        url: common.UrlOption = None,
        timeout: Long = PROVING,
    ) -> None:
        with common.asking(ctx, url, timeout) as client:
            take = getattr(client.drafts, name)
            _taken(take(draft, why=why, etag=_etag(ctx, client, draft, at), timeout=timeout), json_)


_a_step("submit", "Put a draft before a second maintainer. Refused while it has faults.")


@app.command("approve")
def approve(
    ctx: typer.Context,
    draft: Name,
    why: Why,
    *,
    at: At = None,
    ended_by: Annotated[
        str | None,
        typer.Option(
            "--ended-by",
            metavar="VERSION",
            help="The published version of which `check` says that it ends this one: that it is meant to.",
            show_default=False,
        ),
    ] = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: Long = PROVING,
) -> None:
    """Publish a submitted draft for good; for one who has neither written nor submitted it."""
    if at is None:
        raise typer.BadParameter("name the step that you have read, as `show` prints it: --at STEP")
    with common.asking(ctx, url, timeout) as client:
        etag = _etag(ctx, client, draft, at)
        _taken(client.drafts.approve(draft, why=why, etag=etag, ended_by=ended_by, timeout=timeout), json_)


_a_step("refuse", "Send a submitted draft back; for one who has neither written nor submitted it.")
_a_step("withdraw", "Give a draft up. It stays readable for good.")


def _etag(ctx: typer.Context, client: Client, draft: str, at: str | None) -> str:
    """The ETag of a step that is named by its number or its tag; None: of the newest."""
    if at is not None and not at.isdecimal():
        return f'"{at.strip(chr(34))}"'
    found = client.drafts.get(draft)
    if at is None:
        return found.etag
    if not 1 <= int(at) <= len(found.steps):
        fail(ctx, wrong_usage(f"{draft} has no step {at}; it has {len(found.steps)}"))
    return found.steps[int(at) - 1].etag


def _taken(taken: DraftTaken, as_json: bool) -> None:
    from gradewright_sdk.cli import _drafted

    if as_json:
        common.print_json(taken.raw)
    else:
        _drafted.print_taken(common.out(), taken)


def _read(ctx: typer.Context, file: str) -> bytes:
    try:
        return Path(file).read_bytes()
    except OSError as error:
        fail(ctx, unreadable(file, error))
