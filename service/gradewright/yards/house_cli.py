"""The operator's commands on house rules, of yards and of regions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import Annotated, Any

import typer

from gradewright.clock import utc_now
from gradewright.db.session import Database
from gradewright.regions.service import RegionService
from gradewright.rulebooks.service import RulebookService
from gradewright.terminal import JSON_HELP, Stop, one_line_faults, read_as, with_database
from gradewright.yards.atlas import House
from gradewright.yards.house_rules import HouseRuleService
from gradewright.yards.house_schemas import (
    HouseRuleOut,
    HouseRulesIn,
    HouseRulesMade,
    HouseRulesOut,
    HouseRulesQuery,
)
from gradewright.yards.service import YardService

OPTIONS = {"limits": "--limit", "labels": "--label", "from": "--from"}
LIFTS = "Without a value: lifted again."

Place = Annotated[
    str,
    typer.Argument(
        help="A yard's slug for `yards rules`, a region's code for `regions rules`.", metavar="PLACE"
    ),
]
Rule = Annotated[
    list[str] | None,
    typer.Option(
        help=f"A limit of its own; with what it means there in words, which answers tell. {LIFTS}",
        metavar="LIMIT=VALUE[: WORDS]",
    ),
]
Label = Annotated[
    list[str] | None, typer.Option(help=f"Its own word for a grade. {LIFTS}", metavar="LABEL=GRADE")
]
Refuses = Annotated[list[str] | None, typer.Option(help="A grade that is not taken.", metavar="GRADE")]
Takes = Annotated[list[str] | None, typer.Option(help="A grade that is taken again.", metavar="GRADE")]
Reason = Annotated[
    str | None,
    typer.Option(help="Why, and who says so. Needed to say something.", metavar="TEXT", show_default=False),
]
From = Annotated[
    str | None,
    typer.Option(
        "--from",
        help="The day from which it holds; with nothing said, that of which to show them. Default: today.",
        metavar="DAY",
        show_default=False,
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help=JSON_HELP)]


def rules(app: typer.Typer, kind: str) -> None:
    """Adds the command `rules` for places of a kind, `yard` or `region`."""

    @app.command("rules", help=f"Show a {kind}'s house rules of a day, or add to them for good.")
    def command(
        place: Place,
        limit: Rule = None,
        label: Label = None,
        refuses: Refuses = None,
        takes: Takes = None,
        reason: Reason = None,
        since: From = None,
        as_json: AsJson = False,
    ) -> None:
        with one_line_faults():
            limits = [_limit(text) for text in limit or ()]
            labels = [_pair(text, text.rpartition("=")) for text in label or ()]
            said: dict[str, Any] = {
                "limits": limits,
                "labels": [{"label": name, "grade": value} for name, value in labels],
                "refuses": refuses or [],
                "takes": takes or [],
            }
            if not any(said.values()):
                if reason is not None:
                    raise Stop("give what is said too: --limit, --label, --refuses or --takes")
                on = read_as(HouseRulesQuery, {"on": since}, {"on": "--from"}).on
                _show(with_database(lambda database: _read(database, kind, place, on)), as_json)
                return
            if reason is None:
                raise Stop("--reason: say why, and who says so")
            asked = read_as(HouseRulesIn, {"from": since, "reason": reason, **said}, OPTIONS)
            made = with_database(lambda database: _added(database, kind, place, asked))
            if as_json:
                typer.echo(made.model_dump_json(by_alias=True, indent=2))
                return
            typer.echo(f"{place}: {len(made.rules)} said, at revision {made.revision}.")
            if made.notes:
                typer.echo("It is kept. Good to know:")
            for note in made.notes:
                typer.echo(f"  - {note}")


def _limit(text: str) -> dict[str, str | None]:
    """A limit and its value; behind a colon, which no value has, what is said of it."""
    name, value = _pair(text, text.partition("="))
    if value is None:
        return {"limit": name, "value": None}
    value, _, says = value.partition(":")
    return {"limit": name, "value": value.strip(), "says": says.strip() or None}


def _pair(text: str, parts: tuple[str, str, str]) -> tuple[str, str | None]:
    """A label may have any sign in it, a grade or the name of a limit has no equals sign."""
    name, found, value = parts
    if not found:
        raise Stop(f"{text}: write it with =, and nothing behind it to lift it again")
    return name.strip(), value.strip() or None


async def _read(database: Database, kind: str, place: str, on: date | None) -> HouseRulesOut:
    service, house = await _house(database, kind, place)
    day = on or utc_now().date()
    return HouseRulesOut.of(house, day, await service.in_force(house, day))


async def _added(database: Database, kind: str, place: str, asked: HouseRulesIn) -> HouseRulesMade:
    service, house = await _house(database, kind, place)
    now = utc_now()
    await service.look_ahead(house, asked.saying(now.date()))  # may take a while: before others have to wait
    async with database.write() as session:
        return HouseRulesMade.of(house, await service.say(session, house, asked.saying(now.date()), now))


async def _house(database: Database, kind: str, place: str) -> tuple[HouseRuleService, House]:
    regions, rulebooks = RegionService(database), RulebookService(database)
    service = HouseRuleService(database, regions, YardService(database, regions, rulebooks), rulebooks)
    return service, await (service.yard(place) if kind == "yard" else service.region(place))


def _show(found: HouseRulesOut, as_json: bool) -> None:
    from gradewright.terminal_tables import Slug, print_table

    if as_json:
        typer.echo(found.model_dump_json(by_alias=True, indent=2))
        return
    if not found.in_force:
        typer.echo(
            f"No house rules hold there on {found.on}. Add one: --limit, --label, --refuses, with --reason."
        )
        return
    rows = [
        (_told(rule), Slug(rule.place), rule.valid_from.isoformat(), rule.reason or "")
        for rule in found.in_force
    ]
    print_table(("rule", "by", "from", "reason"), rows, wraps={"rule", "by", "reason"})


def _told(rule: HouseRuleOut) -> str:
    words: dict[str, Callable[[], Sequence[str | None]]] = {
        "limit": lambda: (rule.limit, "=", rule.value, rule.says and f"({rule.says})"),
        "label": lambda: (rule.label, "=", rule.grade),
        "refusal": lambda: ("does not take", rule.grade),
    }
    return " ".join(word for word in words[rule.kind]() if word)
