"""Prices to post, from the command line or from a file."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from gradewright_sdk._inputs import PriceSeen
from gradewright_sdk.cli._files import FileFault, FileFaults, as_text, column_name, csv_rows
from gradewright_sdk.cli._values import BadValue, near

COLUMNS = ("grade", "label", "price", "currency", "per", "from_weight")
WRITTEN = re.compile(
    r"""(?P<what>.+)\s+(?P<price>-?[0-9]+(?:\.[0-9]+)?)\s+"""
    r"""(?P<currency>[A-Za-z]{3})\s*/\s*(?P<per>.+?)(?:\s+from\s+(?P<from>.+))?"""
)
QUOTED = re.compile(r"""(["'])(?P<label>.+)\1""")
NO_NAME = re.compile(r"""["'].*|.*\s-?[0-9]+\.[0-9]+|.*\sfrom\s+[0-9].*|.*[0-9]\s+[A-Za-z]{3}\s*/.*""")
"""What stands before the price and is no name: half a quote, another price, the weight in the wrong place."""
AMISS = (
    (re.compile(r"[$€£¥]"), "the currency stands behind the amount, by its code"),
    (re.compile(r"[0-9],[0-9]"), "the amount has a comma, and a point is needed"),
    (re.compile(r"[0-9]\s*/\s*[A-Za-z]"), "it says no currency"),
    (re.compile(r"[0-9]\s+[A-Za-z]{3}\s*$"), "it does not say for how much that is"),
    (re.compile(r"^\s*-?[0-9.]+\s"), "it names no grade and no label"),
)
"""Of the first that fits it is told."""
AMOUNT = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")


@dataclass(frozen=True, slots=True)
class SeenFile:
    """The prices in the order of the file, and the line of each."""

    prices: tuple[PriceSeen, ...]
    lines: tuple[int, ...]


def seen(text: str) -> PriceSeen:
    """One price as written on the command line: "copper-no2 3.35 USD/lb from 100 lb". Raises BadValue.

    The price is its last words, so that a name may have spaces: "No. 2 copper 3.35 USD/lb". In quotes it is
    the yard's own label instead of a grade: '"#2 Cu" 3.35 USD/lb'.
    """
    match = WRITTEN.fullmatch(text.strip())
    what = "" if match is None else match["what"].strip()
    quoted = QUOTED.fullmatch(what)
    if match is None or (quoted is None and NO_NAME.fullmatch(what)):
        raise BadValue(
            f"{text!r} is no price{_amiss(text)}; write copper-no2 3.35 USD/lb, or copper-no2 3.35 USD/lb "
            "from 100 lb (a name of a grade may have spaces; a yard's own label stands in quotes of its own: "
            """'"#2 Cu" 3.35 USD/lb')"""
        )
    return PriceSeen(
        match["price"],
        match["currency"].upper(),
        match["per"].strip(),
        grade=what if quoted is None else None,
        label=None if quoted is None else quoted["label"],
        from_weight=match["from"],
    )


def _amiss(text: str) -> str:
    """What most likely is wrong with what cannot be read as a price; nothing where that is not clear."""
    return next((f": {says}" for shape, says in AMISS if shape.search(text)), "")


def read_seen(data: bytes) -> SeenFile:
    """The prices in a CSV file with the columns grade or label, price, currency, per and from_weight.

    Raises FileFaults with everything wrong in it.
    """
    faults: list[FileFault] = []
    columns: list[str] | None = None
    prices, lines = [], []
    for line, row in csv_rows(as_text(data), faults):
        if columns is None:
            columns = [column_name(cell) for cell in row]
            faults += _heading(columns, line)
            if faults:
                break
            continue
        cells = {name: cell for name, cell in zip(columns, row, strict=False) if cell}
        faults += _wrong(cells, line)
        prices.append(_price(cells))
        lines.append(line)
    if not prices and not faults:
        faults.append(FileFault(1, "", "there is no price in the file"))
    if faults:
        raise FileFaults(faults)
    return SeenFile(tuple(prices), tuple(lines))


def _price(cells: Mapping[str, str]) -> PriceSeen:
    return PriceSeen(
        cells.get("price", ""),
        cells.get("currency", "").upper(),
        cells.get("per", ""),
        grade=cells.get("grade"),
        label=cells.get("label"),
        from_weight=cells.get("from_weight"),
    )


def _heading(columns: Sequence[str], line: int) -> list[FileFault]:
    if not any(name in COLUMNS for name in columns):
        says = (
            "there is no column that is known: is the header missing? The first line names the columns, "
            f"{', '.join(COLUMNS)}"
        )
        return [FileFault(line, "", says)]
    strange = [name for name in columns if name not in COLUMNS]
    faults = [
        FileFault(line, "", f"{name!r} is no column; they are {', '.join(COLUMNS)}", near(name, COLUMNS))
        for name in strange
    ]
    missing = [name for name in ("price", "currency", "per") if name not in columns]
    if "grade" not in columns and "label" not in columns:
        missing.insert(0, "grade or label")
    if missing and not strange:
        faults.append(FileFault(line, "", f"missing columns: {', '.join(missing)}"))
    return faults


def _wrong(cells: Mapping[str, str], line: int) -> list[FileFault]:
    faults = []
    if ("grade" in cells) == ("label" in cells):
        faults.append(FileFault(line, "grade", "give a grade or the yard's label, one of them"))
    faults += [
        FileFault(line, name, "is blank") for name in ("price", "currency", "per") if name not in cells
    ]
    if "price" in cells and not AMOUNT.fullmatch(cells["price"]):
        faults.append(
            FileFault(line, "price", f"{cells['price']!r} is no amount; write digits, such as 3.35")
        )
    return faults
