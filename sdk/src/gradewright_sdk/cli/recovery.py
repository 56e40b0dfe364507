"""gradewright-client recovery: what of a cable, a piece or a lot is metal that pays."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._recovering import lot_given, observed, tell

if TYPE_CHECKING:
    from gradewright_sdk._client import Client
    from gradewright_sdk._models import Recovery

HELP = f"""Work out what of a thing is metal that pays, with what is uncertain about it.

{common.EXIT_CODES}
"""
CABLE_HELP = """The copper share of a cable from its build, the bands that allows, and whether stripping pays.

What is known besides is written attribute=value: cable_kind=cord plug_attached=no, and of its conductor
surface=bright. A weight or length that is written with one digit more is taken to be known ten times as well.
"""
SAMPLE_HELP = """The copper share of a piece of cable that was weighed before and after stripping."""
DENSITY_HELP = """The density of a piece weighed dry and in water, and every metal that it may be."""
ASSAY_HELP = """The two ends of what the precious metal of a lot may come to: an indication, not an assay.

Each --metal is a name with its content, "gold 200 g/t to 300 g/t", or the name alone where publications on
things --like it are to tell. Prices and terms are written NAME=VALUE: --price gold=2000 --payable "gold=95
%".
"""

app = typer.Typer(help=HELP, no_args_is_help=True, rich_markup_mode=None)
KnownArgument = Annotated[
    list[str] | None,
    typer.Argument(metavar="ATTRIBUTE=VALUE", help="What is known besides.", show_default=False),
]
ScaleOption = Annotated[
    str | None, typer.Option("--scale", help='The scale\'s step, "1 g".', show_default="the last digit")
]
LotOption = Annotated[
    str | None, typer.Option("--strip", metavar="WEIGHT", help="Compare a lot of this weight, stripped.")
]
PerKgOption = Annotated[str | None, typer.Option("--minutes-per-kg", help="How long stripping takes.")]
RateOption = Annotated[str, typer.Option("--hour-rate", help="What an hour is worth; 0 is allowed.")]
DisposalOption = Annotated[
    str | None,
    typer.Option(
        "--disposal",
        metavar="COST",
        help='To be rid of the insulation: "0.30 per kg", "5" for the haul, or "0.30 per kg + 5".',
        show_default="nothing",
    ),
]
RulebookOption = Annotated[
    str | None, typer.Option("--rulebook", help="By this rulebook version.", show_default=False)
]
KeepOption = Annotated[bool, typer.Option("--keep", help="Keep the answer, and say its id.")]


@app.command("cable", help=CABLE_HELP)
def cable(
    ctx: typer.Context,
    known: KnownArgument = None,
    *,
    conductor: Annotated[
        list[str],
        typer.Option("--conductor", help='"3 x 16 AWG", "3 x 1.5 mm2/30" (strands), "3 x 7 x 0.30 mm".'),
    ],
    weight: Annotated[str, typer.Option("--weight", help='What the length weighs, "38.0 lb".')],
    length: Annotated[str, typer.Option("--length", help='Of which length, "1000 ft".')],
    length_within: Annotated[
        str | None, typer.Option("--length-within", help="How far off.", show_default="half a per cent")
    ] = None,
    scale: ScaleOption = None,
    strip: LotOption = None,
    minutes_per_kg: PerKgOption = None,
    minutes_per_metre: Annotated[
        str | None, typer.Option("--minutes-per-metre", help="Or how long of a metre.")
    ] = None,
    hour_rate: RateOption = "0",
    disposal: DisposalOption = None,
    region: common.RegionOption = None,
    yard: common.YardOption = None,
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    rulebook: RulebookOption = None,
    keep: KeepOption = False,
    id_to: common.IdToOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    from gradewright_sdk.cli._recovered import conductor_given

    place = common.one_place(region, yard, needed=strip is not None)
    try:
        conductors = [conductor_given(text) for text in conductor]
    except ValueError as error:
        raise typer.BadParameter(str(error)) from error
    stripped = lot_given(strip, minutes_per_kg, minutes_per_metre, hour_rate, disposal)

    def asked(client: Client) -> Recovery:
        return client.recoveries.cable(
            conductors,
            weight=weight,
            length=length,
            length_within=length_within,
            scale=scale,
            observed=observed(ctx, client, known, on, rulebook),
            strip=stripped,
            region=place.get("region"),
            yard=place.get("yard"),
            on=on,
            known_at=common.revision_or_instant(known_at),
            rulebook=rulebook,
            keep=keep or id_to is not None,
        )

    tell(ctx, asked, url, timeout, id_to, json_=json_)


@app.command("sample", help=SAMPLE_HELP)
def sample(
    ctx: typer.Context,
    known: KnownArgument = None,
    *,
    weight: Annotated[str, typer.Option("--weight", help='Of the piece of cable, "512 g".')],
    copper: Annotated[str, typer.Option("--copper", help='Of its copper alone, "297 g".')],
    scale: ScaleOption = None,
    strip: LotOption = None,
    minutes_per_kg: PerKgOption = None,
    hour_rate: RateOption = "0",
    disposal: DisposalOption = None,
    region: common.RegionOption = None,
    yard: common.YardOption = None,
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    rulebook: RulebookOption = None,
    keep: KeepOption = False,
    id_to: common.IdToOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    place = common.one_place(region, yard, needed=strip is not None)
    stripped = lot_given(strip, minutes_per_kg, None, hour_rate, disposal)

    def asked(client: Client) -> Recovery:
        return client.recoveries.sample(
            weight=weight,
            copper=copper,
            scale=scale,
            observed=observed(ctx, client, known, on, rulebook),
            strip=stripped,
            region=place.get("region"),
            yard=place.get("yard"),
            on=on,
            known_at=common.revision_or_instant(known_at),
            rulebook=rulebook,
            keep=keep or id_to is not None,
        )

    tell(ctx, asked, url, timeout, id_to, json_=json_)


@app.command("density", help=DENSITY_HELP)
def density(
    ctx: typer.Context,
    known: KnownArgument = None,
    *,
    dry: Annotated[str, typer.Option("--dry", help='Weighed in air, "100.00 g".')],
    in_water: Annotated[str | None, typer.Option("--in-water", help="Weighed hanging in water.")] = None,
    displaced: Annotated[str | None, typer.Option("--displaced", help='Or what it moves aside, "28 ml".')] = (
        None
    ),
    scale: ScaleOption = None,
    vessel: Annotated[
        str | None, typer.Option("--vessel", help="The vessel's step.", show_default="the last digit")
    ] = None,
    water: Annotated[str | None, typer.Option("--water", help="The water's temperature, in C.")] = None,
    region: common.RegionOption = None,
    yard: common.YardOption = None,
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    rulebook: RulebookOption = None,
    keep: KeepOption = False,
    id_to: common.IdToOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    place = common.one_place(region, yard, needed=False)
    if (in_water is None) == (displaced is None):
        raise typer.BadParameter("give --in-water or --displaced, one of them")

    def asked(client: Client) -> Recovery:
        return client.recoveries.density(
            dry=dry,
            in_water=in_water,
            displaced=displaced,
            scale=scale,
            vessel=vessel,
            water=water,
            observed=observed(ctx, client, known, on, rulebook),
            region=place.get("region"),
            yard=place.get("yard"),
            on=on,
            known_at=common.revision_or_instant(known_at),
            rulebook=rulebook,
            keep=keep or id_to is not None,
        )

    tell(ctx, asked, url, timeout, id_to, json_=json_)


@app.command("assay", help=ASSAY_HELP)
def assay(
    ctx: typer.Context,
    *,
    lot: Annotated[str, typer.Option("--lot", help='What all of it weighs, "25.0 kg".')],
    metal: Annotated[list[str], typer.Option("--metal", help='"gold", or "gold 200 g/t to 300 g/t".')],
    price: Annotated[list[str] | None, typer.Option("--price", help="gold=2000, for one --per.")] = None,
    benchmark: Annotated[list[str] | None, typer.Option("--benchmark", help="gold=SLUG, as price.")] = None,
    per: Annotated[str, typer.Option("--per", help="The unit of the prices of metal.")] = "ozt",
    payable: Annotated[list[str] | None, typer.Option("--payable", help='"gold=95 %".')] = None,
    deduction: Annotated[list[str] | None, typer.Option("--deduction", help='"gold=5 g/t".')] = None,
    refining: Annotated[list[str] | None, typer.Option("--refining", help="gold=10, for one --per.")] = None,
    like: Annotated[str | None, typer.Option("--like", help="A kind of thing, computer-boards.")] = None,
    currency: Annotated[str | None, typer.Option("--currency", help="Of all prices.")] = None,
    treatment: Annotated[str | None, typer.Option("--treatment", help="For one kg of the lot.")] = None,
    charge: Annotated[str | None, typer.Option("--charge", help="For the lot, once.")] = None,
    smallest_lot: Annotated[str | None, typer.Option("--smallest-lot", help="That is taken.")] = None,
    scale: ScaleOption = None,
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    rulebook: RulebookOption = None,
    keep: KeepOption = False,
    id_to: common.IdToOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    from gradewright_sdk.cli._recovered import metals_given

    said = {
        "price": price,
        "benchmark": benchmark,
        "payable": payable,
        "deduction": deduction,
        "refining": refining,
    }
    try:
        metals = metals_given(metal, said, per)
    except ValueError as error:
        raise typer.BadParameter(str(error)) from error

    def asked(client: Client) -> Recovery:
        return client.recoveries.assay(
            lot,
            metals,
            scale=scale,
            like=like,
            currency=currency,
            treatment=treatment,
            charge=charge,
            smallest_lot=smallest_lot,
            on=on,
            known_at=common.revision_or_instant(known_at),
            rulebook=rulebook,
            keep=keep or id_to is not None,
        )

    tell(ctx, asked, url, timeout, id_to, json_=json_)
