"""gradewright-client regions, yards, rulebooks, grades, attributes: what there is to ask about."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk.cli import _common as common

if TYPE_CHECKING:
    from gradewright_sdk._models import Grade, Result, RulebookSummary, Yard


def regions(
    ctx: typer.Context,
    *,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """List the regions: code, name, parent, currency, usual weight unit."""
    with common.asking(ctx, url, timeout) as client:
        found = client.regions.list()
    if json_:
        _print_json("regions", found)
        return
    rows = [(one.code, one.name, one.parent or "-", one.currency, one.unit) for one in found]
    _print(("Code", "Name", "Part of", "Currency", "Unit"), rows, "There are no regions yet.")


def yards(
    ctx: typer.Context,
    *,
    region: Annotated[
        str | None, typer.Option("--region", help="In this region.", show_default=False)
    ] = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """List the yards: slug, name, region, currency, usual weight unit, and the grades not taken there."""
    with common.asking(ctx, url, timeout) as client:
        found = client.yards.list(region=region)
    if json_:
        _print_json("yards", found)
        return
    rows = [
        (one.slug, one.name, one.region, one.currency, one.unit, ", ".join(_not_taken(one)) or "-")
        for one in found
    ]
    _print(("Slug", "Name", "Region", "Currency", "Unit", "Does not take"), rows, "There are no yards yet.")


def _not_taken(yard: Yard) -> list[str]:
    """What a yard does not take: its own refusals, and those of its region with the name of that."""
    others = [one for one in yard.not_taken if not one.own]
    return [*yard.refuses, *(f"{one.grade} (none in {one.by})" for one in others)]


def rulebooks(
    ctx: typer.Context,
    *,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """List the versions of the rulebook: in force when, by which draft, and who approved it."""
    with common.asking(ctx, url, timeout) as client:
        found = client.rulebooks.list()
    if json_:
        _print_json("rulebooks", found)
        return
    rows = [
        (
            one.version,
            str(one.effective_from),
            *_standing(one),
            one.draft or "(loaded)",
            one.approved_by or "-",
            one.title,
        )
        for one in found
    ]
    columns = ("Version", "From", "Until", "Today", "Draft", "Approved by", "Title")
    _print(columns, rows, "There is no version yet.", below=True)


def _standing(one: RulebookSummary) -> tuple[str, str]:
    """The last day of a version, and how it stands today."""
    if one.in_force_until is not None and one.in_force_until < one.effective_from:
        # Another one is instead of it, or begins on that day with a higher number.
        return "-", f"never: {one.replaced_by} instead" if one.replaced_by else "never in force"
    return str(one.in_force_until or "-"), one.state.replace("-", " ") or "-"


def grades(
    ctx: typer.Context,
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="WORD", help="Only grades with all these words.", show_default=False),
    ] = None,
    *,
    on: common.OnOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """List the grades of the rulebook: grade, name, family, and the aliases that do as well.

    Words are looked for in all of these, capitals or not: gradewright-client grades copper wire.
    """
    with common.asking(ctx, url, timeout) as client:
        book = client.rulebooks.in_force(on=on)
    families = {slug: family.name for slug, family in book.families.items()}
    found = {slug: one for slug, one in book.grades.items() if _has(words or [], slug, one, families)}
    if json_:
        document = {slug: one.model_dump(mode="json") for slug, one in found.items()}
        common.print_json(json.dumps({"grades": document}, ensure_ascii=False).encode())
        return
    rows = [
        (slug, one.name, families.get(one.family, one.family), ", ".join(one.aliases) or "-")
        for slug, one in found.items()
    ]
    nothing = f"No grade of rulebook {book.version} has {' and '.join(words or ['a name'])} in it."
    _print(("Grade", "Name", "Family", "Aliases"), rows, nothing)


def _has(words: Sequence[str], slug: str, grade: Grade, families: Mapping[str, str]) -> bool:
    texts = (slug, grade.name, families.get(grade.family, grade.family), *grade.aliases)
    return all(any(word.casefold() in text.casefold() for text in texts) for word in words)


def attributes(
    ctx: typer.Context,
    *,
    on: common.OnOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """List what can be observed of a part: the columns of a CSV file, with the values they take."""
    with common.asking(ctx, url, timeout) as client:
        book = client.rulebooks.in_force(on=on)
    if json_:
        document = {name: one.model_dump(mode="json") for name, one in book.attributes.items()}
        common.print_json(json.dumps({"attributes": document}, ensure_ascii=False).encode())
        return
    values = {"yes_no": "yes or no", "year": "a year, 1998", "date": "YYYY-MM-DD"}
    units = {"length": "6.35 mm, 1/4 in, 16 AWG", "share": "5 %", "area": "10 cm2", "density": "8.9 g/cm3"}
    _print_attributes(
        (name, one.asks, ", ".join(one.choices) if one.choices else (values | units).get(one.kind, one.kind))
        for name, one in book.attributes.items()
    )


def _print_attributes(found: Iterable[tuple[str, str, str]]) -> None:
    """The name as it heads a column, the question; below, as they can be many, the values."""
    from rich.padding import Padding

    from gradewright_sdk.cli._show import clean, say

    console = common.out()
    for name, asks, values in found:
        console.print(say(name, "bold").append(clean(f"  {asks}"), "not bold"))
        console.print(Padding(say(values, "dim"), (0, 0, 0, 4)))


def _print_json(name: str, found: Sequence[Result]) -> None:
    rows = [one.model_dump(mode="json", by_alias=True, exclude={"revision"}) for one in found]
    common.print_json(json.dumps({name: rows}, ensure_ascii=False).encode())


def _print(
    titles: Sequence[str], rows: Sequence[Sequence[str]], nothing: str, *, below: bool = False
) -> None:
    from gradewright_sdk.cli._listed import print_listed

    console = common.out()
    if rows:
        print_listed(console, titles, rows, below=below)
    else:
        console.print(nothing)
