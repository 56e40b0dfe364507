"""Recoveries on the command line: how conductors and metals are written, and the answer for people."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from rich.text import Text

from gradewright_sdk.cli._cautions import certain, possible
from gradewright_sdk.cli._layout import Entry, hanging, stacked
from gradewright_sdk.cli._show import few, number, rate, say, spreads

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import Figures, Recovery, SpannedGrading, Stripping
    from gradewright_sdk._models._recoveries import Density, PreciousMetals, PublishedDensity

MOST_CANDIDATES = 8
_SIZE = r"(?:[0-9]+/0 *(?:AWG|B&S)|(?:AWG|B&S) *[0-9]+/0|[^/]+)"  # a gauge of several noughts has a slash
_CONDUCTOR = re.compile(
    rf"(?:(?P<count>[0-9]+) *x *)?(?:(?P<strands>[0-9]+) *x *(?P<strand>{_SIZE})"
    rf"|(?P<size>{_SIZE})(?:/(?P<of>[0-9]+))?)",
    re.IGNORECASE,
)
_METAL = re.compile(r"(?P<metal>[a-z]+)(?: +(?P<low>.+?) +to +(?P<high>.+))?")


def conductor_given(text: str) -> dict[str, object]:
    """Conductors as written: "3 x 16 AWG", "16 AWG/26" (26 strands), "3 x 7 x 0.30 mm". Or ValueError."""
    match = _CONDUCTOR.fullmatch(text.strip())
    if match is None:
        raise ValueError(f"{text!r} is no conductor; write '3 x 16 AWG' or '3 x 7 x 0.30 mm'")
    given: dict[str, object] = {"count": int(match["count"] or 1)}
    if match["strand"] is not None:
        return {**given, "strands": int(match["strands"]), "strand": match["strand"].strip()}
    strands = {"strands": int(match["of"])} if match["of"] else {}
    return {**given, "size": match["size"].strip(), **strands}


def metals_given(
    metals: Iterable[str], said: Mapping[str, Sequence[str] | None], per: str
) -> list[dict[str, object]]:
    """Metals with what is said of each as NAME=VALUE. Raises ValueError."""
    found: dict[str, dict[str, object]] = {}
    for text in metals:
        match = _METAL.fullmatch(text.strip())
        if match is None:
            raise ValueError(f"{text!r} is no metal with its content; write 'gold 200 g/t to 300 g/t'")
        if match["metal"] in found:
            raise ValueError(f"{match['metal']} is given twice")
        found[match["metal"]] = {
            "metal": match["metal"],
            "low": match["low"],
            "high": match["high"],
            "per": per,
        }
    for name, pairs in said.items():
        for pair in pairs or ():
            metal, sign, value = pair.partition("=")
            if not sign or metal.strip() not in found:
                raise ValueError(f"--{name} {pair!r}: write METAL=VALUE, of a --metal that is given")
            found[metal.strip()][name] = value.strip()
    return list(found.values())


def print_recovery(console: Console, found: Recovery) -> None:
    """All of it; what can hurt someone stands before the small print."""
    if found.copper is not None:
        console.print(say(found.copper.says, "bold"))
        _rests_on(console, found.copper.rests_on)
    if found.density is not None:
        _print_density(console, found.density)
    if found.grading is not None:
        _print_grading(console, found.grading)
    if found.stripping is not None:
        _print_stripping(console, found.stripping, found.currency or "")
    if found.precious is not None:
        _print_precious(console, found.precious, found.currency or "")
    for line in (*certain(found.cautions), *possible(found.cautions)):
        console.print(line)
    for note in found.notes:
        console.print(hanging([("-", say(note, "dim"))]))
    pins = found.pins
    where = found.yard or found.region
    at = f" at {where}" if where else ""
    kept = f", kept as {found.id}" if found.id else ""
    console.print(
        say(f"By rulebook {pins.rulebook} on {found.on}{at}, ledger revision {pins.revision}{kept}.", "dim")
    )


def _rests_on(console: Console, lines: Iterable[str]) -> None:
    for line in lines:
        console.print(say(f"  {line}", "dim"))


def _print_density(console: Console, density: Density) -> None:
    console.print(say(density.says, "bold"))
    _rests_on(console, density.rests_on)
    fitting = [
        Entry(say(metal.metal), [], say("; ".join(_row(row) for row in metal.published), "dim"))
        for metal in density.metals
        if metal.published
    ]
    fitting += [
        Entry(say(row.material), [], say(f"{_row(row)}; the rulebook has no word for it", "dim"))
        for row in density.unlisted
    ]
    others = [Entry(say(metal.metal), []) for metal in density.metals if not metal.published]
    for title, rows in (("It can be", fitting), ("Not ruled out, though no published density fits", others)):
        for line in stacked(say(title, "bold"), (), rows) if rows else ():
            console.print(line)


def _row(row: PublishedDensity) -> str:
    return f"{row.material} {row.low} to {row.high}"


def _print_grading(console: Console, grading: SpannedGrading) -> None:
    if grading.outcome == "contradiction":
        console.print(say(f"It cannot be as described. {grading.because or ''}".strip(), "yellow"))
        return
    if not grading.candidates:
        console.print(say("The rulebook has no grade for such a part.", "yellow"))
        return
    shown = grading.candidates[:MOST_CANDIDATES]
    prices = [one.price for one in shown]
    title = "Its grade" if grading.grade else "It can still be"
    heads: tuple[str, ...] = ("Likely", "Per") if any(prices) else ()
    entries = []
    for one in shown:
        figures: list[Text] = []
        if heads:
            figures = [
                say("-" if one.price is None else rate(one.price.likely)),
                say("" if one.price is None else f"{one.price.likely.currency}/{one.price.per}"),
            ]
        entries.append(Entry(say(f"{one.name} ({one.grade})"), figures))
    for line in stacked(say(title, "bold"), heads, entries):
        console.print(line)
    left = len(grading.candidates) - len(shown)
    if left:
        more = "grade" if left == 1 else "grades"
        console.print(say(f"and {left} more {more}: tell more of it", "dim"))
    if grading.bands and len(grading.bands) > 1:
        told = [f"{band.grade or 'undecided'} from {band.from_} to {band.to}" for band in grading.bands]
        console.print(say(few(told), "dim"))


def _print_stripping(console: Console, found: Stripping, currency: str) -> None:
    console.print()
    console.print(say(found.says, "bold" if found.unpriced is None else "yellow"))
    if found.gain is None:
        return
    rows = [
        (f"{found.lot_kg.normalize():f} kg as it is ({found.wire})", found.as_is),
        (f"stripped ({found.bare})", found.stripped),
        ("to be rid of the insulation", found.disposal if _costs(found) else None),
        ("more", found.gain),
        ("an hour", found.per_hour),
    ]
    told = [(name, amounts) for name, amounts in rows if amounts is not None]
    columns = spreads([amounts for _, amounts in told])
    entries = [Entry(say(name), [say(text)]) for (name, _), text in zip(told, columns, strict=True)]
    if found.copper_kg is not None:
        entries.append(Entry(say("copper, kg"), [say(_three(found.copper_kg))]))
    if found.insulation_kg is not None:
        entries.append(Entry(say("insulation, kg"), [say(_three(found.insulation_kg))]))
    if found.break_even_minutes_per_kg is not None:
        of = f"breaks even at {found.hour_rate:f} an hour, minutes a kg"
        entries.append(Entry(say(of), [say(_three(found.break_even_minutes_per_kg))]))
    for line in stacked(say("As it is or stripped", "bold"), (currency,), entries):
        console.print(line)


def _costs(found: Stripping) -> bool:
    return found.disposal is not None and found.disposal.high.amount > 0


def _three(figures: Figures) -> str:
    return " – ".join(f"{each:f}" for each in (figures.low, figures.likely, figures.high))


def _print_precious(console: Console, found: PreciousMetals, currency: str) -> None:
    console.print(say(found.says, "bold yellow"))
    entries = []
    for metal in found.metals:
        there = f"{_plain(metal.there_g.low)} to {_plain(metal.there_g.high)}"
        paid = f"{number(metal.amount.low)} to {number(metal.amount.high)}"
        content = f"{_plain(metal.content_g_per_t.low)} to {_plain(metal.content_g_per_t.high)} g/t"
        below = f"{content}, {metal.source}; {metal.price}"
        entries.append(Entry(say(metal.metal), [say(there), say(paid)], say(below, "dim")))
    charges = f"{number(found.charges.low)} to {number(found.charges.high)}"
    entries.append(Entry(say("charges"), [say(""), say(charges)]))
    amount = f"{number(found.amount.low)} to {number(found.amount.high)}"
    entries.append(Entry(say("left", "bold"), [say(""), say(amount, "bold")]))
    for line in stacked(say("From low to high", "bold"), ("Grams", currency), entries):
        console.print(line)


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"
