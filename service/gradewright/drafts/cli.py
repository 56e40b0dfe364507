"""The operator's commands on drafts: what maintainers do over the interface, on the database itself."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from gradewright.accounts.service import Account, AccountService, Role
from gradewright.clock import utc_now
from gradewright.core.errors import Fault, RulebookError
from gradewright.db.session import Database
from gradewright.drafts import texts, told
from gradewright.drafts.check_schemas import CheckOut
from gradewright.drafts.checking import Unsound
from gradewright.drafts.draft import Draft, New, Saying, Stale, Taken, since, tag_of
from gradewright.drafts.life import State
from gradewright.drafts.proving import Proofs
from gradewright.drafts.schemas import DraftList, DraftWhole, EditQuery, MakingQuery, StepChanges
from gradewright.drafts.service import DraftService
from gradewright.regions.service import RegionService
from gradewright.rulebooks.proofs import Tell
from gradewright.rulebooks.service import RulebookService
from gradewright.rulebooks.source import Document, from_file
from gradewright.terminal import (
    JSON_HELP,
    Stop,
    commands,
    one_line_faults,
    progress,
    read_as,
    with_database,
)
from gradewright.yards.service import YardService

app = commands("Write rulebook versions: draft, check, submit; approved by a second maintainer, published.")

MOST_LISTED = 200
Name = Annotated[str, typer.Argument(help="The name of a draft, such as d-7.", metavar="DRAFT")]
As = Annotated[str, typer.Option("--as", help="Whose step it is: a maintainer's handle.", metavar="HANDLE")]
Why = Annotated[str, typer.Option(help="Why. It is kept with the step for good.", metavar="TEXT")]
At = Annotated[
    str | None,
    typer.Option(
        help="The step that you have read, as `show` prints it; any other is refused. Default: the newest.",
        metavar="STEP",
        show_default=False,
    ),
]
Base = Annotated[
    str | None,
    typer.Option(
        help="The published version whose changes it has in it, where that is not the one it was made from.",
        metavar="VERSION",
        show_default=False,
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help=JSON_HELP)]
Pairs = Annotated[bool, typer.Option("--pairs", help="List the rules whose order decides.")]


@app.command("new")
def new(
    who: As,
    why: Why,
    file: Annotated[
        Path | None, typer.Argument(help="A YAML document.", exists=True, dir_okay=False, show_default=False)
    ] = None,
    of: Annotated[
        str | None, typer.Option("--from", help="A published version.", metavar="VERSION", show_default=False)
    ] = None,
    draft: Annotated[str | None, typer.Option(help="Another draft.", show_default=False)] = None,
    version: Annotated[str | None, typer.Option(help="The draft's own version.", show_default=False)] = None,
    effective_from: Annotated[
        str | None, typer.Option(help="From when it is in force.", metavar="DAY", show_default=False)
    ] = None,
    summary: Annotated[
        str | None, typer.Option(help="What it changes, in a few words.", metavar="TEXT", show_default=False)
    ] = None,
    base: Base = None,
) -> None:
    """Make a draft of a published version, of another draft, or of a file."""
    with one_line_faults():
        if sum(one is not None for one in (file, of, draft)) != 1:
            raise Stop("name what to make it of, one of: --from VERSION, --draft DRAFT, a FILE")
        given = {"why": why, "version": version, "effective_from": effective_from, "base": base}
        asked = read_as(MakingQuery, {**given, "summary": summary}, {})
        own = asked.version, asked.effective_from, asked.base, asked.summary
        document, written = _from(file) if file else (None, None)
        made = New(of, draft, document, *own, written)

        async def make(drafts: DraftService, account: Account) -> Taken:
            return await drafts.make(made, Saying(account.handle, utc_now(), asked.why))

        told.taken(_as(who, make))


@app.command("list")
def listed(
    state: Annotated[
        State | None, typer.Option(help="Only those that stand there.", show_default=False)
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Show drafts, the newest first: 200 at most."""
    with one_line_faults():
        found = with_database(
            lambda database: _drafts(database).newest(state, before=2**62, limit=MOST_LISTED)
        )
        drafts = DraftList.of(found, None)
        if as_json:
            typer.echo(drafts.model_dump_json(indent=2))
        else:
            told.listed(drafts)


@app.command("show")
def show(
    name: Name,
    step: Annotated[
        int | None, typer.Option(min=1, help="What this step changed.", show_default=False)
    ] = None,
    yaml: Annotated[bool, typer.Option("--yaml", help="Print the document, to edit it as a file.")] = False,
    as_json: AsJson = False,
) -> None:
    """Show a draft and its steps, or its document as it was after one of them."""

    async def read(database: Database) -> tuple[Draft, Document, str | None, StepChanges, str | None]:
        drafts = _drafts(database)
        found = await drafts.get(name, step)
        published = await drafts.published(found, utc_now().date())
        changed = StepChanges.after(found.last, await drafts.changes(found))
        document, written = await drafts.document(found), await drafts.written(found)
        return found, document, published, changed, written

    with one_line_faults():
        found, document, published, changed, written = with_database(read)
        whole = DraftWhole.whole(found, document, published)
        if yaml:
            typer.echo(texts.to_yaml(document, found.name, found.tag, written), nl=False)
        elif as_json:
            typer.echo((whole if step is None else changed).model_dump_json(indent=2))
        elif step is None:
            told.whole(whole)
        else:
            told.step(changed)


