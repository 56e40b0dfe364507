"""Draws a chart with matplotlib. Loaded with the first chart, and run in one thread: see `charts`.

Positions on paper are floats; every figure in words is the exact one.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby, pairwise

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from gradewright.prices.chart_days import named_days
from gradewright.prices.chart_page import DASHED, DOTTED, MARGIN, TEXT, WIDTH, Page, lines_of, width_of
from gradewright.prices.chart_strips import days_of, draw_ages, draw_counts, span
from gradewright.prices.chart_svg import LIGHT, finished
from gradewright.prices.chart_words import AGES, NOTHING, Charted
from gradewright.prices.series_schemas import PointOut

HEAD = 18.0
RIGHT = 26  # the last day's name is centred below the last point
PLOT, EMPTY, COUNTS, DAYS = 190, 70, 36, 46
MARKED = 16  # up to so many points each has a mark


def draw(chart: Charted) -> bytes:
    """The chart as SVG; the same for the same series, byte for byte."""
    page = Page()
    page.write(chart.told.name, HEAD, "ink", weight="bold")
    page.write(chart.terms, TEXT, "quiet")
    if chart.priced:
        page.write(chart.newest, TEXT, "ink")
    if chart.charge:
        page.write(chart.charge, TEXT, "quiet")
    page.leave(6)
    left = _left_of(chart)
    if chart.priced:
        page.legend(chart)
    plot = page.place(PLOT if chart.priced else EMPTY)
    page.leave(12)
    page.write(f"{'Prices' if chart.at_yard else 'Yards'} behind each point", TEXT, "quiet", left=left)
    page.leave(3)
    counts = page.place(COUNTS)
    page.leave(8)
    page.write(AGES, TEXT, "quiet", left=left)
    page.leave(3)
    ages = page.place(COUNTS)
    page.leave(DAYS)
    page.write(chart.pins, TEXT, "quiet")
    figure = page.figure()
    across = (left / WIDTH, (WIDTH - RIGHT - left) / WIDTH)
    _draw_prices(_axes(figure, across, page.share(plot)), chart)
    draw_counts(_axes(figure, across, page.share(counts)), chart)
    draw_ages(_axes(figure, across, page.share(ages)), chart)
    made = io.BytesIO()
    figure.savefig(made, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    return finished(made.getvalue(), chart.title, chart.description)


def _axes(figure: Figure, across: tuple[float, float], down: tuple[float, float]) -> Axes:
    axes = figure.add_axes((across[0], down[0], across[1], down[1]), facecolor="none")
    axes.tick_params(length=0, labelsize=TEXT, labelcolor=LIGHT["quiet"], pad=5)
    axes.spines[:].set_visible(False)
    axes.set_axisbelow(True)
    return axes


def _draw_prices(axes: Axes, chart: Charted) -> None:
    points = chart.told.points
    axes.set_xlim(*span(points))
    ticks = _ticks(chart)
    if not ticks:
        axes.set_yticks([])
        axes.text(
            0.5, 0.5, "\n".join(lines_of(NOTHING, TEXT, "normal", 220)), color=LIGHT["ink"], fontsize=TEXT,
            ha="center", va="center", transform=axes.transAxes,
        )  # fmt: skip
    else:
        lowest, highest = _reach(chart)
        axes.set_ylim(min(lowest, ticks[0]), max(highest, ticks[-1]))
        axes.set_yticks(ticks, labels=_named(ticks))
        axes.grid(axis="y", color=LIGHT["grid"], linewidth=1)
        if lowest < 0 < highest or 0 in ticks:
            axes.axhline(0, color=LIGHT["quiet"], linewidth=1)
    days = named_days(points[0].on, points[-1].on)
    axes.set_xticks([day.toordinal() for day, _ in days], labels=["" for _ in days])
    if ticks:
        axes.grid(axis="x", color=LIGHT["grid"], linewidth=1)
    for before, after in chart.turns:
        middle = (before.on.toordinal() + after.on.toordinal()) / 2
        axes.axvline(middle, color=LIGHT["quiet"], linewidth=1.5, linestyle=DASHED)
    marked = len(points) <= MARKED
    thin = frozenset(point.on for point in chart.thin)
    for is_priced, run in groupby(points, lambda point: point.likely is not None):
        if is_priced:
            _draw_run(axes, list(run), thin, marked=marked)


def _draw_run(axes: Axes, run: list[PointOut], thin_days: frozenset[date], *, marked: bool) -> None:
    """Points next to each other, all with a price."""
    line = {"color": LIGHT["likely"], "linewidth": 2.5}
    if len(run) == 1:
        (day,), low, high = days_of(run), float(run[0].low or 0), float(run[0].high or 0)
        axes.plot((day, day), (low, high), color=LIGHT["spread"], linewidth=8, solid_capstyle="butt")
    for thin, piece in _pieces(run, thin_days):
        days = days_of(piece)
        lows, highs = [float(p.low or 0) for p in piece], [float(p.high or 0) for p in piece]
        axes.fill(
            [*days, *days[::-1]], [*lows, *highs[::-1]], facecolor=LIGHT["spread"], linewidth=0,
            alpha=0.5 if thin else None,
        )  # fmt: skip
        likely = [float(p.likely or 0) for p in piece]
        axes.plot(days, likely, linestyle=DOTTED if thin else "solid", solid_capstyle="round", **line)  # type: ignore[arg-type]
    if marked or len(run) == 1:
        for thin, dots in groupby(run, lambda p: p.on in thin_days):
            some = list(dots)
            axes.plot(
                days_of(some), [float(p.likely or 0) for p in some], linestyle="none", marker="o",
                markersize=7, markeredgewidth=1.8, markeredgecolor=LIGHT["likely"],
                markerfacecolor=LIGHT["paper"] if thin else LIGHT["likely"],
            )  # fmt: skip


def _pieces(run: Sequence[PointOut], thin_days: frozenset[date]) -> Iterator[tuple[bool, list[PointOut]]]:
    """Pieces of a line that are alike: thin where either of their ends is."""
    sides = [(bool(thin_days & {one.on, other.on}), n) for n, (one, other) in enumerate(pairwise(run))]
    for is_thin, some in groupby(sides, lambda side: side[0]):
        numbers = [n for _, n in some]
        yield is_thin, list(run[numbers[0] : numbers[-1] + 2])


def _reach(chart: Charted) -> tuple[float, float]:
    """The lowest and highest price, with some room; where all are the same, a little around it."""
    lowest = min(float(point.low or 0) for point in chart.priced)
    highest = max(float(point.high or 0) for point in chart.priced)
    room = (highest - lowest) * 0.06 or abs(highest) * 0.1 or 1.0
    return lowest - room, highest + room


def _ticks(chart: Charted) -> list[float]:
    """Round prices within reach."""
    if not chart.priced:
        return []
    lowest, highest = _reach(chart)
    found = MaxNLocator(nbins=5, steps=[1, 2, 2.5, 5, 10], min_n_ticks=2).tick_values(lowest, highest)
    return [float(tick) for tick in found if lowest <= tick <= highest]


def _named(ticks: Sequence[float]) -> list[str]:
    """Prices beside the drawing, all with as many places as tell them apart."""
    for places in range(0 if max(map(abs, ticks)) >= 100 else 2, 10):
        named = [f"{tick:.{places}f}" for tick in ticks]
        if all(abs(float(name) - tick) <= abs(tick) * 1e-9 for name, tick in zip(named, ticks, strict=True)):
            break
    if max(map(len, named)) > 9:
        named = [f"{tick:.3g}" for tick in ticks]
    return [name.replace("-", "\u2212") for name in named]


def _left_of(chart: Charted) -> float:
    """The room that the prices beside the drawing take."""
    names = _named(ticks) if (ticks := _ticks(chart)) else ["0"]
    return MARGIN + 5 + max(width_of(name, TEXT, "normal") for name in names)