@app.command("edit")
def edit(
    file: Annotated[Path, typer.Argument(help="What `show --yaml` printed, edited.", exists=True)],
    who: As,
    why: Why,
    name: Annotated[
        str | None,
        typer.Option("--draft", help="Default: the one that the first line names.", show_default=False),
    ] = None,
    at: At = None,
    base: Base = None,
) -> None:
    """Give a draft the document in a file. What others have done since the file was made is not lost: then
    it is refused.
    """
    with one_line_faults():
        asked = read_as(EditQuery, {"why": why, "base": base}, {})
        document, written = _from(file)
        source = texts.made_from(written) or (None, None)
        draft, tag = name or source[0], at or (source[1] if name in {None, source[0]} else None)
        if draft is None or tag is None:
            raise Stop(
                f"{file.name} does not say in its first line which step it was made from: name it, "
                "--draft DRAFT --at STEP"
            )

        async def write(drafts: DraftService, account: Account) -> Taken:
            by = Saying(account.handle, utc_now(), asked.why, _tags(await drafts.get(draft), tag))
            return await drafts.edit(draft, by, document, asked.base, written)

        told.taken(_as(who, write))


@app.command("check")
def check(name: Name, as_json: AsJson = False, pairs: Pairs = False) -> None:
    """Say all that keeps a draft from being published today. The first time it is proved: some seconds."""

    async def look(database: Database) -> CheckOut:
        drafts, now = _drafts(database), utc_now()
        draft = await drafts.get(name)
        with progress(name) as tell:
            return CheckOut.of(draft, await drafts.check(draft, now, tell), now.date())

    with one_line_faults():
        found = with_database(look)
        if as_json:
            typer.echo(found.model_dump_json(indent=2))
        else:
            told.checked(found, pairs=pairs)
        if not found.sound:
            raise typer.Exit(1)


@app.command("submit")
def submit(name: Name, who: As, why: Why, at: At = None) -> None:
    """Put a draft before a second maintainer. Refused while it has faults."""
    _step(name, who, why, at, lambda drafts, tell: partial(drafts.submit, tell=tell))


@app.command("approve")
def approve(
    name: Name,
    who: As,
    why: Why,
    at: Annotated[
        str, typer.Option(help="The step that you have read, as `show` prints it.", metavar="STEP")
    ],
    ended_by: Annotated[
        str | None,
        typer.Option(
            help="The published version of which `check` says that it ends this one: that it is meant to.",
            metavar="VERSION",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Publish a submitted draft for good; for one who has neither written nor submitted it."""
    _step(name, who, why, at, lambda drafts, tell: partial(drafts.approve, tell=tell), ended_by)


@app.command("refuse")
def refuse(name: Name, who: As, why: Why, at: At = None) -> None:
    """Send a submitted draft back; for one who has neither written nor submitted it."""
    _step(name, who, why, at, lambda drafts, _: drafts.refuse)


@app.command("withdraw")
def withdraw(name: Name, who: As, why: Why, at: At = None) -> None:
    """Give a draft up. It stays readable for good."""
    _step(name, who, why, at, lambda drafts, _: drafts.withdraw)


def _step(
    name: str,
    who: str,
    why: str,
    at: str | None,
    which: Callable[[DraftService, Tell], Callable[[str, Saying], Awaitable[Taken]]],
    ended_by: str | None = None,
) -> None:
    """Takes a step; what comes of it is told below the bar, which is gone by then."""

    async def take(drafts: DraftService, account: Account) -> Taken:
        draft = await drafts.get(name)
        tags = (draft.tag,) if at is None else _tags(draft, at)
        by = Saying(account.handle, utc_now(), asked.why, tags, ended_by)
        with progress(name) as tell:
            return await which(drafts, tell)(name, by)

    with one_line_faults(told.OPTIONS):
        asked = read_as(EditQuery, {"why": why}, {})
        try:
            told.taken(_as(who, take))
        except Unsound as error:
            for flaw in error.flaws:
                typer.echo(told.flaw(name, flaw.fault.detail, flaw.place, flaw.line), err=True)
            raise Stop(f"{name} has {len(error.flaws)} fault(s). Nothing was stored.") from None


def _tags(draft: Draft, at: str) -> tuple[str, ...]:
    """The tag of a step that is named by its number or by its tag."""
    if at.isdecimal() and 1 <= int(at) <= len(draft.steps):
        return (tag_of(draft.steps[int(at) - 1]),)
    return (at.strip('"'),)


def _as(who: str, use: Callable[[DraftService, Account], Awaitable[Taken]]) -> Taken:
    """Does something in the name of a maintainer whose account is there."""

    async def run(database: Database) -> Taken:
        account = await AccountService(database).named(who, Role.MAINTAINER)
        return await use(_drafts(database), account)

    try:
        return with_database(run)
    except Stale as error:
        for line in since(error):
            typer.echo(f"{error.draft.name}: {line}", err=True)
        raise


def _drafts(database: Database) -> DraftService:
    rulebooks = RulebookService(database)
    yards = YardService(database, RegionService(database), rulebooks)
    return DraftService(database, rulebooks, Proofs(database, yards))


def _from(file: Path) -> tuple[Document, str]:
    """The document in a file, and its text; stops with every fault and its line where it cannot be read."""
    try:
        return from_file(file).document, file.read_text(encoding="utf-8")
    except RulebookError as error:
        _tell(file, error.faults)
        raise Stop(f"{file.name} cannot be read: {len(error.faults)} fault(s). Nothing was stored.") from None


def _tell(file: Path, faults: tuple[Fault, ...]) -> None:
    for fault in faults:
        typer.echo(f"{file.name}:{fault.line}: {fault.detail}", err=True)
